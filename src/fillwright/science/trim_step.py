"""What trimming is told (stays and shots, the machine) and what it answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.science.given import finite, readings_in_order

__all__ = ["Direction", "ShotGroup", "Taken", "TrimPrior", "TrimStep", "taken_in_order"]


class Direction(StrEnum):
    """Which way the hand wheel goes next."""

    UP = "up"
    DOWN = "down"
    STAY = "stay"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotGroup:
    """The shots of one stay at a setting.

    Attributes
    ----------
    setting : float
        Where the volume scale stood. [m³]
    readings : tuple of float
        What the weighing scale showed for each shot, in time order. [kg]
    """

    setting: float
    readings: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimPrior:
    """What is known of the machine before the first shot; none = the shipped default.

    Attributes
    ----------
    slope_low : float or None
        Lower end of the dose gained per volume of scale. [kg/m³]
    slope_high : float or None
        Upper end of the dose gained per volume of scale. [kg/m³]
    slope_sd : float or None
        Sd of the slope as a share of the density; not used with both ends given. [1]
    offset_sd : float or None
        Sd of the dose at setting zero, as a share of the full cylinder. [1]
    shot_sd : float or None
        Sd from shot to shot. [kg]
    """

    slope_low: float | None = None
    slope_high: float | None = None
    slope_sd: float | None = None
    offset_sd: float | None = None
    shot_sd: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimStep:
    """The next act of trimming, with what is known of the dose.

    Attributes
    ----------
    done : bool
        Whether the mean dose here is inside with the wanted probability.
    feasible : bool
        Whether the promise can be reached with this wheel, scale and cylinder.
    setting : float
        Where to set the volume scale for the next shot, or where it is when done. [m³]
    via : float or None
        Go down to here first, then up; only when coming from above. [m³]
    direction : Direction
        Up, down or stay; the first setting is come to from below.
    p_within : float
        Probability that the mean dose here lies inside; at `setting` before any shot. [1]
    p_over : float
        Probability that the next shot at `setting` passes the upper limit. [1]
    mean : float
        Mean dose here, best estimate; at `setting` before any shot. [kg]
    mean_sd : float
        Standard uncertainty of `mean`. [kg]
    sd : float
        Sd of a shot about its mean, best estimate. [kg]
    set_aside : tuple of int
        Shots left out because they do not fit, counted from 0 over all groups.
    next_upper : float
        Reading that the next shot at `setting` passes with probability alpha only. [kg]
    setting_low : float
        Lower end of where the right setting lies 19 times in 20. [m³]
    setting_high : float
        Upper end of where the right setting lies 19 times in 20. [m³]
    ceiling : float
        Best probability of being inside that wheel, scale and cylinder allow. [1]
    because : str
        The reason for the act in one sentence.
    assumptions : tuple of str
        What was taken for granted.
    equation : str
        Where the equations come from.
    """

    done: bool
    feasible: bool
    setting: float
    via: float | None
    direction: Direction
    p_within: float
    p_over: float
    mean: float
    mean_sd: float
    sd: float
    set_aside: tuple[int, ...]
    next_upper: float
    setting_low: float
    setting_high: float
    ceiling: float
    because: str
    assumptions: tuple[str, ...]
    equation: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """All shots in one row each.

    Attributes
    ----------
    settings : ndarray, shape (n,)
        Setting of each shot. [m³]
    stays : ndarray of int, shape (n,)
        Number of its stay, counted from 0.
    readings : ndarray, shape (n,)
        Its reading. [kg]
    """

    settings: NDArray[np.float64]
    stays: NDArray[np.int64]
    readings: NDArray[np.float64]


def taken_in_order(shots: Sequence[ShotGroup], cylinder: float) -> Taken:
    """Return all shots in one row each.

    Parameters
    ----------
    shots : sequence of ShotGroup
        All stays in time order.
    cylinder : float
        Full scale. [m³]

    Returns
    -------
    Taken
        Settings, stays and readings.

    Raises
    ------
    BadInput
        If a setting is off the scale, a stay is empty, or a reading is not a number.
    """
    settings: list[float] = []
    stays: list[int] = []
    readings: list[float] = []
    for number, group in enumerate(shots):
        place = finite(group.setting, f"shots[{number}].setting")
        if not 0.0 <= place <= cylinder:
            raise BadInput(
                f"shots[{number}].setting is {place:g} m³; the scale runs from 0 to "
                f"{cylinder:g} m³.",
                field=f"shots[{number}].setting",
                given=place,
                allowed="within the cylinder",
            )
        row = readings_in_order(group.readings, f"shots[{number}].readings", at_least=1)
        settings += [place] * row.size
        stays += [number] * row.size
        readings += row.tolist()
    return Taken(
        settings=np.array(settings, dtype=np.float64),
        stays=np.array(stays, dtype=np.int64),
        readings=np.array(readings, dtype=np.float64),
    )
