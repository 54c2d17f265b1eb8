"""How many readings pass until a chart alarms: average run lengths, exact by computation.

CUSUM and EWMA by the integral equation (Nyström), and the limit of a chart for a wanted run
length. Parameters are taken as known. Run rules are in `run_rules`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, finite, not_negative, share, whole

__all__ = [
    "arl_cusum",
    "arl_ewma",
    "containers_to_alarm",
    "design_cusum",
    "design_ewma",
]

_Floats = NDArray[np.float64]

_FEWEST_NODES, _MOST_NODES = 24, 400
_ROOT_2PI = math.sqrt(2.0 * math.pi)


def arl_cusum(
    k: float, h: float, *, shift: float = 0.0, head_start: float = 0.0, sides: int = 2
) -> float:
    """Return the average run length of a CUSUM.

    Parameters
    ----------
    k : float
        Reference value. [1]
    h : float
        Decision limit. [1]
    shift : float
        Shift of the mean, in sds, from the start. [1]
    head_start : float
        Where the sums begin, below `h`. [1]
    sides : int
        2 for both sums, 1 for the upper one alone.

    Returns
    -------
    float
        Average number of readings to the alarm. [1]

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    L(s) = 1 + L(0) Φ(k - s - δ) + ∫₀ʰ L(x) φ(x + k - s - δ) dx [1]_, 24 Gauss-Legendre
    nodes or more, denser than the kernel, and an atom at zero. Both sides: 1/L = 1/L⁺ + 1/L⁻
    from zero, and with a head start
    (L⁺(s) L⁻(0) + L⁻(s) L⁺(0) - L⁺(0) L⁻(0)) / (L⁺(0) + L⁻(0)) [2]_.

    References
    ----------
    .. [1] Page, Continuous inspection schemes, Biometrika 41 (1954); from memory.
    .. [2] Lucas and Crosier, Fast initial response for CUSUM quality-control schemes,
       Technometrics 24 (1982); from memory.

    Examples
    --------
    >>> round(arl_cusum(0.5, 5.0), 1), round(arl_cusum(0.5, 5.0, shift=1.0), 2)
    (465.4, 10.38)
    """
    slack, limit = not_negative(k, "k"), above_zero(h, "h")
    begin, off = not_negative(head_start, "head_start"), finite(shift, "shift")
    if begin >= limit:
        raise BadInput(
            f"head_start is {begin:g}; give one below h, {limit:g}.",
            field="head_start",
            given=begin,
            allowed="below h",
            code="inconsistent",
        )
    up = _one_cusum(slack, limit, off, begin)
    if sides == 1:
        return up.begun
    down = _one_cusum(slack, limit, -off, begin)
    both = up.begun * down.zero + down.begun * up.zero - up.zero * down.zero
    return both / (up.zero + down.zero)


def arl_ewma(weight: float, limit: float, *, shift: float = 0.0) -> float:
    """Return the average run length of an EWMA with its steady limits.

    Parameters
    ----------
    weight : float
        Weight λ of the newest reading. [1]
    limit : float
        Limit L in sds of the weighted mean. [1]
    shift : float
        Shift of the mean, in sds, from the start. [1]

    Returns
    -------
    float
        Average number of readings to the alarm, from a weighted mean of zero. [1]

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    Integral equation with kernel φ((u - (1 - λ) z)/λ - δ)/λ on ±L √(λ/(2 - λ)) [1]_.

    References
    ----------
    .. [1] Crowder, A simple method for studying run-length distributions of EWMA charts,
       Technometrics 29 (1987); from memory.

    Examples
    --------
    >>> round(arl_ewma(0.1, 2.814), 1)
    499.6
    """
    lam, wide = share(weight, "weight"), above_zero(limit, "limit")
    off = finite(shift, "shift")
    edge = wide * math.sqrt(lam / (2.0 - lam))
    # A small weight makes a narrow kernel: the nodes must be denser than it.
    count = min(_MOST_NODES, max(60, int(8.0 * edge / lam)))
    nodes, weights = _legendre(count)
    u = edge * nodes

    def kernel(start: _Floats) -> _Floats:
        step = (u[None, :] - (1.0 - lam) * start[:, None]) / lam - off
        return np.asarray(edge * weights * np.exp(-0.5 * step**2) / (_ROOT_2PI * lam))

    inside = np.linalg.solve(np.eye(count) - kernel(u), np.ones(count))
    return 1.0 + float((kernel(np.zeros(1)) @ inside)[0])


def design_cusum(k: float, arl0: float) -> float:
    """Return the decision limit of a two-sided CUSUM for a wanted run length.

    Parameters
    ----------
    k : float
        Reference value. [1]
    arl0 : float
        Average run length wanted of a steady run, 2 to a million. [1]

    Returns
    -------
    float
        Decision limit h. [1]

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Examples
    --------
    >>> round(design_cusum(0.5, 465.44), 3)
    5.0
    """
    slack = not_negative(k, "k")
    return _limit(lambda h: arl_cusum(slack, h), _wanted(arl0))


def design_ewma(weight: float, arl0: float) -> float:
    """Return the limit of an EWMA for a wanted run length.

    Parameters
    ----------
    weight : float
        Weight λ of the newest reading. [1]
    arl0 : float
        Average run length wanted of a steady run, 2 to a million. [1]

    Returns
    -------
    float
        Limit L in sds of the weighted mean. [1]

    Raises
    ------
    BadInput
        If a figure cannot be used.
    """
    lam = share(weight, "weight")
    return _limit(lambda wide: arl_ewma(lam, wide), _wanted(arl0))


def containers_to_alarm(
    checked_each_time: int, containers_between_checks: float, shift: float, *, chart: str
) -> float:
    """Return how many containers are filled after a shift until the chart alarms.

    Parameters
    ----------
    checked_each_time : int
        Containers weighed at a check.
    containers_between_checks : float
        Containers from check to check. [1]
    shift : float
        Shift of the dose, in sds of single doses. [1]
    chart : str
        "mean" for 3 sd limits on the mean of a check, "cusum" for a CUSUM of these means
        with reference value 0.5 and as many false alarms (one in 370).

    Returns
    -------
    float
        Expected containers, the shift at any time between two checks. [1]

    Raises
    ------
    BadInput
        If a figure or the chart cannot be used.

    Notes
    -----
    m (L - 1/2): L is the average run length in checks, the half the mean wait for the first.
    """
    from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

    each = whole(checked_each_time, "checked_each_time", at_least=1)
    between = above_zero(containers_between_checks, "containers_between_checks")
    moved = abs(finite(shift, "shift")) * math.sqrt(each)
    if chart == "mean":
        length = 1.0 / float(ndtr(moved - 3.0) + ndtr(-moved - 3.0))
    elif chart == "cusum":
        length = arl_cusum(0.5, _matched_limit(), shift=moved)
    else:
        raise BadInput(
            f'chart is "{chart}"; give "mean" or "cusum".',
            field="chart",
            given=chart,
            allowed='"mean" or "cusum"',
            code="choice",
        )
    return between * (length - 0.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lengths:
    """Run lengths of one sum from zero and from its head start."""

    zero: float
    begun: float


@lru_cache(maxsize=64)
def _legendre(count: int) -> tuple[_Floats, _Floats]:
    """Return nodes and weights on -1 to 1."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return nodes, weights


