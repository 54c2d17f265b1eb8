"""Whether readings in time order look like one steady process.

Slope, neighbouring differences and the farthest reading, jointly at a stated rate of false
alarms. A short dose that stands out is a finding, never something to delete.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.science.given import readings_in_order, share

__all__ = ["OrderTests", "order_tests"]

_FEWEST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderTests:
    """Whether readings in time order look like one steady process.

    Attributes
    ----------
    slope_per_dose : float
        Slope of the straight line through the readings. [kg]
    p_two_sided : float
        Chance of a slope as steep in a steady run. [1]
    von_neumann_ratio : float or None
        Sum of squared neighbouring differences over sum of squares about the mean; 2 in a
        steady run; none where all readings are equal or there are fewer than three. [1]
    p_von_neumann : float
        Chance of a ratio as far from 2 in a steady run. [1]
    lag1 : float or None
        Correlation of neighbours; none where all readings are equal. [1]
    farthest : int
        Place of the reading farthest from the mean, counted from 0.
    farthest_sds : float
        How far that is, in sample sds. [1]
    p_outlier : float
        Upper bound of the chance of one as far in a steady run. [1]
    p_joint : float
        Joint chance: three times the smallest of the three, at most 1. [1]
    steady : bool
        Whether the joint chance is above the false-alarm rate.
    because : str
        What was seen in one sentence.
    """

    slope_per_dose: float
    p_two_sided: float
    von_neumann_ratio: float | None
    p_von_neumann: float
    lag1: float | None
    farthest: int
    farthest_sds: float
    p_outlier: float
    p_joint: float
    steady: bool
    because: str


def order_tests(readings: ArrayLike, *, false_alarm: float = 0.02) -> OrderTests:
    r"""Return whether readings in time order look like one steady process.

    Parameters
    ----------
    readings : array_like, shape (n,)
        Readings in the order they were made. [kg]
    false_alarm : float
        Chance of calling a steady run unsteady. [1]

    Returns
    -------
    OrderTests
        The three tests and their joint chance.

    Raises
    ------
    BadInput
        If there are fewer than two readings or one is not a number.

    Notes
    -----
    Slope: Student's t of the regression on the order. Neighbours: von Neumann's ratio
    Σ(Δy)²/Σ(y - ȳ)², mean 2 and variance 4(n - 2)/(n² - 1) [1]_, its quarter taken as a
    symmetric beta with that variance. Farthest: Grubbs' bound of both t tails [2]_. The joint
    chance is three times the smallest (Bonferroni), so false alarms are a little rarer than
    stated. With fewer than three readings nothing can be said and all chances are 1.

    References
    ----------
    .. [1] von Neumann, Distribution of the ratio of the mean square successive difference to
       the variance, Ann. Math. Stat. 12 (1941); from memory.
    .. [2] Grubbs, Sample criteria for testing outlying observations, Ann. Math. Stat. 21
       (1950); from memory.
    """
    row = readings_in_order(readings, "readings", at_least=2)
    alarm = share(false_alarm, "false_alarm")
    n = row.size
    off = row - float(np.mean(row))
    squares = float(np.sum(off**2))
    farthest = int(np.argmax(np.abs(off)))
    if n < _FEWEST or squares <= (1e-14 * float(np.max(np.abs(row)))) ** 2 * n:
        return OrderTests(
            slope_per_dose=0.0,
            p_two_sided=1.0,
            von_neumann_ratio=None,
            p_von_neumann=1.0,
            lag1=None,
            farthest=farthest,
            farthest_sds=0.0,
            p_outlier=1.0,
            p_joint=1.0,
            steady=True,
            because="Too few different readings to tell an order.",
        )
    order = np.arange(n, dtype=np.float64) - 0.5 * (n - 1)
    slope = float(order @ off) / float(order @ order)
    p_slope = _p_slope(slope, order, squares)
    ratio = float(np.sum(np.diff(row) ** 2)) / squares
    p_ratio = _p_ratio(ratio, n)
    sds = abs(float(off[farthest])) / math.sqrt(squares / (n - 1))
    p_far = _p_farthest(sds, n)
    joint = min(1.0, 3.0 * min(p_slope, p_ratio, p_far))
    steady = joint > alarm
    because = "Nothing speaks against a steady run."
    if not steady:
        because = {
            p_far: f"Reading {farthest + 1} stands out by {sds:.1f} sample sds.",
            p_ratio: "Neighbouring readings are alike or alternate: not independent.",
            p_slope: "The readings creep in one direction.",
        }[min(p_slope, p_ratio, p_far)]
    return OrderTests(
        slope_per_dose=slope,
        p_two_sided=p_slope,
        von_neumann_ratio=ratio,
        p_von_neumann=p_ratio,
        lag1=float(off[1:] @ off[:-1]) / squares,
        farthest=farthest,
        farthest_sds=sds,
        p_outlier=p_far,
        p_joint=joint,
        steady=steady,
        because=because,
    )


def _p_slope(slope: float, order: NDArray[np.float64], squares: float) -> float:
    """Return the two-sided chance of a slope as steep."""
    from scipy.special import stdtr  # noqa: PLC0415  heavy library, loaded when asked

    free = order.size - 2
    explained = slope**2 * float(order @ order)
    left = squares - explained
    if left <= 1e-14 * squares:
        return 0.0
    return 2.0 * float(stdtr(free, -math.sqrt(explained / (left / free))))


def _p_ratio(ratio: float, n: int) -> float:
    """Return the two-sided chance of a von Neumann ratio as far from 2."""
    from scipy.special import betainc  # noqa: PLC0415  heavy library, loaded when asked

    shape = 0.5 * ((n**2 - 1.0) / (n - 2.0) - 1.0)
    return 2.0 * float(betainc(shape, shape, 0.25 * min(ratio, 4.0 - ratio)))


def _p_farthest(sds: float, n: int) -> float:
    """Return Grubbs' bound of the chance of a reading as far from the mean."""
    from scipy.special import stdtr  # noqa: PLC0415  heavy library, loaded when asked

    left = (n - 1.0) ** 2 / n - sds**2
    if left <= 1e-12 * n:
        return 0.0 if n > _FEWEST else 1.0
    t = sds * math.sqrt((n - 2.0) / left)
    return min(1.0, 2.0 * n * float(stdtr(n - 2.0, -t)))
