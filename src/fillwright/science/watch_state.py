"""What the live watch remembers between readings, and what a reading can mean."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Signal", "SignalKind", "SignalSide", "StandardTerms", "WatchState", "WatchTake"]


class SignalKind(StrEnum):
    """What the watch saw."""

    NONE = "none"
    BEYOND_3SD = "beyond-3sd"
    CUSUM = "cusum"


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
        None, beyond 3 sd, or CUSUM.
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
        Decision limit of the sums. [1]
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
