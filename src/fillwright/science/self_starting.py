"""Readings in sds by what came before alone: a chart that needs no numbers beforehand.

Limits from 10 to 30 readings give false alarms several times too often; these values are
exactly independent standard normal from the third reading on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.science.charts import CusumChart, cusum_chart
from fillwright.science.given import above_zero, not_negative, readings_in_order

__all__ = ["SelfStartingChart", "score", "self_starting", "self_starting_chart"]

_Floats = NDArray[np.float64]

_MOST_SDS = 37.0
_CRUMB = 1e-24


@dataclass(frozen=True, slots=True, kw_only=True)
class SelfStartingChart:
    """Self-starting CUSUM.

    Attributes
    ----------
    z : ndarray, shape (n,)
        Readings in sds; not a number for the first two. [1]
    chart : CusumChart
        The sums over z from the third reading on, counted over all readings.
    """

    z: _Floats
    chart: CusumChart


def self_starting(
    readings: ArrayLike,
    *,
    centre: float | None = None,
    sd: float | None = None,
    sd_df: int = 0,
    known_after: int | None = None,
    readability: float = 0.0,
) -> _Floats:
    """Return each reading in sds by what the readings before it say alone.

    Parameters
    ----------
    readings : array_like, shape (n,)
        Readings in time order. [kg]
    centre : float or None
        Known centre; none where it is learnt from the run. [kg]
    sd : float or None
        Sd from a run before; none without. [kg]
    sd_df : int
        Degrees of freedom behind `sd`.
    known_after : int or None
        Readings after which mean and sd are held; none for never.
    readability : float
        Step of the scale; the sd is never taken below step/√12. [kg]

    Returns
    -------
    ndarray, shape (n,)
        Independent standard normal values in a steady run; not a number where too few
        readings came before (the first two, with nothing known). [1]

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    T = (x - m)/s √(c/(c + 1)) with mean and sd of the c readings before; z = Φ⁻¹(F_t(T))
    [1]_. The reading itself stays out of m and s, else independence is lost. Where all
    readings before are equal, z is 0.

    References
    ----------
    .. [1] Hawkins, Self-starting cusum charts for location and scale, The Statistician 36
       (1987); from memory.
    """
    row = readings_in_order(readings, "readings", at_least=1)
    step = not_negative(readability, "readability")
    if sd is not None:
        above_zero(sd, "sd")
    off = row - (float(np.mean(row)) if centre is None else centre)
    count = np.arange(row.size, dtype=np.float64)
    means = np.concatenate([[0.0], np.cumsum(off) / (count + 1.0)])
    about = means if centre is None else np.zeros_like(means)
    squares = np.concatenate([[0.0], np.cumsum((off - about[:-1]) * (off - about[1:]))])
    # Equal readings leave crumbs of rounding here, which are no scatter.
    squares[1:][squares[1:] < _CRUMB * np.cumsum(off**2)] = 0.0
    held = np.arange(row.size)
    if known_after is not None:
        held = np.minimum(held, known_after)
    before = held.astype(np.float64)
    free = before + (0 if sd is None else sd_df) - (1 if centre is None else 0)
    total = squares[held] + (0.0 if sd is None else sd_df * sd**2)
    share_of = np.sqrt(before / (before + 1.0)) if centre is None else np.ones(row.size)
    usable = (free >= 1.0) & (share_of > 0.0)
    spread = np.sqrt(total / np.where(usable, free, 1.0))
    spread = np.maximum(spread, step / math.sqrt(12.0))
    ratio = np.divide(
        (off - about[held]) * share_of, spread, out=np.zeros(row.size), where=spread > 0.0
    )
    return np.where(usable, score(ratio, np.where(usable, free, 1.0)), np.nan)


def score(ratio: ArrayLike, free: ArrayLike) -> _Floats:
    """Return the standard normal value with the same chance as a Student's t.

    Parameters
    ----------
    ratio : float or ndarray
        Student's t. [1]
    free : float or ndarray
        Its degrees of freedom. [1]

    Returns
    -------
    ndarray
        Standard normal value, at most 37 either way. [1]
    """
    from scipy.special import ndtri, stdtr  # noqa: PLC0415  heavy library, loaded when asked

    t = np.asarray(ratio, dtype=np.float64)
    tail = np.maximum(stdtr(free, -np.abs(t)), 1e-300)
    return np.asarray(np.minimum(-ndtri(tail), _MOST_SDS) * np.sign(t))


def self_starting_chart(
    readings: ArrayLike, *, k: float = 0.5, h: float = 5.0
) -> SelfStartingChart:
    """Return the self-starting CUSUM of readings.

    Parameters
    ----------
    readings : array_like, shape (n,)
        Readings in time order, three or more. [kg]
    k : float
        Reference value. [1]
    h : float
        Decision limit. [1]

    Returns
    -------
    SelfStartingChart
        Values in sds and their sums.

    Raises
    ------
    BadInput
        If there are fewer than three readings or a figure cannot be used.
    """
    row = readings_in_order(readings, "readings", at_least=3)
    z = self_starting(row)
    return SelfStartingChart(z=z, chart=cusum_chart(np.nan_to_num(z, nan=0.0), k=k, h=h))
