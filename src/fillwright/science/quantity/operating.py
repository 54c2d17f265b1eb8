"""Chances that the parts of a reference test accept, for a normal filler with a lot effect.

Model: content = process mean + lot effect + scatter within the lot.  Errors and deviations are in
the unit of the label; nothing here is compared with a legal limit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.science.quantity.plans import Plan

__all__ = [
    "CountChance",
    "Normals",
    "Process",
    "at_most",
    "count_chance",
    "finite",
    "individual_chance",
    "lot_effects",
    "mean_chance",
    "sd_upper_factor",
    "share_for_lot",
]

Floats = NDArray[np.float64]

# Trapezium rule in the normal quantile: the weights fall to nothing at both ends and the integrand
# is smooth, so the error is far below 1e-9 at this step.
_REACH = 8.5
_STEP = 0.25
_MOST_NODES = 4001
_NOTHING = 1e-100


@dataclass(frozen=True, slots=True, kw_only=True)
class Process:
    """A normal filler as the inspector meets it.

    Attributes
    ----------
    offset : float
        Process mean less label quantity. [g or mL]
    sd_seen : float
        Standard deviation within a lot that the inspector sees, tare included. [g or mL]
    sd_lot : float
        Standard deviation of the mean from lot to lot. [g or mL]
    """

    offset: float
    sd_seen: float
    sd_lot: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Normals:
    """Points of the standard normal law with their weights.

    Attributes
    ----------
    at : ndarray
        Points. [1]
    weight : ndarray
        Weights; they add up to one. [1]
    """

    at: Floats
    weight: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class CountChance:
    """Chances of the counts of short packages, one value a lot effect.

    Attributes
    ----------
    individual : ndarray
        The count below T1 accepts. [1]
    t2 : ndarray
        The count below T2 accepts; one where the test has no such limit. [1]
    both : ndarray
        Both accept. [1]
    """

    individual: Floats
    t2: Floats
    both: Floats


def mean_chance(offset: Floats | float, *, sd_seen: float, sd_mean: float, plan: Plan) -> Floats:
    """Return the chance that the test of the mean accepts.

    Parameters
    ----------
    offset : ndarray or float
        Expected mean less label quantity. [g or mL]
    sd_seen : float
        Standard deviation of single contents within the lot. [g or mL]
    sd_mean : float
        Standard deviation of the sample mean. [g or mL]
    plan : Plan
        Number in the test of the mean, and factor.

    Returns
    -------
    ndarray
        Chance, shape of `offset`. [1]

    Notes
    -----
    E over s of Φ((offset + k s)/sd_mean), s = sd_seen √(χ²/ν), ν = n - 1: mean and standard
    deviation of a normal sample are independent [1]_.  The integral runs over the normal quantile
    of s.

    References
    ----------
    .. [1] Student's theorem, any textbook of mathematical statistics; from memory.
    """
    from scipy.special import ndtr  # noqa: PLC0415  scipy is loaded when first asked

    at = np.atleast_1d(np.asarray(offset, dtype=np.float64))
    nodes, weight = _sd_nodes(plan.n_mean)
    reach = at[:, None] + float(plan.k) * sd_seen * nodes[None, :]
    if sd_mean == 0:
        return np.asarray((reach >= 0).astype(np.float64) @ weight)
    return np.asarray(ndtr(reach / sd_mean) @ weight)


def count_chance(
    offset: Floats | float, *, sd_seen: float, shortage: float, plan: Plan
) -> CountChance:
    """Return the chances that the counts of short packages accept.

    Parameters
    ----------
    offset : ndarray or float
        Mean of the lot less label quantity. [g or mL]
    sd_seen : float
        Standard deviation of single contents within the lot. [g or mL]
    shortage : float
        Tolerable shortage. [g or mL]
    plan : Plan
        Sample sizes and limits.

    Returns
    -------
    CountChance
        One value an offset.
    """
    at = np.atleast_1d(np.asarray(offset, dtype=np.float64))
    below_t1 = _share_below(-shortage - at, sd_seen)
    individual = individual_chance(below_t1, plan=plan)
    if plan.t2_allowed is None:
        return CountChance(individual=individual, t2=np.ones_like(at), both=individual)
    below_t2 = _share_below(-2 * shortage - at, sd_seen)
    t2 = at_most(plan.t2_allowed, plan.n, below_t2)
    # Given the number far short, the rest is short with the conditional share.
    rest = np.where(below_t2 < 1, (below_t1 - below_t2) / np.maximum(1 - below_t2, 1e-300), 1.0)
    both = np.zeros_like(at)
    for far in range(min(plan.t2_allowed, plan.accept or 0) + 1):
        left = (plan.accept or 0) - far
        both += _exactly(far, plan.n, below_t2) * at_most(left, plan.n - far, rest)
    return CountChance(individual=individual, t2=t2, both=both)


def individual_chance(share: Floats | float, *, plan: Plan) -> Floats:
    """Return the chance that the count of packages below T1 accepts.

    Parameters
    ----------
    share : ndarray or float
        True share of packages below T1. [1]
    plan : Plan
        Sample sizes and limits.

    Returns
    -------
    ndarray
        Chance, shape of `share`. [1]

    Notes
    -----
    Binomial: P(c1 <= Ac1), for a double plan plus the sum over Ac1 < c1 < Re1 of
    P(c1) P(c2 <= Ac2 - c1).
    """
    at = _plain(np.atleast_1d(np.asarray(share, dtype=np.float64)))
    if plan.accept is None or plan.reject is None:
        return np.ones_like(at)
    chance = at_most(plan.accept, plan.n, at)
    if plan.n_second is not None and plan.accept_total is not None:
        for first in range(plan.accept + 1, plan.reject):
            then = at_most(plan.accept_total - first, plan.n_second, at)
            chance = chance + _exactly(first, plan.n, at) * then
    return chance


def finite(value: float, field: str, *, least: float | None = 0.0) -> float:
    """Return a figure, and refuse one that is not finite or too small.

    Parameters
    ----------
    value : float
        The figure. [unit of `field`]
    field : str
        Name for the message.
    least : float or None
        Smallest allowed; None for any. [unit of `field`]

    Returns
    -------
    float
        The same figure. [unit of `field`]

    Raises
    ------
    BadInput
        If it is not finite, or below the smallest allowed.
    """
    if not math.isfinite(value):
        raise BadInput(
            f"{field}: {value} is not finite; give a number.",
            field=field,
            given=value,
            allowed="a finite number",
            code="not-finite",
        )
    if least is not None and value < least:
        raise BadInput(
            f"{field}: {value} is below {least:g}; give {least:g} or more.",
            field=field,
            given=value,
            allowed=f"{least:g} or more",
        )
    return value


def lot_effects(sd_lot: float, *, sd_seen: float, n: int) -> Normals:
    """Return lot effects and weights to average over, dense enough for the test of the mean.

    Parameters
    ----------
    sd_lot : float
        Standard deviation of the mean from lot to lot. [g or mL]
    sd_seen : float
        Standard deviation of single contents within the lot. [g or mL]
    n : int
        Packages in the test of the mean.

    Returns
    -------
    Normals
        Effects in the unit of the label, and weights.
    """
    if sd_lot == 0:
        return Normals(at=np.zeros(1), weight=np.ones(1))
    sharp = sd_seen / math.sqrt(n) / sd_lot if sd_seen else 0.0
    wanted = 2 * _REACH / max(min(_STEP, sharp / 2), 1e-9)
    nodes = _normals(int(min(_MOST_NODES, 2 * math.ceil(wanted / 2) + 1)))
    return Normals(at=sd_lot * nodes.at, weight=nodes.weight)


def sd_upper_factor(n: int, *, confidence: float) -> float:
    """Return the factor from a sample standard deviation to its one-sided upper limit.

    Parameters
    ----------
    n : int
        Doses behind the standard deviation.
    confidence : float
        Confidence of the limit. [1]

    Returns
    -------
    float
        Factor, above one. [1]

    Notes
    -----
    √(ν/χ²(1 - γ; ν)), ν = n - 1, with χ² quantiles from the incomplete gamma function; any
    textbook of statistics.
    """
    from scipy.special import gammaincinv  # noqa: PLC0415  scipy is loaded when first asked

    half = (n - 1) / 2
    return math.sqrt(half / float(gammaincinv(half, 1 - confidence)))


def share_for_lot(chance: float, *, lot_size: int) -> float:
    """Return the share of packages at which a whole lot holds none with a given risk.

    Parameters
    ----------
    chance : float
        Risk that the lot holds one or more. [1]
    lot_size : int
        Packages in the lot.

    Returns
    -------
    float
        Share: 1 - (1 - risk)^(1/N). [1]
    """
    return -math.expm1(math.log1p(-chance) / lot_size)


def at_most(count: int, n: int, share: Floats) -> Floats:
    """Return the chance of at most so many of n packages.

    Parameters
    ----------
    count : int
        Most packages; below zero the chance is zero.
    n : int
        Packages drawn.
    share : ndarray
        True share of such packages. [1]

    Returns
    -------
    ndarray
        Binomial chance, shape of `share`. [1]
    """
    from scipy.special import bdtr  # noqa: PLC0415  scipy is loaded when first asked

    if count < 0 or count >= n:
        return np.full_like(share, float(count >= n))
    return np.asarray(bdtr(count, n, share))


def _exactly(count: int, n: int, share: Floats) -> Floats:
    """Return the binomial chance of exactly so many of n packages."""
    from scipy.special import xlog1py, xlogy  # noqa: PLC0415  scipy is loaded when first asked

    ways = math.lgamma(n + 1) - math.lgamma(count + 1) - math.lgamma(n - count + 1)
    return np.asarray(np.exp(ways + xlogy(count, share) + xlog1py(n - count, -share)))


def _share_below(limit: Floats, sd: float) -> Floats:
    """Return the share of a centred normal law below each limit."""
    from scipy.special import ndtr  # noqa: PLC0415  scipy is loaded when first asked

    if sd == 0:
        return (limit > 0).astype(np.float64)
    return _plain(np.asarray(ndtr(limit / sd)))


def _plain(share: Floats) -> Floats:
    """Return shares with those far too small to count put to zero, before powers underflow."""
    return np.where(share < _NOTHING, 0.0, share)


@lru_cache(maxsize=8)
def _normals(count: int) -> Normals:
    """Return evenly spaced points of the standard normal law with their weights."""
    at = np.linspace(-_REACH, _REACH, count)
    weight = np.exp(-0.5 * at * at)
    return Normals(at=at, weight=weight / weight.sum())


@lru_cache(maxsize=64)
def _sd_nodes(n: int) -> tuple[Floats, Floats]:
    """Return s/σ at points of its law and their weights; zero for a sample of one."""
    from scipy.special import gammainccinv, gammaincinv, ndtr  # noqa: PLC0415  as above

    if n == 1:
        return np.zeros(1), np.ones(1)
    points = _normals(int(2 * _REACH / _STEP) + 1)
    low, high, half = ndtr(points.at), ndtr(-points.at), (n - 1) / 2
    square = np.where(points.at < 0, gammaincinv(half, low), gammainccinv(half, high)) / half
    return np.sqrt(square), points.weight
