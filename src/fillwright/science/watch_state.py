"""What the live watch remembers between readings, and what a reading can mean."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

__all__ = [
    "Signal",
    "SignalKind",
    "SignalSide",
    "StandardTerms",
    "WatchState",
    "WatchTake",
    "standard_terms",
]


class SignalKind(StrEnum):
    """What the watch saw."""

    NONE = "none"
    BEYOND_3SD = "beyond-3sd"
    CUSUM = "cusum"
    EWMA = "ewma"


class SignalSide(StrEnum):
    """On which side the watch saw it."""

    NONE = "none"
    LOW = "low"
    HIGH = "high"


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """What one reading means for the run.

    Attributes
    ----------
    kind : SignalKind
        None, beyond 3 sd, CUSUM, or moving average.
    side : SignalSide
        Low or high.
    z : float or None
        The reading in sds, independent standard normal in a steady run; none while too few
        readings are there to say. [1]
    since_check : int
        The check, counted from 1 over the run, at which the alarming sum was last zero; the
        check before this one for beyond 3 sd; 0 = before the first. 0 without a signal.
    because : str
        What was seen in one sentence.
    """

    kind: SignalKind
    side: SignalSide
    z: float | None
    since_check: int
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchState:
    """All that the watch remembers between readings.

    Attributes
    ----------
    k : float
        Reference value of the sums. [1]
    h : float
        Decision limit of the sums; infinite where they do not alarm. [1]
    known_after : int
        Good readings after which mean and sd are held.
    floor : float
        Sd of the rounding of the scale; the sd is never taken smaller. [kg]
    target : float or None
        Deviation about which the sums run; none for the run's own mean. [kg]
    prior_sd : float
        Sd brought from the proving run; 0 without. [kg]
    prior_df : int
        Degrees of freedom behind it; 0 without.
    checks : int
        Readings taken over the whole run, signals included.
    count : int
        Good readings in `mean` and `m2`.
    mean : float
        Mean of the good readings since the last adjustment. [kg]
    m2 : float
        Sum of squares about that mean. [kg²]
    up : float
        CUSUM for high doses. [1]
    down : float
        CUSUM for low doses. [1]
    zero_up : int
        Check at which `up` was last zero.
    zero_down : int
        Check at which `down` was last zero.
    alarmed : bool
        Whether a signal stands; mean and sd are frozen until cleared or restarted.
    line_count : int
        Readings in the regression since the last adjustment.
    line_position : float
        Mean container number of them. [1]
    line_deviation : float
        Mean deviation of them. [kg]
    line_xx : float
        Sum of squares of container numbers. [1]
    line_xy : float
        Sum of products. [kg]
    line_yy : float
        Sum of squares of deviations. [kg²]
    last_position : float
        Container number of the last reading. [1]
    average_weight : float
        Weight of the newest reading in the moving average; 0 where none is kept. [1]
    average_limit : float
        Width of its limits in its own sds. [1]
    average : float
        The moving average of readings in sds. [1]
    averaged : int
        Readings in it since it began.
    zero_average : int
        Check at which it was last on the other side of zero.
    """

    k: float
    h: float
    known_after: int
    floor: float
    target: float | None
    prior_sd: float
    prior_df: int
    checks: int
    count: int
    mean: float
    m2: float
    up: float
    down: float
    zero_up: int
    zero_down: int
    alarmed: bool
    line_count: int
    line_position: float
    line_deviation: float
    line_xx: float
    line_xy: float
    line_yy: float
    last_position: float
    average_weight: float
    average_limit: float
    average: float
    averaged: int
    zero_average: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchTake:
    """The watch after one reading.

    Attributes
    ----------
    state : WatchState
        What to hand in with the next reading.
    signal : Signal
        What this reading means.
    """

    state: WatchState
    signal: Signal


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardTerms:
    """What one reading is judged by.

    Attributes
    ----------
    about : float
        Level that is expected. [kg]
    spread : float
        Sd that is known. [kg]
    free : float
        Degrees of freedom behind it. [1]
    share : float
        Factor for a level that was itself estimated; one for a target. [1]
    """

    about: float
    spread: float
    free: float
    share: float


def standard_terms(state: WatchState) -> StandardTerms | None:
    """Return what a reading is judged by; none while too few readings are known.

    Parameters
    ----------
    state : WatchState
        The watch before the reading.

    Returns
    -------
    StandardTerms or None
        Level, spread, degrees of freedom, and the share that the unknown level costs.
    """
    own_mean = state.target is None
    free = state.prior_df + state.count - (1 if own_mean else 0)
    if free < 1 or (own_mean and state.count < 1):
        return None
    total = state.prior_df * state.prior_sd**2 + state.m2
    return StandardTerms(
        about=state.mean if state.target is None else state.target,
        spread=max(math.sqrt(total / free), state.floor),
        free=float(free),
        share=math.sqrt(state.count / (state.count + 1.0)) if own_mean else 1.0,
    )
