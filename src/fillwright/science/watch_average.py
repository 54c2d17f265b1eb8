"""The moving average of the live watch: one reading at a time, or a row at once."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.science.watch_state import WatchState

__all__ = ["Average", "average_after", "average_limit", "averages_after"]

_Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Average:
    """The moving average after a reading.

    Attributes
    ----------
    value : float
        The average. [1]
    count : int
        Readings in it since it began.
    zero : int
        Check at which it was last on the other side of zero.
    """

    value: float
    count: int
    zero: int


def average_after(state: WatchState, z: float | None, *, check: int) -> Average:
    """Return the average after one more reading.

    Parameters
    ----------
    state : WatchState
        The watch before.
    z : float or None
        The reading in sds; none while too little is known. [1]
    check : int
        Number of the reading.

    Returns
    -------
    Average
        Unchanged where no average is kept.
    """
    if z is None or state.average_weight == 0.0:
        return Average(state.average, state.averaged, state.zero_average)
    value = state.average + state.average_weight * (z - state.average)
    crossed = value == 0.0 or value * state.average < 0.0
    return Average(value, state.averaged + 1, check - 1 if crossed else state.zero_average)


def average_limit(state: WatchState, count: int) -> float:
    """Return the limit of the average after so many readings, exact from the first on.

    Parameters
    ----------
    state : WatchState
        The watch.
    count : float
        Readings in the average.

    Returns
    -------
    float
        The limit; infinite where no average is kept. [1]

    Notes
    -----
    L √(w/(2 - w) (1 - (1 - w)^2i)) (Roberts 1959; from memory).
    """
    weight = state.average_weight
    if weight == 0.0 or count == 0:
        return math.inf
    left = 1.0 - (1.0 - weight) ** (2.0 * float(count))
    return state.average_limit * math.sqrt(weight / (2.0 - weight) * left)


def averages_after(state: WatchState, z: ArrayLike) -> tuple[Average, NDArray[np.bool_]]:
    """Return the average after a row of readings, and which of them left the limits.

    Parameters
    ----------
    state : WatchState
        The watch before.
    z : array_like, shape (n,)
        Readings in sds. [1]

    Returns
    -------
    tuple of Average and ndarray of bool
        The average after the last, and the alarms.
    """
    row = np.asarray(z, dtype=np.float64)
    weight = state.average_weight
    if weight == 0.0:
        kept = Average(state.average, state.averaged, state.zero_average)
        return kept, np.zeros(row.size, dtype=np.bool_)
    from scipy.signal import lfilter  # noqa: PLC0415  heavy library, loaded when asked

    values = lfilter([weight], [1.0, weight - 1.0], row, zi=[(1.0 - weight) * state.average])[0]
    before = np.concatenate([[state.average], values[:-1]])
    crossed = np.flatnonzero((values == 0.0) | (values * before < 0.0))
    zero = state.checks + int(crossed[-1]) if crossed.size else state.zero_average
    counts = state.averaged + 1.0 + np.arange(row.size)
    wide = np.sqrt(weight / (2.0 - weight) * (1.0 - (1.0 - weight) ** (2.0 * counts)))
    alarms = np.abs(values) > state.average_limit * wide
    return Average(float(values[-1]), state.averaged + row.size, zero), alarms
