"""The live watch over many readings at once, for a run that is opened again.

The same sums as `watch.watch_take` one by one (to rounding); only the readings that are
still learnt from are taken one at a time.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput
from fillwright.science.self_starting import score
from fillwright.science.watch import LIMIT_SDS, WatchState, WatchTake, watch_take
from fillwright.science.watch_average import averages_after
from fillwright.science.watch_state import standard_terms as _terms

__all__ = ["watch_take_many"]

_Floats = NDArray[np.float64]


def watch_take_many(
    state: WatchState, deviations: ArrayLike, *, positions: ArrayLike
) -> WatchTake:
    """Return the watch after several readings, and what the last of them means.

    Parameters
    ----------
    state : WatchState
        The watch before.
    deviations : array_like, shape (n,)
        Readings less target, in time order; at least one. [kg]
    positions : array_like, shape (n,)
        Numbers of their containers. [1]

    Returns
    -------
    WatchTake
        The watch after the last reading, and what that one means.

    Raises
    ------
    BadInput
        If there is no reading, or a figure is not a finite number.

    Notes
    -----
    A CUSUM is its running total less the running minimum of that total, where that is below
    zero: the whole row at once.
    """
    off = np.asarray(deviations, dtype=np.float64)
    place = np.asarray(positions, dtype=np.float64)
    if off.size == 0 or off.shape != place.shape:
        message = "Give as many container numbers as deviations, at least one."
        raise BadInput(message, field="deviations", given=off.size, allowed="1 or more")
    if not (np.isfinite(off).all() and np.isfinite(place).all()):
        message = "A deviation or a container number is not a finite number."
        raise BadInput(message, field="deviations", code="not-finite")
    at, end = 0, off.size - 1
    while at < end and not state.alarmed and state.count < state.known_after:
        state = watch_take(state, float(off[at]), position=float(place[at])).state
        at += 1
    if at < end and _terms(state) is not None:
        state = _block(state, off[at:end], place[at:end])
        at = end
    while at < end:
        state = watch_take(state, float(off[at]), position=float(place[at])).state
        at += 1
    return watch_take(state, float(off[end]), position=float(place[end]))


def _block(state: WatchState, off: _Floats, place: _Floats) -> WatchState:
    """Take readings that change neither mean nor sd."""
    terms = _terms(state)
    if terms is None:
        return state
    z = (
        np.zeros(off.size)
        if terms.spread == 0.0
        else score((off - terms.about) * terms.share / terms.spread, np.full(off.size, terms.free))
    )
    up, zero_up = _sums(state.up, z - state.k, state.checks, state.zero_up)
    down, zero_down = _sums(state.down, -z - state.k, state.checks, state.zero_down)
    beyond = np.abs(z) > LIMIT_SDS
    mean, left = averages_after(state, z)
    alarms = beyond | (up > state.h) | (down > state.h) | left
    taken = replace(
        state,
        checks=state.checks + off.size,
        up=float(up[-1]),
        down=float(down[-1]),
        zero_up=zero_up,
        zero_down=zero_down,
        alarmed=state.alarmed or bool(alarms.any()),
        last_position=float(place[-1]),
        average=mean.value,
        averaged=mean.count,
        zero_average=mean.zero,
    )
    return _line(taken, place[~beyond], off[~beyond])


def _sums(start: float, steps: _Floats, checks: int, zero: int) -> tuple[_Floats, int]:
    """Return the sums of a row, and the check at which they were last zero."""
    total = start + np.cumsum(steps)
    lowest = np.minimum(np.minimum.accumulate(total), 0.0)
    sums = total - lowest
    zeros = np.flatnonzero(sums == 0.0)
    return sums, checks + int(zeros[-1]) + 1 if zeros.size else zero


def _line(state: WatchState, place: _Floats, off: _Floats) -> WatchState:
    """Join a row to the running regression, by the sums of both parts."""
    more = place.size
    if more == 0:
        return state
    count = state.line_count + more
    centre, level = float(place.mean()), float(off.mean())
    right, over = centre - state.line_position, level - state.line_deviation
    share = state.line_count * more / count
    x, y = place - centre, off - level
    return replace(
        state,
        line_count=count,
        line_position=state.line_position + right * more / count,
        line_deviation=state.line_deviation + over * more / count,
        line_xx=state.line_xx + float(x @ x) + right * right * share,
        line_xy=state.line_xy + float(x @ y) + right * over * share,
        line_yy=state.line_yy + float(y @ y) + over * over * share,
    )
