"""What some readings prove about single doses.

Normal tolerance interval against the claim "so many in a hundred doses within the tolerance".
Four good readings prove very little; "cannot say yet" and "cannot be true" are verdicts too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from fillwright.science.content import content_upper_bound
from fillwright.science.given import above_zero, not_negative, readings_in_order, share
from fillwright.science.order import OrderTests, order_tests
from fillwright.science.proof_plan import ProofPlan, default_shots, prove_chance, prove_plan
from fillwright.science.rounding import spread_behind
from fillwright.science.spread import sd_interval
from fillwright.science.tolerance import (
    content_proved,
    distribution_free_content,
    distribution_free_n,
    tolerance_factor,
)

__all__ = [
    "OrderTests",
    "ProofPlan",
    "ProofResult",
    "ProofVerdict",
    "default_shots",
    "distribution_free_content",
    "distribution_free_n",
    "order_tests",
    "prove",
    "prove_chance",
    "prove_plan",
    "tolerance_factor",
]


class ProofVerdict(StrEnum):
    """What a proving run shows."""

    PROVED = "proved"
    NOT_PROVED = "not-proved"
    NOT_STEADY = "not-steady"
    IMPOSSIBLE = "impossible"
    SCALE_TOO_COARSE = "scale-too-coarse"


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofResult:
    """What a proving run shows about the claim.

    Attributes
    ----------
    verdict : ProofVerdict
        Proved, not proved, not steady, impossible, or scale too coarse.
    n : int
        Number of readings.
    mean : float
        Mean reading. [kg]
    sd : float
        Sample sd of the readings as they are, divisor n - 1, rounding included. [kg]
    spread : float or None
        Sd of the doses behind the rounded readings; none where the step is above 1.5 sample
        sds, so that only a bound means something. [kg]
    spread_upper : float or None
        One-sided 95 % upper bound of it; none where all readings are equal and the step is
        not known. [kg]
    k : float
        Exact two-sided tolerance factor. [1]
    k_one_sided : float
        Exact one-sided tolerance factor: so many of the doses above mean less, or below mean
        plus, so many sds; one of the two, not both. [1]
    free_content : float
        Share of doses between the smallest and the largest reading that so many readings
        prove, whatever the shape of the distribution. [1]
    free_n : int
        Readings that would prove the content claimed by their extremes alone.
    half_width : float
        k times sd: the tolerance interval is mean plus and minus this. [kg]
    half_width_share : float
        The same as a share of the target. [1]
    claim_half_width : float
        Smallest tolerance about the target that these readings prove. [kg]
    sd_interval : tuple of float
        Two-sided 95 % interval of the true sd. [kg]
    mean_interval : tuple of float
        Two-sided 95 % interval of the true mean. [kg]
    content_provable : float
        Largest share inside the tolerance that these readings prove. [1]
    content_upper : float
        One-sided 95 % upper bound of the share inside. [1]
    target : float
        Target dose. [kg]
    tolerance : float
        Tolerance about the target. [kg]
    content : float
        Share of single doses claimed inside. [1]
    confidence : float
        Confidence of the claim. [1]
    order_tests : OrderTests
        Whether the run was steady.
    equation : str
        Where the equations come from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        The verdict in one sentence.
    """

    verdict: ProofVerdict
    n: int
    mean: float
    sd: float
    spread: float | None
    spread_upper: float | None
    k: float
    k_one_sided: float
    free_content: float
    free_n: int
    half_width: float
    half_width_share: float
    claim_half_width: float
    sd_interval: tuple[float, float]
    mean_interval: tuple[float, float]
    content_provable: float
    content_upper: float
    target: float
    tolerance: float
    content: float
    confidence: float
    order_tests: OrderTests
    equation: str
    assumptions: tuple[str, ...]
    because: str


def prove(
    readings: ArrayLike,
    *,
    target: float,
    tolerance: float,
    content: float = 0.99,
    confidence: float = 0.95,
    readability: float = 0.0,
) -> ProofResult:
    """Return what the readings of a proving run show about the claim.

    Parameters
    ----------
    readings : array_like, shape (n,)
        All readings of the run, in time order. [kg]
    target : float
        Target dose. [kg]
    tolerance : float
        Half width of the claim about the target. [kg]
    content : float
        Share of single doses claimed inside. [1]
    confidence : float
        Confidence of the claim. [1]
    readability : float
        Step of the weighing scale; zero where it is not known. [kg]

    Returns
    -------
    ProofResult
        The verdict with all figures behind it.

    Raises
    ------
    BadInput
        If there are fewer than two readings or a figure cannot be used.

    Notes
    -----
    Decided in this order. Scale too coarse: the step is above 1.5 sample sds, all readings
    are equal or in two neighbouring steps, or the rounding of the step alone would fill the
    tolerance. Not steady: the order tests jointly at 2 % false alarm. Impossible: the 95 %
    upper bound of the share inside is below the claim. Proved: both ends of the exact
    tolerance interval are inside. Else not proved.

    Examples
    --------
    >>> four = [0.498, 0.502, 0.500, 0.500]
    >>> answer = prove(four, target=0.5, tolerance=0.005)
    >>> answer.verdict.value, round(1e3 * answer.half_width, 2)
    ('not-proved', 13.42)
    """
    row = readings_in_order(readings, "readings", at_least=2)
    aim, band = above_zero(target, "target"), above_zero(tolerance, "tolerance")
    claim, sure = share(content, "content"), share(confidence, "confidence")
    step = not_negative(readability, "readability")
    n = row.size
    mean = float(np.mean(row))
    sd = math.sqrt(float(np.sum((row - mean) ** 2)) / (n - 1))
    if float(np.ptp(row)) == 0.0:
        sd = 0.0
    k = tolerance_factor(n, content=claim, confidence=sure)
    off = mean - aim
    tests = order_tests(row)
    spread, spread_upper = spread_behind(row, readability=step)
    upper = content_upper_bound(off, sd, n, tolerance=band)
    width = k * sd
    if spread is None or k * step / math.sqrt(12.0) > band:
        verdict = ProofVerdict.SCALE_TOO_COARSE
    elif not tests.steady:
        verdict = ProofVerdict.NOT_STEADY
    elif upper < claim:
        verdict = ProofVerdict.IMPOSSIBLE
    elif abs(off) + width <= band:
        verdict = ProofVerdict.PROVED
    else:
        verdict = ProofVerdict.NOT_PROVED
    factor = (band - abs(off)) / sd if sd > 0.0 else math.copysign(math.inf, band - abs(off))
    return ProofResult(
        verdict=verdict,
        n=n,
        mean=mean,
        sd=sd,
        spread=spread,
        spread_upper=spread_upper,
        k=k,
        k_one_sided=tolerance_factor(n, content=claim, confidence=sure, sides=1),
        free_content=distribution_free_content(n, sure),
        free_n=distribution_free_n(claim, sure),
        half_width=width,
        half_width_share=width / aim,
        claim_half_width=abs(off) + width,
        sd_interval=sd_interval(sd, n),
        mean_interval=_mean_interval(mean, sd, n),
        content_provable=content_proved(factor, n, confidence=sure),
        content_upper=upper,
        target=aim,
        tolerance=band,
        content=claim,
        confidence=sure,
        order_tests=tests,
        equation="exact two-sided normal tolerance interval (Wald and Wolfowitz 1946)",
        assumptions=(
            "Doses are normal and independent, and the machine stays as it was.",
            "All readings of the run are here; none was left out for its value.",
        ),
        because=_because(verdict, claim, sure, 1e2 * band / aim, tests),
    )


def _because(
    verdict: ProofVerdict, claim: float, sure: float, percent: float, tests: OrderTests
) -> str:
    """Return the verdict in one sentence."""
    said = f"{1e2 * claim:.4g} in a hundred doses within ±{percent:.3g} %"
    return {
        ProofVerdict.PROVED: f"{said}: shown, with {1e2 * sure:.4g} % confidence.",
        ProofVerdict.NOT_PROVED: f"{said}: not shown; more or steadier readings are needed.",
        ProofVerdict.NOT_STEADY: f"The run proves nothing. {tests.because}",
        ProofVerdict.IMPOSSIBLE: f"{said}: does not hold; these readings speak against it.",
        ProofVerdict.SCALE_TOO_COARSE: "The scale is too coarse to see this scatter: "
        "take a finer one.",
    }[verdict]


def _mean_interval(mean: float, sd: float, n: int) -> tuple[float, float]:
    """Return the two-sided 95 % interval of the true mean, by Student's t."""
    from scipy.special import stdtrit  # noqa: PLC0415  heavy library, loaded when asked

    half = float(stdtrit(n - 1.0, 0.975)) * sd / math.sqrt(n)
    return (mean - half, mean + half)
