"""Exact normal tolerance factors, and what a sample proves of the share inside a band.

Own quadrature of the classical equations; tables of the same factors are in ISO 16269-6.
Nothing here covers readings that are not normal, but for `distribution_free_n`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.science.content import content_chance
from fillwright.science.given import above_zero, share, whole
from fillwright.science.spread import chi_density

__all__ = [
    "content_proved",
    "distribution_free_content",
    "distribution_free_n",
    "tolerance_factor",
]

_Floats = NDArray[np.float64]

_ROOT_2PI = math.sqrt(2.0 * math.pi)
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(80)
_NODES_LONG, _WEIGHTS_LONG = np.polynomial.legendre.leggauss(200)
_FAR = 8.0
_TINY = 1e-15
_LARGEST_POINT = 8.0
_SHARP = 20.0


def tolerance_factor(
    n: int, *, content: float, confidence: float, sides: int = 2, df: float | None = None
) -> float:
    """Return the exact factor k of a normal tolerance interval, mean plus and minus k sd.

    Parameters
    ----------
    n : int
        Readings behind the mean.
    content : float
        Share of single doses that the interval holds. [1]
    confidence : float
        Confidence that it holds so many. [1]
    sides : int
        2 for both limits, 1 for one limit only.
    df : float or None
        Degrees of freedom of the sd where it is pooled; none for n - 1. [1]

    Returns
    -------
    float
        The factor k. [1]

    Raises
    ------
    BadInput
        If a figure cannot be used; n = 1 needs `df`.

    Notes
    -----
    Two-sided, equation of [1]_: the mean over z ~ N(0, 1/n) of P(χ²_ν > ν r(z)²/k²) equals
    the confidence, where Φ(z + r) - Φ(z - r) is the content. One-sided: noncentral t,
    as the mean over the sd of Φ(√n (k s - z_p)). Gauss-Legendre with 80 nodes; [2]_ tables
    the same factors (scope read, table not opened).

    References
    ----------
    .. [1] Wald and Wolfowitz, Tolerance limits for a normal distribution, Ann. Math. Stat.
       17 (1946); Odeh and Owen, Tables for normal tolerance limits (1980); from memory.
    .. [2] ISO 16269-6:2014.

    Examples
    --------
    >>> round(tolerance_factor(43, content=0.90, confidence=0.99), 4)
    2.2228
    """
    free = _degrees(n, df)
    inside, sure = share(content, "content"), share(confidence, "confidence")
    if sides not in {1, 2}:
        raise BadInput(
            f"sides is {sides}; give 1 or 2.",
            field="sides",
            given=sides,
            allowed="1 or 2",
            code="choice",
        )
    return _factor(int(n), inside, sure, sides, free)


def distribution_free_n(content: float, confidence: float, *, sides: int = 2) -> int:
    """Return how many readings prove a content by their extremes, whatever the shape.

    Parameters
    ----------
    content : float
        Share of single doses between the smallest and largest (beyond one of them). [1]
    confidence : float
        Confidence of the claim. [1]
    sides : int
        2 for both extremes, 1 for one.

    Returns
    -------
    int
        Smallest number of readings.

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    Two-sided confidence 1 - n pⁿ⁻¹ + (n - 1) pⁿ, one-sided 1 - pⁿ [1]_.

    References
    ----------
    .. [1] Wilks, Determination of sample sizes for setting tolerance limits, Ann. Math.
       Stat. 12 (1941); from memory.

    Examples
    --------
    >>> distribution_free_n(0.99, 0.95)
    473
    """
    p, sure = share(content, "content"), share(confidence, "confidence")
    if sides == 1:
        n = max(1, math.ceil(math.log1p(-sure) / math.log(p)) - 1)
        return n if 1.0 - p**n >= sure else n + 1
    if sides != 2:  # noqa: PLR2004  the two extremes
        raise BadInput(
            f"sides is {sides}; give 1 or 2.",
            field="sides",
            given=sides,
            allowed="1 or 2",
            code="choice",
        )

    def enough(n: int) -> bool:
        return n * p ** (n - 1) - (n - 1) * p**n <= 1.0 - sure

    return _smallest(enough, start=2)


def distribution_free_content(n: int, confidence: float, *, sides: int = 2) -> float:
    """Return the content that the extremes of some readings prove, whatever the shape.

    Parameters
    ----------
    n : int
        Readings.
    confidence : float
        Confidence of the claim. [1]
    sides : int
        2 for both extremes, 1 for one.

    Returns
    -------
    float
        Largest share of single doses between the smallest and largest (beyond one). [1]

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    The same equations as `distribution_free_n`, solved for the content: a beta quantile.

    Examples
    --------
    >>> round(distribution_free_content(473, 0.95), 4)
    0.99
    """
    from scipy.special import betaincinv  # noqa: PLC0415  heavy library, loaded when asked

    count, sure = whole(n, "n", at_least=2), share(confidence, "confidence")
    if sides not in (1, 2):
        raise BadInput(
            f"sides is {sides}; give 1 or 2.",
            field="sides",
            given=sides,
            allowed="1 or 2",
            code="choice",
        )
    return float(betaincinv(count + 1.0 - sides, float(sides), 1.0 - sure))


def content_proved(factor: float, n: int, *, confidence: float) -> float:
    """Return the largest content that mean plus and minus `factor` sd proves.

    Parameters
    ----------
    factor : float
        How many sample sds fit between the mean and the nearer limit. [1]
    n : int
        Readings.
    confidence : float
        Confidence of the claim. [1]

    Returns
    -------
    float
        Content; zero where the mean lies outside. [1]
    """
    from scipy.optimize import brentq  # noqa: PLC0415  heavy library, loaded when asked
    from scipy.special import chdtri, ndtr  # noqa: PLC0415  heavy library, loaded when asked

    count, sure = whole(n, "n", at_least=2), share(confidence, "confidence")
    if factor <= 0.0:
        return 0.0
    if math.isinf(factor):
        return 1.0

    def surplus(point: float) -> float:
        inside = 2.0 * float(ndtr(point)) - 1.0
        return _confidence(factor, count, _half_widths(inside, count), count - 1.0) - sure

    spread = math.sqrt((count - 1.0) / float(chdtri(count - 1.0, sure)) * (1.0 + 1.0 / count))
    low = high = min(factor / spread, _LARGEST_POINT)
    while surplus(low) < 0.0:
        low *= 0.8
        if low < _TINY:
            return 0.0
    while surplus(high) > 0.0:
        high *= 1.25
        if high > _LARGEST_POINT:
            return 1.0
    return 2.0 * float(ndtr(brentq(surplus, low, high, xtol=1e-12))) - 1.0


def _degrees(n: int, df: float | None) -> float:
    """Return the degrees of freedom of the sd, n - 1 unless pooled."""
    if df is None:
        return whole(n, "n", at_least=2) - 1.0
    whole(n, "n", at_least=1)
    return above_zero(df, "df")


@lru_cache(maxsize=4096)
def _factor(n: int, content: float, confidence: float, sides: int, df: float) -> float:
    """Return the factor by root-finding on the confidence of a trial factor."""
    from scipy.optimize import brentq  # noqa: PLC0415  heavy library, loaded when asked
    from scipy.special import chdtri, ndtri  # noqa: PLC0415  heavy library, loaded when asked

    shrink = math.sqrt(df / float(chdtri(df, confidence)))
    if sides == 1:
        point = float(ndtri(content))
        start = point * shrink

        def surplus(k: float) -> float:
            return _confidence_one_sided(k, n, point, df) - confidence

        step = shrink / math.sqrt(n) + 0.1 * abs(start)
        low, high = start - step, start + step
        while surplus(low) > 0.0:
            low -= (step := 2.0 * step)
        while surplus(high) < 0.0:
            high += (step := 2.0 * step)
        return float(brentq(surplus, low, high, xtol=1e-13, rtol=1e-13))
    widths = _half_widths(content, n)
    start = float(ndtri(0.5 * (1.0 + content))) * math.sqrt(1.0 + 1.0 / n) * shrink

    def excess(log_k: float) -> float:
        k = math.exp(log_k)
        if df > _SHARP * n:
            # A pooled sd is so well known that the first order of integration has a step.
            return (
                content_chance(content, offset=0.0, sd=1.0, n=n, tolerance=k, df=df) - confidence
            )
        return _confidence(k, n, widths, df) - confidence

    low = high = math.log(start)
    while excess(low) > 0.0:
        low -= 0.2
    while excess(high) < 0.0:
        high += 0.2
    return math.exp(float(brentq(excess, low, high, xtol=1e-13)))


def _nodes(n: int) -> _Floats:
    """Return the quadrature nodes for the mean, in sds of a dose."""
    return np.asarray(_FAR / math.sqrt(n) * 0.5 * (_NODES + 1.0))


def _half_widths(content: float, n: int) -> _Floats:
    """Return the half widths about the nodes that hold the content, by bisection.

    The upper end of the bracket always holds enough, so no start value can fail.
    """
    from scipy.special import ndtr, ndtri  # noqa: PLC0415  heavy library, loaded when asked

    z = _nodes(n)
    half = float(ndtri(0.5 * (1.0 + content)))
    # Both are lower bounds, and Newton from below does not overshoot above half the content.
    low, high = np.maximum(half, z + float(ndtri(content))), z + half
    at = low
    for _ in range(60):
        gap = ndtr(z + at) - ndtr(z - at) - content
        rise = (np.exp(-0.5 * (z + at) ** 2) + np.exp(-0.5 * (z - at) ** 2)) / _ROOT_2PI
        high = np.where(gap >= 0.0, at, high)
        low = np.where(gap < 0.0, at, low)
        new = at - gap / rise
        new = np.where((new >= low) & (new <= high), new, 0.5 * (low + high))
        if float(np.max(np.abs(new - at))) <= 1e-13 * (1.0 + float(high[-1])):
            return np.asarray(new)
        at = new
    return np.asarray(at)


def _confidence(k: float, n: int, widths: _Floats, df: float) -> float:
    """Return the confidence that mean plus and minus k sd holds the content."""
    from scipy.special import chdtrc  # noqa: PLC0415  heavy library, loaded when asked

    z = _nodes(n)
    span = _FAR / math.sqrt(n)
    density = 2.0 * math.sqrt(n) / _ROOT_2PI * np.exp(-0.5 * n * z**2)
    return float(np.sum(0.5 * span * _WEIGHTS * density * chdtrc(df, df * (widths / k) ** 2)))


def _confidence_one_sided(k: float, n: int, point: float, df: float) -> float:
    """Return the confidence that mean plus k sd lies beyond the content's point."""
    from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

    wide = 10.0 / math.sqrt(2.0 * df)
    low, high = max(0.0, 1.0 - wide), 1.0 + wide
    # The factor of few readings makes a steep step at a small sd: give it its own panel.
    steep = (abs(point) + _FAR / math.sqrt(n)) / max(abs(k), 1e-300)
    ends = [low, steep, high] if low < steep < high else [low, high]
    total = 0.0
    for begin, end in itertools.pairwise(ends):
        s = begin + 0.5 * (end - begin) * (_NODES_LONG + 1.0)
        inside = chi_density(s, df) * ndtr(math.sqrt(n) * (k * s - point))
        total += 0.5 * (end - begin) * float(np.sum(_WEIGHTS_LONG * inside))
    return total


def _smallest(enough: Callable[[int], bool], *, start: int) -> int:
    """Return the smallest count that is enough, by doubling and halving."""
    high = start
    while not enough(high):
        high *= 2
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return max(high, start)
