"""Judging a proving run: one verdict at its end, or at the planned look that decides."""

from __future__ import annotations

import zlib
from dataclasses import replace
from decimal import Decimal
from typing import Final

from fillwright.jobs.prove.plan import science_plan
from fillwright.jobs.why import spread_g
from fillwright.records.entities import JobFacts
from fillwright.records.entries import ProofJudged, ProofPlanned
from fillwright.records.units import g_from_kg, kg_from_g, pct_from_share
from fillwright.science.proof import OrderTests, ProofResult, prove
from fillwright.science.sequential import SequentialVerdict, sequential_look

__all__ = ["judged", "judged_at_look", "stopped"]

_VERDICTS: Final = {SequentialVerdict.ENOUGH: "proved"}
_JOINT: Final = 3
_FALSE_ALARM: Final = 0.02


def judged(
    facts: JobFacts, plan: ProofPlanned, readings_g: list[Decimal], aside: int, weighing_id: str
) -> ProofJudged:
    """Return the verdict on all the planned shots."""
    result = _prove(facts, plan, readings_g, float(plan.confidence_pct) / 100)
    return _from_result(result, plan, aside, weighing_id)


def judged_at_look(
    facts: JobFacts, plan: ProofPlanned, readings_g: list[Decimal], aside: int, weighing_id: str
) -> ProofJudged | None:
    """Return the verdict of a planned look; None where the run goes on.

    The figures are those of the confidence at one look; the verdict is that over all looks.
    """
    if len(readings_g) not in plan.looks:
        return None
    found = sequential_look(
        [kg_from_g(g) for g in readings_g],
        plan=science_plan(plan),
        target=kg_from_g(facts.aim_g),
        tolerance=kg_from_g(facts.aim_g * plan.claim_pct / 100),
        readability=kg_from_g(facts.scale.readability_g),
    )
    if not found.ended or found.decided_at is None:
        return None
    seen = readings_g[: found.decided_at]
    confidence = plan.look_confidence_share or float(plan.confidence_pct) / 100
    proof = _from_result(_prove(facts, plan, seen, confidence), plan, aside, weighing_id)
    return replace(
        proof,
        verdict=_VERDICTS.get(found.verdict, found.verdict.value),
        because=found.because,
        equation=found.equation,
        assumptions=found.assumptions,
        looked_at=found.decided_at,
    )


def stopped(
    facts: JobFacts, plan: ProofPlanned, readings_g: list[Decimal], state: str, aside: int
) -> ProofJudged:
    """Return a proving run that a reject stopped."""
    values = [float(g) for g in readings_g]
    mean = sum(values) / len(values)
    raw = (sum((v - mean) ** 2 for v in values) / max(len(values) - 1, 1)) ** 0.5
    spread, upper = spread_g(readings_g, facts.scale.readability_g)
    return ProofJudged(
        verdict="stopped",
        shots=len(values),
        set_aside=aside,
        mean_g=mean,
        sd_g=raw,
        k=None,
        half_width_g=None,
        half_width_pct=None,
        within_aim_g=None,
        content_provable_pct=None,
        because=f"Shot {len(values)} was {state.replace('-', ' ')}, so the {facts.claim_pct} % "
        "claim cannot stand on this run.",
        equation="none: a reject stops the run",
        spread_g=spread,
        spread_upper_g=upper,
        attempt=plan.attempt,
        confidence_left_pct=_left_pct(plan),
    )


def _prove(
    facts: JobFacts, plan: ProofPlanned, readings_g: list[Decimal], confidence: float
) -> ProofResult:
    """Ask science what the readings prove."""
    return prove(
        [kg_from_g(g) for g in readings_g],
        target=kg_from_g(facts.aim_g),
        tolerance=kg_from_g(facts.aim_g * plan.claim_pct / 100),
        content=float(plan.content_pct) / 100,
        confidence=confidence,
        readability=kg_from_g(facts.scale.readability_g),
    )


def _from_result(
    result: ProofResult, plan: ProofPlanned, aside: int, weighing_id: str
) -> ProofJudged:
    """Return the journal's form of a proof."""
    return ProofJudged(
        verdict=result.verdict.value,
        shots=result.n,
        set_aside=aside,
        mean_g=g_from_kg(result.mean),
        sd_g=g_from_kg(result.sd),
        k=result.k,
        half_width_g=g_from_kg(result.half_width),
        half_width_pct=pct_from_share(result.half_width_share),
        within_aim_g=g_from_kg(result.claim_half_width),
        content_provable_pct=pct_from_share(result.content_provable),
        because=result.because,
        equation=result.equation,
        assumptions=tuple(result.assumptions),
        spread_g=None if result.spread is None else g_from_kg(result.spread),
        spread_upper_g=None if result.spread_upper is None else g_from_kg(result.spread_upper),
        one_sided_k_factor=result.k_one_sided,
        free_content_pct=pct_from_share(result.free_content),
        free_shots=result.free_n,
        content_most_pct=pct_from_share(result.content_upper),
        causes=_causes(result.order_tests),
        attempt=plan.attempt,
        confidence_left_pct=_left_pct(plan),
        # The id of the last weight is random where it was made: the envelope's chance.
        plot_seed=zlib.crc32(weighing_id.encode()),
    )


def _left_pct(plan: ProofPlanned) -> float:
    """Return the confidence over all tries, at least: their risks added up (Bonferroni)."""
    risk = 100 - float(plan.confidence_pct)
    return max(100 - plan.attempt * risk, 0.0)


def _causes(tests: OrderTests) -> tuple[str, ...]:
    """Return what speaks against a steady run, the strongest first."""
    way = "creep-up" if tests.slope_per_dose > 0 else "creep-down"
    found = [
        (tests.p_two_sided, way),
        (tests.p_von_neumann, "alike" if (tests.lag1 or 0.0) > 0 else "by-turns"),
        (tests.p_outlier, f"shot-{tests.farthest + 1}"),
    ]
    return tuple(name for p, name in sorted(found) if _JOINT * p <= _FALSE_ALARM)