@lru_cache(maxsize=256)
def _one_cusum(k: float, h: float, shift: float, head_start: float) -> _Lengths:
    """Return the run lengths of one sum, from zero and from the head start."""
    from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

    # The kernel is one sd wide: two and a half nodes a sd give eight digits.
    nodes, weights = _legendre(min(_MOST_NODES, max(_FEWEST_NODES, 10 + math.ceil(2.5 * h))))
    x = 0.5 * h * (nodes + 1.0)
    points = np.concatenate([[0.0], x])

    def row(start: _Floats) -> _Floats:
        step = x[None, :] + k - start[:, None] - shift
        dense = 0.5 * h * weights * np.exp(-0.5 * step**2) / _ROOT_2PI
        return np.column_stack([ndtr(k - start - shift), dense])

    lengths = np.linalg.solve(np.eye(points.size) - row(points), np.ones(points.size))
    begun = 1.0 + float((row(np.array([head_start])) @ lengths)[0])
    return _Lengths(zero=float(lengths[0]), begun=begun)


@lru_cache(maxsize=1)
def _matched_limit() -> float:
    """Return the CUSUM limit with as many false alarms as 3 sd limits."""
    return design_cusum(0.5, 370.398)


def _wanted(arl0: float) -> float:
    """Return the run length wanted, within what the quadrature does well."""
    length = above_zero(arl0, "arl0")
    if not 2.0 <= length <= 1e6:  # noqa: PLR2004  range of the quadrature
        raise BadInput(
            f"arl0 is {length:g}; give 2 to 1000000.",
            field="arl0",
            given=arl0,
            allowed="2 to 1000000",
        )
    return length


def _limit(length_at: Callable[[float], float], wanted: float) -> float:
    """Return the limit with the wanted run length, on its logarithm."""
    from scipy.optimize import brentq  # noqa: PLC0415  heavy library, loaded when asked

    def gap(limit: float) -> float:
        return math.log(length_at(limit)) - math.log(wanted)

    low, high = 1e-3, 4.0
    if gap(low) >= 0.0:
        return low
    while gap(high) < 0.0:
        high *= 1.5
    return float(brentq(gap, low, high, xtol=1e-10))
