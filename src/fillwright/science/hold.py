"""Holding a run: which containers are suspect, when and by how much to turn the wheel.

The live watch is in `watch`, charts over whole runs in `charts`, run lengths in
`runlength`, creep in `drift`; all their names can be had from here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from fillwright.science.watch import (
    Signal,
    SignalKind,
    SignalSide,
    WatchState,
    WatchTake,
    watch_clear,
    watch_restart,
    watch_start,
    watch_take,
)

__all__ = [
    "Adjustment",
    "Check",
    "CheckOutcome",
    "Signal",
    "SignalKind",
    "SignalSide",
    "SuspectRange",
    "WatchState",
    "WatchTake",
    "adjustment",
    "suspect_range",
    "watch_clear",
    "watch_restart",
    "watch_start",
    "watch_take",
]


class CheckOutcome(StrEnum):
    """What one check of weighed containers came to."""

    GOOD = "good"
    BAD = "bad"
    VOID = "void"
    ALARM = "alarm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One check during a run.

    Attributes
    ----------
    first : int
        Number of the first container weighed.
    last : int
        Number of the last container weighed.
    outcome : CheckOutcome
        Good, bad, void (the scale was at fault: proves nothing), or alarm of a chart.
    adjusted_after : bool
        Whether the machine was corrected right after this check, before the next container.
    adjusted_before_container : int or None
        Number of the first container filled after the correction, where known.
    """

    first: int
    last: int
    outcome: CheckOutcome
    adjusted_after: bool = False
    adjusted_before_container: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectRange:
    """Which containers are suspect.

    Attributes
    ----------
    first : int or None
        First suspect container; none when there is none.
    last : int or None
        Last suspect container; none when there is none.
    because : str
        How far back and why, in one sentence.
    assumptions : tuple of str
        What was taken for granted.
    """

    first: int | None
    last: int | None
    because: str
    assumptions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjustment:
    """Whether and by how much to turn the wheel.

    Attributes
    ----------
    setting_change : float
        Change of the volume scale; zero inside the dead band. [m³]
    weight : float
        Share of the mean deviation that is believed. [1]
    level : float
        Believed deviation of the dose level: weight times mean deviation. [kg]
    dead_band : float
        Deviation inside which the wheel is left alone. [kg]
    equation : str
        Where the equation comes from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        The answer in one sentence.
    """

    setting_change: float
    weight: float
    level: float
    dead_band: float
    equation: str
    assumptions: tuple[str, ...]
    because: str


def suspect_range(
    checks: Sequence[Check],
    *,
    stopped_after: int,
    first_container: int = 1,
    alarm_zero_at_check: int | None = None,
) -> SuspectRange:
    """Return which containers are suspect."""
    raise NotImplementedError


def adjustment(
    mean_deviation: float,
    *,
    slope: float,
    dead_band: float,
    shrink: float | None = None,
    prior_sd_of_level: float | None = None,
    dose_sd: float | None = None,
    readings: int | None = None,
) -> Adjustment:
    """Return the change of setting: deviation, band and sds in kg, slope in kg/m³."""
    raise NotImplementedError
