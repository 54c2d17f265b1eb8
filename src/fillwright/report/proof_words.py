"""Trim and proof on paper: the verdict, its figures to check by hand, its pictures."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from fillwright.records.entries import ProofJudged, ProofPlanned, TrimJudged
from fillwright.records.proofwords import spread_words, tries_words
from fillwright.records.sheets import BatchRecordSheet
from fillwright.report.blocks import Block, Pictures, formula, head, notes, para
from fillwright.report.wording import counted, exact, figure

__all__ = ["PLOT_CAPTION", "proof_by_hand", "seen_sd", "trim_and_proof"]

PLOT_CAPTION: Final = (
    "The shots against the normal line; 19 in 20 steady runs lie wholly inside the dashed lines."
)
_COARSE: Final = 1.5
_HIDDEN: Final = "hidden by the scale's step"


def seen_sd(sd_g: float, step_g: Decimal) -> str:
    """Return an sd to three digits; a step of the scale above 1.5 of it hides it."""
    return _HIDDEN if float(step_g) > _COARSE * sd_g else f"{sd_g:.3g} g"


def trim_and_proof(sheet: BatchRecordSheet, pictures: Pictures) -> list[Block]:
    """Return the results of trim and proof."""
    found: list[Block] = []
    if sheet.trim is not None:
        found += [head("Trim"), *para(_trim(sheet.trim, sheet.facts.scale.readability_g))]
    if sheet.proof is None:
        return [*found, head("Proof"), *para("No proving run was judged.")]
    caption = "Each shot of the proving run; the dashed box is where the doses stay."
    return [
        *found,
        head("Proof of repeatability"),
        *para(sheet.proof.because),
        *proof_by_hand(sheet.proof, sheet.proof_plan),
        *pictures.chart(sheet.proof_chart, caption),
        *pictures.chart(sheet.proof_plot, PLOT_CAPTION),
    ]


def _trim(fact: TrimJudged, step_g: Decimal) -> str:
    """Return the result of the trim in words."""
    return (
        f"{fact.verdict.replace('-', ' ').capitalize()} at {exact(fact.setting_marks)} in"
        f" {counted(fact.shots, 'weighed shot')}: mean {figure(fact.mean_g)} g,"
        f" s {seen_sd(fact.sd_g, step_g)}. {fact.because}"
    )


def proof_by_hand(
    proof: ProofJudged, plan: ProofPlanned | None, *, confidence_pct: Decimal | None = None
) -> list[Block]:
    """Return the figures of a proving run with their numbers filled in."""
    steps = [f"verdict: {proof.verdict.replace('-', ' ')}"]
    if plan is not None:
        steps.append(
            f"claim: {exact(plan.content_pct)} of 100 doses within"
            f" \u00b1{exact(plan.claim_pct)} %, at {exact(plan.confidence_pct)} % confidence;"
            f" {plan.shots} shots planned"
        )
        steps += _looks(proof, plan)
    aside = f", {proof.set_aside} set aside" if proof.set_aside else ""
    steps.append(f"n = {proof.shots}{aside}; mean = {figure(proof.mean_g)} g")
    if proof.verdict == "scale-too-coarse":
        words = spread_words(proof.spread_g, proof.spread_upper_g)
        steps.append(f"spread of the doses: {words}; no figure, the scale's step hides it")
    else:
        steps += _figures(proof)
    if proof.free_content_pct is not None:
        steps.append(
            f"between smallest and largest, whatever their shape ="
            f" {figure(proof.free_content_pct, places=1)} %;"
            f" {proof.free_shots} shots for the claim"
        )
    found: list[Block] = [formula(steps)]
    sure = plan.confidence_pct if plan is not None else confidence_pct
    tries = "" if sure is None else tries_words(proof, sure)
    source = f"Equation: {proof.equation}." if proof.equation else ""
    found += notes([line for line in (tries, source) if line] + list(proof.assumptions))
    return found


def _looks(proof: ProofJudged, plan: ProofPlanned) -> list[str]:
    """Return the planned looks and the one that decided."""
    if not plan.looks or plan.look_confidence_share is None:
        return []
    looks = ", ".join(str(n) for n in plan.looks)
    factors = ", ".join(figure(k, places=4) for k in plan.looks_factor)
    decided = f"; decided at {proof.looked_at}" if proof.looked_at is not None else ""
    return [
        (
            f"looks at {looks} shots{decided}; confidence at each"
            f" {figure(100 * plan.look_confidence_share, places=2)} %"
        ),
        f"factors at the looks: {factors}",
    ]


def _figures(proof: ProofJudged) -> list[str]:
    """Return the figures that need a spread."""
    steps = [f"s = {figure(proof.sd_g)} g, divisor n \u2212 1"]
    if proof.spread_g is not None and proof.spread_g != proof.sd_g:
        steps[0] += f"; without the rounding {figure(proof.spread_g)} g"
    if proof.k is not None and proof.half_width_g is not None:
        steps.append(
            f"half width = k \u00d7 s = {figure(proof.k)} \u00d7 {figure(proof.sd_g)}"
            f" = {figure(proof.half_width_g)} g"
        )
    if proof.half_width_pct is not None:
        steps.append(f"half width = {figure(proof.half_width_pct)} % of the aim")
    if proof.one_sided_k_factor is not None:
        low = proof.mean_g - proof.one_sided_k_factor * proof.sd_g
        steps.append(
            f"low side alone: mean \u2212 k1 \u00d7 s = {figure(low)} g,"
            f" k1 = {figure(proof.one_sided_k_factor)}"
        )
    if proof.within_aim_g is not None:
        steps.append(f"doses stay within {figure(proof.within_aim_g)} g of the aim")
    if proof.content_provable_pct is not None:
        steps.append(f"share of doses provable = {figure(proof.content_provable_pct)} %")
    return steps
