"""The live watch over a run: one weighed dose at a time, each in constant time.

Self-starting until a hundred good readings, then with parameters held; 3 sd limits and a
two-sided CUSUM, the same figures as `self_starting` and `cusum_chart` give for a whole run.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from fillwright.science.given import above_zero, finite, not_negative, whole
from fillwright.science.self_starting import score
from fillwright.science.watch_average import Average, average_after, average_limit
from fillwright.science.watch_state import (
    Signal,
    SignalKind,
    SignalSide,
    WatchState,
    WatchTake,
    standard_terms,
)

LIMIT_SDS = 3.0
_AGREE_SDS = 2.326  # one in a hundred where nothing has moved

__all__ = [
    "LIMIT_SDS",
    "Signal",
    "SignalKind",
    "SignalSide",
    "WatchState",
    "WatchTake",
    "standard_terms",
    "watch_clear",
    "watch_confirms",
    "watch_restart",
    "watch_start",
    "watch_take",
]


def watch_start(
    *,
    sd: float | None = None,
    sd_readings: int = 0,
    target: float | None = None,
    k: float = 0.5,
    h: float | None = 5.0,
    head_start: float = 0.0,
    known_after: int = 100,
    readability: float = 0.0,
    average_weight: float = 0.0,
    average_limit: float = 0.0,
) -> WatchState:
    """Return the watch before the first reading of a run.

    Parameters
    ----------
    sd : float or None
        Sd from the proving run; none where nothing is known. [kg]
    sd_readings : int
        Readings behind `sd`, two or more where it is given.
    target : float or None
        Deviation about which the sums run, 0 for the target itself; none for the run's own
        mean, which a mean off target does not alarm. [kg]
    k : float
        Reference value of the sums. [1]
    h : float or None
        Decision limit of the sums; none where they do not alarm. [1]
    head_start : float
        Where the sums begin. [1]
    known_after : int
        Good readings after which mean and sd are held, so that creep is not learnt.
    readability : float
        Step of the weighing scale. [kg]
    average_weight : float
        Weight of the newest reading in a moving average; 0 for none. [1]
    average_limit : float
        Width of its limits in its own sds. [1]

    Returns
    -------
    WatchState
        What to hand in with the first reading.

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    k 0.5 and h 5 give a false alarm every 465 readings by the sums alone (`arl_cusum`), one
    in 370 by the 3 sd limits alone.
    """
    if sd is not None:
        above_zero(sd, "sd")
        whole(sd_readings, "sd_readings", at_least=2)
    return WatchState(
        k=not_negative(k, "k"),
        h=math.inf if h is None else above_zero(h, "h"),
        known_after=whole(known_after, "known_after", at_least=2),
        floor=not_negative(readability, "readability") / math.sqrt(12.0),
        target=None if target is None else finite(target, "target"),
        prior_sd=0.0 if sd is None else float(sd),
        prior_df=0 if sd is None else sd_readings - 1,
        checks=0,
        count=0,
        mean=0.0,
        m2=0.0,
        up=not_negative(head_start, "head_start"),
        down=float(head_start),
        zero_up=0,
        zero_down=0,
        alarmed=False,
        line_count=0,
        line_position=0.0,
        line_deviation=0.0,
        line_xx=0.0,
        line_xy=0.0,
        line_yy=0.0,
        last_position=0.0,
        average_weight=not_negative(average_weight, "average_weight"),
        average_limit=not_negative(average_limit, "average_limit"),
        average=0.0,
        averaged=0,
        zero_average=0,
    )


def watch_take(state: WatchState, deviation: float, *, position: float) -> WatchTake:
    """Return the watch after one more reading.

    Parameters
    ----------
    state : WatchState
        The watch before.
    deviation : float
        Reading less target. [kg]
    position : float
        Number of the container. [1]

    Returns
    -------
    WatchTake
        The watch after, and what the reading means.

    Raises
    ------
    BadInput
        If a figure is not a finite number.

    Notes
    -----
    Each reading is judged by what came before it alone. One that signals is kept out of mean
    and sd, and these stay as they are until `watch_clear` or `watch_restart`.
    """
    off, place = finite(deviation, "deviation"), finite(position, "position")
    checks = state.checks + 1
    z = _standardised(state, off)
    up, down = state.up, state.down
    if z is not None:
        up = max(0.0, up + z - state.k)
        down = max(0.0, down - z - state.k)
    mean = average_after(state, z, check=checks)
    signal = _signal(state, z, up=up, down=down, mean=mean)
    state = replace(
        state,
        checks=checks,
        up=up,
        down=down,
        zero_up=checks if up == 0.0 else state.zero_up,
        zero_down=checks if down == 0.0 else state.zero_down,
        alarmed=state.alarmed or signal.kind is not SignalKind.NONE,
        last_position=place,
        average=mean.value,
        averaged=mean.count,
        zero_average=mean.zero,
    )
    if not state.alarmed and state.count < state.known_after:
        state = _learn(state, off)
    if signal.kind is not SignalKind.BEYOND_3SD:
        state = _draw_line(state, place, off)
    return WatchTake(state=state, signal=signal)


def watch_restart(state: WatchState, *, head_start: float | None = None) -> WatchState:
    """Return the watch after an adjustment: a new level, the same scatter.

    Parameters
    ----------
    state : WatchState
        The watch before.
    head_start : float or None
        Where the sums begin, so that a wrong adjustment is soon seen; none for h/2. [1]

    Returns
    -------
    WatchState
        The watch after; what was learnt of the sd is kept.

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    Head start of half the limit [1]_.

    References
    ----------
    .. [1] Lucas and Crosier, Fast initial response for CUSUM quality-control schemes,
       Technometrics 24 (1982); from memory.
    """
    usual = 0.5 * state.h if math.isfinite(state.h) else 0.0
    begin = usual if head_start is None else not_negative(head_start, "head_start")
    own = max(state.count - 1, 0) if state.target is None else state.count
    free = state.prior_df + own
    total = state.prior_df * state.prior_sd**2 + state.m2
    return replace(
        state,
        prior_sd=math.sqrt(total / free) if free else 0.0,
        prior_df=free,
        count=0,
        mean=0.0,
        m2=0.0,
        up=begin,
        down=begin,
        zero_up=state.checks,
        zero_down=state.checks,
        average=0.0,
        averaged=0,
        zero_average=state.checks,
        alarmed=False,
        line_count=0,
        line_position=0.0,
        line_deviation=0.0,
        line_xx=0.0,
        line_xy=0.0,
        line_yy=0.0,
    )


def watch_clear(state: WatchState) -> WatchState:
    """Return the watch after a signal was looked into and nothing was changed.

    Parameters
    ----------
    state : WatchState
        The watch before.

    Returns
    -------
    WatchState
        The watch after: sums at zero, mean and sd as they were.
    """
    return replace(
        state,
        up=0.0,
        down=0.0,
        zero_up=state.checks,
        zero_down=state.checks,
        average=0.0,
        averaged=0,
        zero_average=state.checks,
        alarmed=False,
    )


def watch_confirms(state: WatchState, deviations: Sequence[float], *, side: SignalSide) -> bool:
    """Return whether more readings after a signal say together that the level has moved.

    Parameters
    ----------
    state : WatchState
        The watch with the signal, which has not taken these readings.
    deviations : sequence of float
        The further readings less target. [kg]
    side : SignalSide
        The side of the signal.

    Returns
    -------
    bool
        True where their mean is off to that side by more than chance allows once in a hundred;
        False also while too few readings are known.

    Raises
    ------
    BadInput
        If a deviation is not a finite number.

    Notes
    -----
    Student's t of a mean of m new readings against the mean and sd of those before,
    (m̄ - x̄)/(s √(1/m + 1/c)); any textbook of statistics.  The reading that signalled stays
    out, for it was picked as an extreme.
    """
    terms = standard_terms(state)
    off = [finite(deviation, "deviations") for deviation in deviations]
    if terms is None or terms.spread == 0.0 or not off or side is SignalSide.NONE:
        return False
    # The share is that of one reading, sqrt(c/(c + 1)); of it, 1/c is what the own mean costs.
    own = 1.0 / terms.share**2 - 1.0
    ratio = (sum(off) / len(off) - terms.about) / (terms.spread * math.sqrt(1 / len(off) + own))
    sds = float(score(ratio, terms.free))
    return (sds if side is SignalSide.HIGH else -sds) > _AGREE_SDS


def _standardised(state: WatchState, deviation: float) -> float | None:
    """Return the reading in sds by what came before; none while too little did."""
    terms = standard_terms(state)
    if terms is None:
        return None
    if terms.spread == 0.0:
        return 0.0
    return float(score((deviation - terms.about) * terms.share / terms.spread, terms.free))


def _signal(
    state: WatchState, z: float | None, *, up: float, down: float, mean: Average
) -> Signal:
    """Return what a reading and its sums mean."""
    last = state.checks
    if z is None:
        return Signal(
            kind=SignalKind.NONE,
            side=SignalSide.NONE,
            z=None,
            since_check=0,
            because="Too few readings to judge yet.",
        )
    sum_high, sum_low = up > state.h, down > state.h
    if abs(z) > LIMIT_SDS:
        since = state.zero_up if z > 0.0 else state.zero_down
        return Signal(
            kind=SignalKind.BEYOND_3SD,
            side=SignalSide.HIGH if z > 0.0 else SignalSide.LOW,
            z=z,
            since_check=min(last, since) if (sum_high if z > 0.0 else sum_low) else last,
            because=f"This one is {abs(z):.1f} sd off: weigh two more before any turn.",
        )
    if sum_high or sum_low:
        high = sum_high and up >= down
        return Signal(
            kind=SignalKind.CUSUM,
            side=SignalSide.HIGH if high else SignalSide.LOW,
            z=z,
            since_check=state.zero_up if high else state.zero_down,
            because="Small deviations to one side have added up: the level has moved.",
        )
    if abs(mean.value) > average_limit(state, mean.count):
        return Signal(
            kind=SignalKind.EWMA,
            side=SignalSide.HIGH if mean.value > 0.0 else SignalSide.LOW,
            z=z,
            since_check=mean.zero,
            because="The average of the last ones has left its limits: the level has moved.",
        )
    return Signal(
        kind=SignalKind.NONE,
        side=SignalSide.NONE,
        z=z,
        since_check=0,
        because="Nothing speaks for a change.",
    )


def _learn(state: WatchState, deviation: float) -> WatchState:
    """Return the watch with a good reading in its mean and sum of squares."""
    count = state.count + 1
    if state.target is not None:
        step = deviation - state.target
        mean = state.mean + (deviation - state.mean) / count
        return replace(state, count=count, mean=mean, m2=state.m2 + step * step)
    step = deviation - state.mean
    mean = state.mean + step / count
    return replace(state, count=count, mean=mean, m2=state.m2 + step * (deviation - mean))


def _draw_line(state: WatchState, position: float, deviation: float) -> WatchState:
    """Return the watch with a reading in its running regression."""
    count = state.line_count + 1
    right, over = position - state.line_position, deviation - state.line_deviation
    centre, level = state.line_position + right / count, state.line_deviation + over / count
    return replace(
        state,
        line_count=count,
        line_position=centre,
        line_deviation=level,
        line_xx=state.line_xx + right * (position - centre),
        line_xy=state.line_xy + right * (deviation - level),
        line_yy=state.line_yy + over * (deviation - level),
    )
