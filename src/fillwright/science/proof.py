"""What some readings prove about single doses, and how many readings a proof needs.

Normal tolerance interval against the claim "so many in a hundred doses within the tolerance".
Four good readings prove very little; "cannot say yet" and "cannot be true" are verdicts too.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from numpy.typing import ArrayLike

__all__ = [
    "OrderTests",
    "ProofPlan",
    "ProofResult",
    "ProofVerdict",
    "default_shots",
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
        Sample sd, divisor n - 1. [kg]
    k : float
        Exact two-sided tolerance factor. [1]
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
    k: float
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


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofPlan:
    """How many readings a proof needs.

    Attributes
    ----------
    n : int or None
        Readings for the wanted chance; none where out of reach or impossible.
    impossible : bool
        Whether fewer doses than claimed are inside, so that no number will do.
    content_true : float
        Share of doses inside when sd and offset are as given. [1]
    chance : float or None
        Chance of proving with `n` readings; none without one. [1]
    equation : str
        Where the equations come from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        The answer in one sentence.
    """

    n: int | None
    impossible: bool
    content_true: float
    chance: float | None
    equation: str
    assumptions: tuple[str, ...]
    because: str


def tolerance_factor(
    n: int, *, content: float, confidence: float, sides: int = 2, df: float | None = None
) -> float:
    """Return the exact normal tolerance factor."""
    raise NotImplementedError


def distribution_free_n(content: float, confidence: float, *, sides: int = 2) -> int:
    """Return how many readings prove a content by their extremes alone."""
    raise NotImplementedError


def order_tests(readings: ArrayLike, *, false_alarm: float = 0.02) -> OrderTests:
    """Return whether readings in time order look steady."""
    raise NotImplementedError


def prove(
    readings: ArrayLike,
    *,
    target: float,
    tolerance: float,
    content: float = 0.99,
    confidence: float = 0.95,
    readability: float = 0.0,
) -> ProofResult:
    """Return what the readings prove; target, tolerance and readability in kg."""
    raise NotImplementedError


def prove_plan(
    true_sd: float,
    *,
    offset: float = 0.0,
    tolerance: float,
    content: float = 0.99,
    confidence: float = 0.95,
    power: float = 0.8,
) -> ProofPlan:
    """Return how many readings give the wanted chance of a proof; all in one unit."""
    raise NotImplementedError


def prove_chance(
    n: int,
    *,
    true_sd: float,
    offset: float = 0.0,
    tolerance: float,
    content: float = 0.99,
    confidence: float = 0.95,
) -> float:
    """Return the chance that a proof with n readings succeeds; all in one unit."""
    raise NotImplementedError


def default_shots(
    *,
    expected_sd: float | None = None,
    tolerance: float,
    content: float = 0.99,
    confidence: float = 0.95,
) -> int:
    """Return how many proving shots to plan: 30 where nothing is known."""
    raise NotImplementedError
