"""What the life of a seal means: when to change it, the chance of failing, spares to keep."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from scipy.optimize import brentq
from scipy.special import gamma, gammainc, pdtr

from fillwright.errors import OutsideModel
from fillwright.science.given import above_zero, finite, not_negative, share

__all__ = [
    "AgePolicy",
    "ChangeAdvice",
    "Spares",
    "age_replacement",
    "change_advice",
    "cost_rate",
    "failure_within",
    "mean_life",
    "spares",
]

_NOBODY_LEFT: Final = 1e-9
_MOST_SPARES: Final = 1_000_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class AgePolicy:
    """The best age to change a seal at.

    Attributes
    ----------
    age : float or None
        Best age; None means run to failure. [cycles]
    cost_rate : float
        Mean cost at that policy. [cost/cycle]
    run_to_failure_rate : float
        Mean cost where every seal runs to failure. [cost/cycle]
    """

    age: float | None
    cost_rate: float
    run_to_failure_rate: float


class ChangeAdvice(StrEnum):
    """What to do with a seal while the machine is open."""

    CHANGE_NOW = "change now"
    LEAVE = "leave it in"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spares:
    """Spares to keep.

    Attributes
    ----------
    stock : int
        Least number on the shelf.
    achieved : float
        Chance that they last the lead time. [1]
    """

    stock: int
    achieved: float


def failure_within(shape: float, scale: float, *, age: float, horizon: float) -> float:
    """Return the chance that a seal of some age fails within the next cycles.

    Parameters
    ----------
    shape : float
        Weibull shape. [1]
    scale : float
        Weibull scale. [cycles]
    age : float
        Cycles run. [cycles]
    horizon : float
        Cycles to come. [cycles]

    Returns
    -------
    float
        Chance. [1]

    Raises
    ------
    BadInput
        If shape or scale is not above zero, or age or horizon is negative.
    """
    above_zero(shape, "shape")
    above_zero(scale, "scale")
    not_negative(age, "age")
    not_negative(horizon, "horizon")
    grown = _power((age + horizon) / scale, shape) - _power(age / scale, shape)
    return -math.expm1(-grown) if math.isfinite(grown) else 1.0


def mean_life(shape: float, scale: float) -> float:
    """Return the mean of a Weibull life.

    Parameters
    ----------
    shape : float
        Weibull shape. [1]
    scale : float
        Weibull scale. [cycles]

    Returns
    -------
    float
        Mean life. [cycles]
    """
    return scale * float(gamma(1.0 + 1.0 / shape))


def cost_rate(
    age: float, *, shape: float, scale: float, cost_planned: float, cost_failure: float
) -> float:
    """Return the mean cost of changing at an age or at failure, whichever comes first.

    Parameters
    ----------
    age : float
        Age of the planned change. [cycles]
    shape : float
        Weibull shape. [1]
    scale : float
        Weibull scale. [cycles]
    cost_planned, cost_failure : float
        Cost of a planned change and of a failure. [cost]

    Returns
    -------
    float
        Mean cost. [cost/cycle]
    """
    failed = -math.expm1(-_power(age / scale, shape))
    run = _mean_run(age, shape, scale)
    return float((cost_planned * (1.0 - failed) + cost_failure * failed) / run)


def age_replacement(
    shape: float, scale: float, *, cost_planned: float, cost_failure: float
) -> AgePolicy:
    """Return the age at which a planned change costs least in the long run.

    Parameters
    ----------
    shape : float
        Weibull shape. [1]
    scale : float
        Weibull scale. [cycles]
    cost_planned, cost_failure : float
        Cost of a planned change and of a failure. [cost]

    Returns
    -------
    AgePolicy
        Age and cost rates; no age where running to failure is as good.

    Raises
    ------
    BadInput
        If a figure is not above zero.

    Notes
    -----
    Age replacement of Barlow and Hunter 1960 (from memory): h(t) m(t) - F(t) = Cp/(Cf - Cp).
    """
    for value, field in (
        (shape, "shape"),
        (scale, "scale"),
        (cost_planned, "cost_planned"),
        (cost_failure, "cost_failure"),
    ):
        above_zero(value, field)
    to_failure = cost_failure / mean_life(shape, scale)
    never = AgePolicy(age=None, cost_rate=to_failure, run_to_failure_rate=to_failure)
    if shape <= 1.0 or cost_failure <= cost_planned:
        return never
    ratio = cost_planned / (cost_failure - cost_planned)

    def gain(log_age: float) -> float:
        age = math.exp(log_age)
        hazard = shape / scale * (age / scale) ** (shape - 1.0)
        failed = -math.expm1(-_power(age / scale, shape))
        return float(hazard * _mean_run(age, shape, scale) - failed - ratio)

    last = math.log(scale) + math.log(-math.log(_NOBODY_LEFT)) / shape
    if gain(last) <= 0.0:
        return never
    first = math.log(scale) - 700.0 / shape
    best = math.exp(float(brentq(gain, max(first, -600.0), last, xtol=1e-13, rtol=1e-13)))
    rate = cost_rate(
        best, shape=shape, scale=scale, cost_planned=cost_planned, cost_failure=cost_failure
    )
    return AgePolicy(age=best, cost_rate=rate, run_to_failure_rate=to_failure)


def change_advice(policy: AgePolicy, *, age: float, until_next_strip: float) -> ChangeAdvice:
    """Say whether a seal is changed now that the machine is open.

    Parameters
    ----------
    policy : AgePolicy
        The best age.
    age : float
        Cycles run. [cycles]
    until_next_strip : float
        Cycles expected until the machine is opened again. [cycles]

    Returns
    -------
    ChangeAdvice
        Change now where the best age would be passed before the next strip.
    """
    finite(age, "age")
    if policy.age is None or age <= 0.0:
        return ChangeAdvice.LEAVE
    passed = age + until_next_strip > policy.age
    return ChangeAdvice.CHANGE_NOW if passed else ChangeAdvice.LEAVE


def spares(mean_demand: float, service: float) -> Spares:
    """Return the least stock that lasts the lead time with a given chance.

    Parameters
    ----------
    mean_demand : float
        Mean number used in the lead time. [1]
    service : float
        Chance wanted that the stock lasts. [1]

    Returns
    -------
    Spares
        Stock and the chance that it gives.

    Raises
    ------
    BadInput
        If the demand is negative or the chance not between 0 and 1.
    OutsideModel
        If the demand is beyond a million.
    """
    not_negative(mean_demand, "mean_demand")
    share(service, "service")
    if mean_demand > _MOST_SPARES:
        raise OutsideModel(
            "mean_demand: over a million spares in a lead time is not a shelf of seals.",
            field="mean_demand",
            given=mean_demand,
            allowed="up to 1000000",
        )
    low, high = -1, 8
    while float(pdtr(high, mean_demand)) < service:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (
            (low, middle) if float(pdtr(middle, mean_demand)) >= service else (middle, high)
        )
    return Spares(stock=high, achieved=float(pdtr(high, mean_demand)))


def _mean_run(age: float, shape: float, scale: float) -> float:
    """Return the mean cycles run up to an age: the integral of survival. [cycles]."""
    inverse = 1.0 / shape
    whole = scale * float(gamma(1.0 + inverse))
    return whole * float(gammainc(inverse, _power(age / scale, shape)))


def _power(base: float, exponent: float) -> float:
    """Return a power, infinite where it is too large to hold. [1]."""
    if base <= 0.0:
        return 0.0
    log = exponent * math.log(base)
    return math.exp(log) if log < 700.0 else math.inf  # noqa: PLR2004  the largest exponent
