"""What one more of a row would have weighed: a prediction interval for a dose nobody weighed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy import stats

from fillwright.errors import BadInput

__all__ = ["OneMore", "one_more"]

_LEAST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class OneMore:
    """Where one more lies.

    Parameters
    ----------
    mean, sd : float
        Average and standard deviation of the row. [kg]
    n : int
        How many there were.
    low, high : float
        Ends of the interval. [kg]
    confidence : float
        Share of such intervals that hold the one more. [1]
    """

    mean: float
    sd: float
    n: int
    low: float
    high: float
    confidence: float


def one_more(
    values: Sequence[float], *, confidence: float = 0.95, beside_sd: float = 0.0
) -> OneMore:
    """Return where one more of the same row lies.

    The two-sided prediction interval for one further observation of a normal row, mean ± t s
    √(1 + 1/n) with n - 1 degrees of freedom; the form is that of the documentation of the
    EnvStats package (``predIntNorm``). What all of the row share (the average empty, the check
    of the scale) is added as a half width of its own, in quadrature.

    Parameters
    ----------
    values : sequence of float
        The row of weights; three or more. [kg]
    confidence : float
        Share of such intervals that hold the one more, between 0 and 1. [1]
    beside_sd : float
        Standard uncertainty that all values share. [kg]

    Returns
    -------
    OneMore
        The interval.

    Raises
    ------
    BadInput
        If there are fewer than three values, one is not finite, or the confidence cannot be.
    """
    n = len(values)
    if n < _LEAST:
        message = f"{n} weights say too little of one more. Give three or more."
        raise BadInput(message, field="values", given=n, allowed="3 or more", code="range")
    if not all(math.isfinite(value) for value in (*values, beside_sd)):
        message = "A weight is not a finite number. Give finite numbers."
        raise BadInput(message, field="values", code="not-finite")
    if not 0.0 < confidence < 1.0:
        message = f"A confidence of {confidence} cannot be. Give one between 0 and 1."
        raise BadInput(message, field="confidence", given=confidence, allowed="0 to 1")
    mean = math.fsum(values) / n
    sd = math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (n - 1))
    quantile = float(stats.t.ppf(0.5 + confidence / 2, n - 1))
    shared = float(stats.norm.ppf(0.5 + confidence / 2)) * beside_sd
    half = math.hypot(quantile * sd * math.sqrt(1 + 1 / n), shared)
    return OneMore(mean=mean, sd=sd, n=n, low=mean - half, high=mean + half, confidence=confidence)
