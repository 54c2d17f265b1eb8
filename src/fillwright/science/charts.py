"""Charts over a whole run at once: individuals with moving range, CUSUM, EWMA.

The live watch in `watch` gives the same sums one reading at a time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.science.given import above_zero, not_negative, readings_in_order, share

__all__ = [
    "CusumChart",
    "EwmaChart",
    "IndividualsChart",
    "cusum_chart",
    "ewma_chart",
    "individuals_chart",
]

_Floats = NDArray[np.float64]

_D2_OF_TWO = 2.0 / math.sqrt(math.pi)
_BLOCK = 4096
_FADED = 1e-35


@dataclass(frozen=True, slots=True, kw_only=True)
class IndividualsChart:
    """Single readings with limits from their own moving range.

    Attributes
    ----------
    centre : float
        Mean of the readings. [kg]
    upper : float
        Upper limit, 3 sd above. [kg]
    lower : float
        Lower limit, 3 sd below. [kg]
    mean_moving_range : float
        Mean distance of neighbours. [kg]
    sd_from_mr : float
        Sd from it. [kg]
    first_signal : int or None
        First reading beyond a limit, counted from 1.
    last_good : int
        Last reading before it, or the last of all.
    """

    centre: float
    upper: float
    lower: float
    mean_moving_range: float
    sd_from_mr: float
    first_signal: int | None
    last_good: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CusumChart:
    """Two-sided cumulative sums.

    Attributes
    ----------
    up : ndarray, shape (n,)
        Sum for high values. [1]
    down : ndarray, shape (n,)
        Sum for low values. [1]
    upper_limit : float
        Decision limit of both. [1]
    first_signal : int or None
        First reading with a sum above the limit, counted from 1.
    last_good : int
        Where the alarming sum was last zero; 0 = before the first; the last of all without
        a signal.
    """

    up: _Floats
    down: _Floats
    upper_limit: float
    first_signal: int | None
    last_good: int


@dataclass(frozen=True, slots=True, kw_only=True)
class EwmaChart:
    """Exponentially weighted mean.

    Attributes
    ----------
    ewma : ndarray, shape (n,)
        The weighted mean. [1]
    upper_limit : ndarray, shape (n,)
        Its limit at each reading; the lower one mirrors it. [1]
    first_signal : int or None
        First reading with the mean beyond its limit, counted from 1.
    last_good : int
        Last reading before the weighted mean left zero on that side; the last of all
        without a signal.
    """

    ewma: _Floats
    upper_limit: _Floats
    first_signal: int | None
    last_good: int


def individuals_chart(readings: ArrayLike) -> IndividualsChart:
    """Return centre and 3 sd limits of single readings from their moving range.

    Parameters
    ----------
    readings : array_like, shape (n,)
        Readings in time order, two or more. [kg]

    Returns
    -------
    IndividualsChart
        Limits and the first reading beyond them.

    Raises
    ------
    BadInput
        If there are fewer than two readings or one is not a number.

    Notes
    -----
    sd = mean moving range / 1.12838. It underrates the scatter where neighbours are alike,
    and limits from 10 to 30 readings give false alarms several times too often.
    """
    row = readings_in_order(readings, "readings", at_least=2)
    centre = float(np.mean(row))
    moving = float(np.mean(np.abs(np.diff(row))))
    sd = moving / _D2_OF_TWO
    beyond = np.flatnonzero(np.abs(row - centre) > 3.0 * sd)
    first = int(beyond[0]) + 1 if beyond.size else None
    return IndividualsChart(
        centre=centre,
        upper=centre + 3.0 * sd,
        lower=centre - 3.0 * sd,
        mean_moving_range=moving,
        sd_from_mr=sd,
        first_signal=first,
        last_good=row.size if first is None else first - 1,
    )


def cusum_chart(
    standardised: ArrayLike, *, k: float = 0.5, h: float = 5.0, head_start: float = 0.0
) -> CusumChart:
    """Return both cumulative sums of readings in sds.

    Parameters
    ----------
    standardised : array_like, shape (n,)
        Readings less centre, over sd, in time order. [1]
    k : float
        Reference value. [1]
    h : float
        Decision limit. [1]
    head_start : float
        Where both sums begin. [1]

    Returns
    -------
    CusumChart
        The sums, the first alarm and where its sum was last zero.

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    C = max(0, C + z - k), alarm above h [1]_; computed as the running sum less its running
    minimum, in blocks so that long runs lose no digits.

    References
    ----------
    .. [1] Page, Continuous inspection schemes, Biometrika 41 (1954); from memory.
    """
    row = readings_in_order(standardised, "standardised", at_least=1)
    slack, limit = not_negative(k, "k"), above_zero(h, "h")
    begin = not_negative(head_start, "head_start")
    up, down = _sums(row - slack, begin), _sums(-row - slack, begin)
    over = np.flatnonzero((up > limit) | (down > limit))
    if not over.size:
        return CusumChart(
            up=up, down=down, upper_limit=limit, first_signal=None, last_good=row.size
        )
    at = int(over[0])
    alarming = up if up[at] > limit else down
    zeros = np.flatnonzero(alarming[:at] == 0.0)
    return CusumChart(
        up=up,
        down=down,
        upper_limit=limit,
        first_signal=at + 1,
        last_good=int(zeros[-1]) + 1 if zeros.size else 0,
    )


def ewma_chart(standardised: ArrayLike, *, weight: float = 0.1, limit: float = 2.814) -> EwmaChart:
    """Return the exponentially weighted mean of readings in sds.

    Parameters
    ----------
    standardised : array_like, shape (n,)
        Readings less centre, over sd, in time order. [1]
    weight : float
        Weight λ of the newest reading. [1]
    limit : float
        Limit L in sds of the weighted mean. [1]

    Returns
    -------
    EwmaChart
        The mean, its limits and the first alarm.

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    z_i = λ x_i + (1 - λ) z_(i-1) with limits L √(λ/(2 - λ) (1 - (1 - λ)^(2i))) [1]_.

    References
    ----------
    .. [1] Roberts, Control chart tests based on geometric moving averages, Technometrics 1
       (1959); from memory.
    """
    row = readings_in_order(standardised, "standardised", at_least=1)
    lam = 1.0 if weight == 1.0 else share(weight, "weight")
    wide = above_zero(limit, "limit")
    mean = _weighted(row, lam)
    bound = np.full(row.size, wide * math.sqrt(lam / (2.0 - lam)))
    # Later the start has faded below the last digit.
    early = row.size if lam == 1.0 else min(row.size, 1 + int(math.log(_FADED) / math.log1p(-lam)))
    steps = 2.0 * np.arange(1.0, early + 1.0)
    bound[:early] *= np.sqrt(1.0 - (1.0 - lam) ** steps)
    over = np.flatnonzero(np.abs(mean) > bound)
    if not over.size:
        return EwmaChart(ewma=mean, upper_limit=bound, first_signal=None, last_good=row.size)
    at = int(over[0])
    other = np.flatnonzero(mean[:at] * math.copysign(1.0, mean[at]) <= 0.0)
    return EwmaChart(
        ewma=mean,
        upper_limit=bound,
        first_signal=at + 1,
        last_good=int(other[-1]) + 1 if other.size else 0,
    )


def _sums(steps: _Floats, begin: float) -> _Floats:
    """Return the sum that never falls below zero, in blocks to keep its digits."""
    sums = np.empty_like(steps)
    carried = begin
    for start in range(0, steps.size, _BLOCK):
        part = carried + np.cumsum(steps[start : start + _BLOCK])
        part -= np.minimum(np.minimum.accumulate(part), 0.0)
        sums[start : start + _BLOCK] = part
        carried = float(part[-1])
    return sums


def _weighted(row: _Floats, weight: float) -> _Floats:
    """Return the weighted mean from zero, each pass doubling how far back it reaches."""
    mean = weight * row
    keep, reach = 1.0 - weight, 1
    while reach < row.size and keep > _FADED:
        mean[reach:] += keep * mean[:-reach]
        keep, reach = keep * keep, 2 * reach
    return mean
