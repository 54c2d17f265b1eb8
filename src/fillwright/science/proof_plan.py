"""How many readings a proof needs, and the chance that so many succeed.

For a true sd and offset taken as known; the same arithmetic as the verdict in `proof`, less
its rejection of steady runs by chance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fillwright.science.content import content_inside
from fillwright.science.given import above_zero, finite, share, whole
from fillwright.science.spread import chi_density
from fillwright.science.tolerance import tolerance_factor

__all__ = ["ProofPlan", "default_shots", "prove_chance", "prove_plan"]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(120)
_MOST = 5000
_NOTHING_KNOWN = 30
_FEWEST_SHOTS, _MOST_SHOTS = 10, 60

_ASSUMPTIONS = (
    "Doses are normal, independent and steady.",
    "Sd and offset are as given; a steady run is called unsteady by chance in 2 % on top.",
)


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


def prove_chance(
    n: int,
    *,
    true_sd: float,
    offset: float = 0.0,
    tolerance: float,
    content: float = 0.99,
    confidence: float = 0.95,
) -> float:
    """Return the chance that a proof with so many readings succeeds.

    Parameters
    ----------
    n : int
        Readings.
    true_sd : float
        True sd of single doses. [kg]
    offset : float
        True mean less target. [kg]
    tolerance : float
        Half width of the claim about the target. [kg]
    content : float
        Share of single doses claimed inside. [1]
    confidence : float
        Confidence of the claim. [1]

    Returns
    -------
    float
        Chance that both tolerance limits lie inside. [1]

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    The mean over the sample sd of the normal chance that the mean lies within t - k s of the
    target; Gauss-Legendre. Masses only enter as ratios, so shares of the target will do too.
    """
    from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

    count = whole(n, "n", at_least=2)
    spread = above_zero(true_sd, "true_sd")
    band = above_zero(tolerance, "tolerance") / spread
    off = abs(finite(offset, "offset")) / spread
    k = tolerance_factor(count, content=content, confidence=confidence)
    free = count - 1.0
    wide = 10.0 / math.sqrt(2.0 * free)
    low, high = max(0.0, 1.0 - wide), min(1.0 + wide, band / k)
    if high <= low:
        return 0.0
    s = low + 0.5 * (high - low) * (_NODES + 1.0)
    room = band - k * s
    root = math.sqrt(count)
    inside = ndtr((room - off) * root) - ndtr((-room - off) * root)
    return min(1.0, 0.5 * (high - low) * float(np.sum(_WEIGHTS * chi_density(s, free) * inside)))


def prove_plan(
    true_sd: float,
    *,
    offset: float = 0.0,
    tolerance: float,
    content: float = 0.99,
    confidence: float = 0.95,
    power: float = 0.8,
) -> ProofPlan:
    """Return how many readings give the wanted chance of a proof.

    Parameters
    ----------
    true_sd : float
        True sd of single doses. [kg]
    offset : float
        True mean less target. [kg]
    tolerance : float
        Half width of the claim about the target. [kg]
    content : float
        Share of single doses claimed inside. [1]
    confidence : float
        Confidence of the claim. [1]
    power : float
        Wanted chance of a proof. [1]

    Returns
    -------
    ProofPlan
        Readings, or that the claim is out of reach (above 5000) or cannot be true.

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    Smallest n by halving on `prove_chance`. Masses only enter as ratios.

    Examples
    --------
    >>> prove_plan(0.25, tolerance=1.0).n
    26
    """
    wanted = share(power, "power")
    claim = share(content, "content")
    sure = share(confidence, "confidence")
    inside = content_inside(finite(offset, "offset"), true_sd, tolerance=tolerance)

    def chance(n: int) -> float:
        return prove_chance(
            n,
            true_sd=true_sd,
            offset=offset,
            tolerance=tolerance,
            content=claim,
            confidence=sure,
        )

    impossible = inside < claim
    n: int | None = None
    if impossible:
        because = (
            f"Only {inside:.2%} of doses are inside: no number of readings proves {claim:.2%}."
        )
    elif chance(_MOST) < wanted:
        because = f"Out of reach: more than {_MOST} readings would be needed."
    else:
        low, n = 1, _MOST
        while n - low > 1:
            middle = (low + n) // 2
            low, n = (low, middle) if chance(middle) >= wanted else (middle, n)
        because = f"{n} readings prove it with a chance of {chance(n):.0%}."
    return ProofPlan(
        n=n,
        impossible=impossible,
        content_true=inside,
        chance=None if n is None else chance(n),
        equation="normal tolerance interval, exact factor; chance by quadrature",
        assumptions=_ASSUMPTIONS,
        because=because,
    )


def default_shots(
    *,
    expected_sd: float | None = None,
    tolerance: float,
    content: float = 0.99,
    confidence: float = 0.95,
) -> int:
    """Return how many proving shots to plan before the first one.

    Parameters
    ----------
    expected_sd : float or None
        Sd expected of single doses, from earlier runs; none where nothing is known. [kg]
    tolerance : float
        Half width of the claim about the target. [kg]
    content : float
        Share of single doses claimed inside. [1]
    confidence : float
        Confidence of the claim. [1]

    Returns
    -------
    int
        Shots: 30 where nothing is known, else for a chance of 90 % with the mean off by a
        tenth of the tolerance, from 10 to 60; 60 also where the proof is out of reach.

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    Numbers are own design: below 10 the order tests see nothing, above 60 a person tires.
    """
    band = above_zero(tolerance, "tolerance")
    if expected_sd is None:
        return _NOTHING_KNOWN
    plan = prove_plan(
        expected_sd,
        offset=0.1 * band,
        tolerance=band,
        content=content,
        confidence=confidence,
        power=0.9,
    )
    return _MOST_SHOTS if plan.n is None else min(max(plan.n, _FEWEST_SHOTS), _MOST_SHOTS)
