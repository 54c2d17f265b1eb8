"""What trimming is told (stays and shots, the machine) and what it answers."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Direction", "ShotGroup", "TrimPrior", "TrimStep"]


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
