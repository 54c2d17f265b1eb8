"""Life of seals: Weibull with censored lives, and what is known under three failures."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.optimize import brentq
from scipy.special import gammaincinv
from scipy.stats import chi2

from fillwright.errors import BadInput, OutsideModel
from fillwright.science.given import above_zero, share

__all__ = ["FEWEST_FAILURES", "WEAR_SHAPE", "LifeFit", "LifePrior", "life_prior", "weibull_fit"]

FEWEST_FAILURES: Final = 3
"""Under so many failures nothing is fitted."""
WEAR_SHAPE: Final = 2.0
"""Shape taken for wear while there is no fit; judgement. [1]"""
_JEFFREYS: Final = 0.5
_WIDEST: Final = 200.0
_FLATTEST: Final = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class LifeFit:
    """A Weibull life fitted to failures and censored lives.

    Attributes
    ----------
    shape : float
        Weibull shape; above 1 means wear. [1]
    scale : float
        Age by which 63.2 % have failed. [cycles]
    mean : float
        Mean life. [cycles]
    shape_interval : tuple of float
        Likelihood-ratio interval of the shape. [1]
    scale_interval : tuple of float
        Likelihood-ratio interval of the scale. [cycles]
    """

    shape: float
    scale: float
    mean: float
    shape_interval: tuple[float, float]
    scale_interval: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class LifePrior:
    """What may be said of a scale where too few have failed to fit a life.

    Attributes
    ----------
    shape : float
        Shape that is taken, not fitted. [1]
    scale : float
        Middle of the belief about the scale. [cycles]
    scale_interval : tuple of float
        Its interval. [cycles]
    """

    shape: float
    scale: float
    scale_interval: tuple[float, float]


def weibull_fit(
    failed: Sequence[float], censored: Sequence[float], *, confidence: float = 0.95
) -> LifeFit:
    """Return the Weibull life of greatest likelihood, with likelihood-ratio intervals.

    Parameters
    ----------
    failed : sequence of float
        Ages at failure. [cycles]
    censored : sequence of float
        Ages of seals changed, or still running, while good. [cycles]
    confidence : float
        Confidence of the intervals. [1]

    Returns
    -------
    LifeFit
        Shape, scale, mean and intervals.

    Raises
    ------
    BadInput
        If an age is not above zero, fewer than three have failed, or all ages are the same.
    OutsideModel
        If the ages fit no shape between 0.02 and 200.

    Notes
    -----
    Likelihood equations as in the NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3.
    """
    share(confidence, "confidence")
    _check(failed, censored)
    if len(failed) < FEWEST_FAILURES:
        raise BadInput(
            f"failures_cycles: {len(failed)} failures are too few to fit; at least 3 are needed.",
            field="failures_cycles",
            given=len(failed),
            allowed="3 or more",
        )
    ages = np.asarray([*failed, *censored], dtype=float)
    largest = float(ages.max())
    times, dead = ages / largest, np.asarray(failed, dtype=float) / largest
    if float(dead.min()) == 1.0:
        raise BadInput(
            "failures_cycles: all failed at the same age as the oldest; no spread of life shows.",
            field="failures_cycles",
            given=largest,
            allowed="lives that differ",
            code="inconsistent",
        )
    count, logs = dead.size, np.log(times)
    mean_log = float(np.mean(np.log(dead)))

    def slope(shape: float) -> float:
        powers = times**shape
        return float(powers @ logs / powers.sum()) - 1.0 / shape - mean_log

    shape = _root(slope, _FLATTEST, _WIDEST)

    def scale_at(shape_there: float) -> float:
        return float((np.sum(times**shape_there) / count) ** (1.0 / shape_there))

    def log_likelihood(shape_there: float, scale_there: float) -> float:
        hazard = float(np.sum((times / scale_there) ** shape_there))
        return (
            count * (math.log(shape_there) - shape_there * math.log(scale_there))
            + (shape_there - 1.0) * mean_log * count
            - hazard
        )

    scale = scale_at(shape)
    floor = log_likelihood(shape, scale) - float(chi2.ppf(confidence, 1)) / 2.0

    def excess_of_shape(there: float) -> float:
        return log_likelihood(there, scale_at(there)) - floor

    def excess_of_log_scale(log_scale: float) -> float:
        there = math.exp(log_scale)
        return log_likelihood(_shape_at(there, times, dead), there) - floor

    low, high = _ends(excess_of_shape, shape, lambda x, f: x * f)
    bottom, top = _ends(excess_of_log_scale, math.log(scale), lambda x, f: x + math.log(f))
    return LifeFit(
        shape=shape,
        scale=scale * largest,
        mean=scale * largest * math.gamma(1.0 + 1.0 / shape),
        shape_interval=(low, high),
        scale_interval=(math.exp(bottom) * largest, math.exp(top) * largest),
    )


def life_prior(
    failed: Sequence[float],
    censored: Sequence[float],
    *,
    shape: float = WEAR_SHAPE,
    expected_scale: float | None = None,
    confidence: float = 0.95,
) -> LifePrior:
    """Return what may be said of a scale when the shape is taken for granted.

    Parameters
    ----------
    failed, censored : sequence of float
        Ages at failure and ages still good. [cycles]
    shape : float
        Shape taken. [1]
    expected_scale : float, optional
        What the profile expects; it weighs as much as one failure. [cycles]
    confidence : float
        Probability inside the interval. [1]

    Returns
    -------
    LifePrior
        Median and interval of the scale.

    Raises
    ------
    BadInput
        If an age is not above zero, or nothing is known at all.

    Notes
    -----
    With the shape fixed the scale to the power of minus the shape has a gamma distribution;
    without an expectation the prior is that of Jeffreys, here a half failure at no exposure.
    """
    share(confidence, "confidence")
    above_zero(shape, "shape")
    _check(failed, censored)
    ages = [*failed, *censored]
    if not ages and expected_scale is None:
        message = "failures_cycles: no life is on record and none is expected; nothing is known."
        raise BadInput(message, field="failures_cycles", code="missing")
    largest = max([*ages, expected_scale or 0.0])
    exposure = math.fsum((age / largest) ** shape for age in ages)
    weight = _JEFFREYS + len(failed)
    if expected_scale is not None:
        above_zero(expected_scale, "expected_life_cycles")
        exposure += (expected_scale / largest) ** shape
        weight = 1.0 + len(failed)
    tail = (1.0 - confidence) / 2.0
    low, middle, high = (
        largest * (exposure / float(gammaincinv(weight, p))) ** (1.0 / shape)
        for p in (1.0 - tail, 0.5, tail)
    )
    return LifePrior(shape=shape, scale=middle, scale_interval=(low, high))


def _check(failed: Sequence[float], censored: Sequence[float]) -> None:
    """Refuse ages that are none."""
    for field, ages in (("failures_cycles", failed), ("censored_cycles", censored)):
        for age in ages:
            above_zero(age, field)


def _shape_at(scale: float, times: np.ndarray, dead: np.ndarray) -> float:
    """Return the shape of greatest likelihood for a given scale."""
    relative = np.log(times / scale)
    ours = float(np.sum(np.log(dead / scale)))

    def slope(shape: float) -> float:
        bounded = np.exp(np.minimum(shape * relative, 690.0))
        return dead.size / shape + ours - float(bounded @ relative)

    return _root(lambda shape: -slope(shape), _FLATTEST / 10.0, _WIDEST * 10.0)


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    """Return the root of a rising function, or say that the ages fit no sensible life."""
    if function(low) > 0.0 or function(high) < 0.0:
        raise OutsideModel(
            "The lives are too alike, or too far apart, for a Weibull life: check for typing "
            "errors.",
            field="failures_cycles",
            given="these lives",
            allowed=f"a shape from {_FLATTEST:g} to {_WIDEST:g}",
        )
    return float(brentq(function, low, high, xtol=1e-12, rtol=1e-12))


def _ends(
    excess: Callable[[float], float], middle: float, moved: Callable[[float, float], float]
) -> tuple[float, float]:
    """Return where a profile crosses its floor on both sides of its top."""
    ends = []
    for sign in (-1.0, 1.0):
        factor, far = 1.5, middle
        for _ in range(60):
            far = moved(middle, factor**sign)
            if excess(far) < 0.0:
                break
            factor *= 1.5
        near = sorted((middle, far))
        ends.append(float(brentq(excess, near[0], near[1], xtol=1e-12, rtol=1e-10)))
    return ends[0], ends[1]
