"""Charts of small groups weighed one after another: their means, and their scatter.

Groups are for watching the scatter; a small shift is found sooner by single readings often.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.science.given import readings_in_order

__all__ = ["GroupChart", "group_chart"]

_Floats = NDArray[np.float64]

_FEWEST = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupChart:
    """Means and sds of groups with their 3 sd limits.

    Attributes
    ----------
    means : ndarray, shape (n,)
        Mean of each group. [kg]
    sds : ndarray, shape (n,)
        Sd of each group. [kg]
    centre : float
        Mean of all readings. [kg]
    sd_within : float
        Sd of single readings within groups, unbiased. [kg]
    mean_low : ndarray, shape (n,)
        Lower limit of each mean. [kg]
    mean_high : ndarray, shape (n,)
        Upper limit of each mean. [kg]
    sd_low : ndarray, shape (n,)
        Lower limit of each sd. [kg]
    sd_high : ndarray, shape (n,)
        Upper limit of each sd. [kg]
    first_signal : int or None
        First group with a mean or an sd beyond a limit, counted from 1.
    last_good : int
        Last group before it, or the last of all.
    """

    means: _Floats
    sds: _Floats
    centre: float
    sd_within: float
    mean_low: _Floats
    mean_high: _Floats
    sd_low: _Floats
    sd_high: _Floats
    first_signal: int | None
    last_good: int


def group_chart(groups: Sequence[Sequence[float]]) -> GroupChart:
    """Return the mean and sd chart of groups.

    Parameters
    ----------
    groups : sequence of sequence of float
        Readings of each group in time order, two or more in each. [kg]

    Returns
    -------
    GroupChart
        Means, sds and limits; groups of another size have limits of their own.

    Raises
    ------
    BadInput
        If there are fewer than two groups, a group has fewer than two readings, or a figure
        cannot be used.

    Notes
    -----
    Sds are pooled by their degrees of freedom, then made unbiased by c4 of one more than
    these [1]_: a plain mean of unequal groups would be wrong. Limits at ±3 σ/√n and
    (c4 ± 3 √(1 - c4²)) σ.

    References
    ----------
    .. [1] ISO 7870-2; from memory.

    Examples
    --------
    >>> chart = group_chart([[1.0, 3.0], [2.0, 4.0], [1.5, 3.5]])
    >>> chart.first_signal is None, round(chart.sd_within, 4)
    (True, 1.535)
    """
    if len(groups) < _FEWEST:
        message = f"groups holds {len(groups)}; give at least {_FEWEST}."
        raise BadInput(message, field="groups", given=len(groups), allowed="2 or more")
    rows = [
        readings_in_order(group, f"groups[{place}]", at_least=_FEWEST)
        for place, group in enumerate(groups)
    ]
    sizes = np.array([row.size for row in rows])
    means = np.array([float(np.mean(row)) for row in rows])
    sds = np.array([float(np.std(row - row[0], ddof=1)) for row in rows])
    free = sizes - 1
    total = int(free.sum())
    pooled = math.sqrt(float(free @ sds**2) / total)
    sigma = pooled / _c4(total + 1)
    centre = float(sizes @ means) / int(sizes.sum())
    half = 3.0 * sigma / np.sqrt(sizes)
    shares = {int(size): _c4(int(size)) for size in set(sizes.tolist())}
    c4 = np.array([shares[int(size)] for size in sizes])
    reach = 3.0 * np.sqrt(1.0 - c4**2)
    low, high = np.maximum(c4 - reach, 0.0) * sigma, (c4 + reach) * sigma
    beyond = np.flatnonzero((np.abs(means - centre) > half) | (sds > high) | (sds < low))
    first = int(beyond[0]) + 1 if beyond.size else None
    return GroupChart(
        means=means,
        sds=sds,
        centre=centre,
        sd_within=sigma,
        mean_low=centre - half,
        mean_high=centre + half,
        sd_low=low,
        sd_high=high,
        first_signal=first,
        last_good=len(rows) if first is None else first - 1,
    )


def _c4(size: int) -> float:
    """Return the share of the sd that samples of a size show on average."""
    half = 0.5 * (size - 1)
    return math.exp(math.lgamma(half + 0.5) - math.lgamma(half)) / math.sqrt(half)
