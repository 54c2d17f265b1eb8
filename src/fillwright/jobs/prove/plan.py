"""Planning a proving run: how many shots, or which looks, and what that can show."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

import numpy as np

from fillwright.records.entities import JobFacts
from fillwright.records.entries import ProofJudged, ProofPlanned
from fillwright.records.fold import JobState
from fillwright.science.proof import default_shots, prove_plan, tolerance_factor
from fillwright.science.sequential import SequentialPlan, sequential_plan

__all__ = [
    "claim_of",
    "few_words",
    "half_g",
    "looks_for",
    "passes_words",
    "plan_after",
    "plan_first",
    "plan_looks",
    "planned",
    "planned_after",
    "science_plan",
    "tries_before",
]

_FEWEST: Final = 2
_LEAST_AGAIN: Final = 8
_MOST: Final = 60
_LOOKS: Final = (8, 12, 16, 24, 32, 48)
_LOOKS_SEED: Final = 20_417
_HALF_SHARE: Final = 0.5


def half_g(facts: JobFacts) -> float:
    """Return half the width of the claim in grams."""
    return float(facts.aim_g * facts.claim_pct) / 100


def claim_of(facts: JobFacts) -> tuple[float, float]:
    """Return content and confidence of the claim as shares."""
    return float(facts.claim_content_pct) / 100, float(facts.claim_confidence_pct) / 100


def tries_before(state: JobState) -> int:
    """Return how many proving runs of this claim the job has on record."""
    return state.tries


def planned(facts: JobFacts) -> tuple[int, str]:
    """Return how many shots to plan, and why."""
    tolerance = float(facts.claim_pct)
    content, confidence = claim_of(facts)
    expected = None if facts.expected_sd_pct is None else float(facts.expected_sd_pct)
    shots = default_shots(
        expected_sd=expected, tolerance=tolerance, content=content, confidence=confidence
    )
    if shots > facts.lot_size:
        few = max(facts.lot_size, _FEWEST)
        return few, f"The lot has only {facts.lot_size}, so {few} shots; {shots} would show more."
    if expected is None:
        return shots, f"Nothing is known of the spread yet, so {shots} shots."
    return shots, f"For an expected spread of {expected:g} % of the dose, {shots} shots."


def planned_after(facts: JobFacts, last: ProofJudged) -> tuple[int, str, bool]:
    """Return how many shots a new run needs, why, and whether they are likely to show it."""
    spread_g = last.spread_g if last.spread_g is not None else last.spread_upper_g
    if spread_g is None or spread_g <= 0:
        shots, because = planned(facts)
        return shots, because, True
    content, confidence = claim_of(facts)
    plan = prove_plan(
        spread_g,
        offset=last.mean_g - float(facts.aim_g),
        tolerance=half_g(facts),
        content=content,
        confidence=confidence,
    )
    most = max(min(_MOST, facts.lot_size), _FEWEST)
    if plan.n is None or plan.n > most:
        words = (
            f"With this spread {most} shots will hardly show it: bring the spread or the middle "
            "right first."
        )
        return most, words, False
    shots = max(plan.n, _LEAST_AGAIN)
    return shots, f"With the spread just measured, {shots} shots.", True


def plan_first(state: JobState) -> ProofPlanned:
    """Return the plan of a run with one verdict at its end."""
    shots, because = planned(state.known)
    return _plan(state, shots, because)


def plan_after(state: JobState, last: ProofJudged) -> ProofPlanned:
    """Return the plan of a run after one that is judged; looks again where that one had some."""
    if state.proof_plan is not None and state.proof_plan.looks:
        return plan_looks(state)
    shots, because, _ = planned_after(state.known, last)
    return _plan(state, shots, because)


def looks_for(facts: JobFacts) -> tuple[int, ...]:
    """Return the looks that are offered; none where the lot or the claim leaves no room."""
    looks = tuple(n for n in _LOOKS if n <= facts.lot_size)
    least = 2
    is_more_than_half = float(facts.claim_content_pct) / 100 > _HALF_SHARE
    return looks if len(looks) >= least and is_more_than_half else ()


def plan_looks(state: JobState) -> ProofPlanned:
    """Return the plan of a run that may end early at looks chosen now."""
    facts = state.known
    content, confidence = claim_of(facts)
    looks = looks_for(facts)
    found = _looked(looks, content, confidence)
    return ProofPlanned(
        shots=looks[-1],
        claim_pct=facts.claim_pct,
        content_pct=facts.claim_content_pct,
        confidence_pct=facts.claim_confidence_pct,
        because=f"Looks at {_listed(looks)} shots, chosen before the first; it ends at the first "
        "that decides.",
        attempt=tries_before(state) + 1,
        looks=looks,
        looks_factor=found.factors,
        futile_looks_factor=found.futile_factors,
        look_confidence_share=found.look_confidence,
        looks_seed=_LOOKS_SEED,
    )


def science_plan(plan: ProofPlanned) -> SequentialPlan:
    """Return a plan with looks as science takes it: the figures are those on record."""
    content, confidence = float(plan.content_pct) / 100, float(plan.confidence_pct) / 100
    return SequentialPlan(
        looks=plan.looks,
        factors=plan.looks_factor,
        futile_factors=plan.futile_looks_factor,
        content=content,
        confidence=confidence,
        look_confidence=plan.look_confidence_share or confidence,
        offsets=(),
        false_claims=(),
        standard_error=0.0,
        runs=0,
        assumptions=(
            (
                "The looks were chosen before the first shot; nobody stops or goes on for other "
                "reasons."
            ),
            "Doses are normal and independent, and the machine stays as it was.",
            "All readings of the run are here; none was left out for its value.",
        ),
        equation="exact normal tolerance factor; confidence per look by drawn runs",
        because=plan.because,
    )


def passes_words(facts: JobFacts, shots: int, factor: float | None = None) -> str:
    """Return what so many shots need to prove the claim."""
    content, confidence = claim_of(facts)
    k = factor or tolerance_factor(shots, content=content, confidence=confidence)
    return (
        f"{shots} shots prove it if their spread stays under {half_g(facts) / k:.2g} g with the "
        "middle on the aim, less where it is off."
    )


def few_words(shots: int) -> str:
    """Return what so many good shots by themselves cannot show."""
    missed = -math.expm1(math.log(_HALF_SHARE) / shots)
    return (
        f"All {shots} inside shows little by itself: a machine that misses one in "
        f"{round(1 / missed)} fills {shots} good ones in a row half of the time."
    )


def _plan(state: JobState, shots: int, because: str) -> ProofPlanned:
    """Return a plan with the claim it is for."""
    facts = state.known
    return ProofPlanned(
        shots=shots,
        claim_pct=facts.claim_pct,
        content_pct=facts.claim_content_pct,
        confidence_pct=facts.claim_confidence_pct,
        because=because,
        attempt=tries_before(state) + 1,
    )


@lru_cache(maxsize=16)
def _looked(looks: tuple[int, ...], content: float, confidence: float) -> SequentialPlan:
    """Return what is enough at each look, from the same chance every time."""
    rng = np.random.Generator(np.random.PCG64(_LOOKS_SEED))
    return sequential_plan(looks, content=content, confidence=confidence, rng=rng)


def _listed(looks: tuple[int, ...]) -> str:
    """Return numbers as people list them."""
    return ", ".join(str(n) for n in looks[:-1]) + f" and {looks[-1]}"
