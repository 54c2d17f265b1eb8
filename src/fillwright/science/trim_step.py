"""What trimming is told (stays and shots, the machine) and what it answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.science.given import finite, readings_in_order

__all__ = [
    "Direction",
    "ShotGroup",
    "Taken",
    "TrimHistory",
    "TrimPrior",
    "TrimStep",
    "taken_in_order",
]


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
    from_above : bool
        Whether the setting was come to from above, so that the play is not taken up.
    """

    setting: float
    readings: tuple[float, ...]
    from_above: bool = False


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
    air_chance : float or None
        Chance that priming left air in the wet path. [1]
    air : float or None
        Shortfall of the first shot in that case, as a share of the dose. [1]
    """

    slope_low: float | None = None
    slope_high: float | None = None
    slope_sd: float | None = None
    offset_sd: float | None = None
    shot_sd: float | None = None
    air_chance: float | None = None
    air: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimHistory:
    """What earlier trims of the same machine, cylinder and product taught.

    Attributes
    ----------
    setups : int
        How many trims it was learnt from.
    gain : float
        Volume of a dose gained per volume of scale. [1]
    gain_sd : float
        Its sd at the next set-up: what is not known, and what set-ups differ by. [1]
    offset : float
        Volume of a dose at setting zero. [m³]
    offset_sd : float
        Its sd. [m³]
    correlation : float
        Correlation of gain and offset. [1]
    shot_sd : float
        Sd from shot to shot, as a share of the dose. [1]
    shot_spread : float
        Sd of its logarithm at the next set-up. [1]
    lost_motion : float or None
        Play of the hand wheel; none where no setting was come to from above. [m³]
    lost_motion_sd : float
        Its sd. [m³]
    air_chance : float
        Chance that air is left when the next trim starts. [1]
    between_setups : float
        Sd of the gain between set-ups, best estimate. [1]
    """

    setups: int
    gain: float
    gain_sd: float
    offset: float
    offset_sd: float
    correlation: float
    shot_sd: float
    shot_spread: float
    lost_motion: float | None
    lost_motion_sd: float
    air_chance: float
    between_setups: float


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
    limited_by : str
        What sets that ceiling: ``"wheel"``, ``"scale"`` or ``"scatter"``.
    lost_motion : float
        Play of the hand wheel as far as known now. [m³]
    lost_motion_sd : float
        Its sd. [m³]
    lost_motion_learnt : bool
        Whether a setting from above has shown it, here or in an earlier trim.
    p_air : float
        Probability that air was still leaving when the trim began. [1]
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
    limited_by: str
    lost_motion: float
    lost_motion_sd: float
    lost_motion_learnt: bool
    p_air: float
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
    above : ndarray, shape (n,)
        1 where its setting was come to from above, else 0. [1]
    """

    settings: NDArray[np.float64]
    stays: NDArray[np.int64]
    readings: NDArray[np.float64]
    above: NDArray[np.float64]


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
    above: list[bool] = []
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
        above += [group.from_above] * row.size
    return Taken(
        settings=np.array(settings, dtype=np.float64),
        stays=np.array(stays, dtype=np.int64),
        readings=np.array(readings, dtype=np.float64),
        above=np.array(above, dtype=np.float64),
    )
