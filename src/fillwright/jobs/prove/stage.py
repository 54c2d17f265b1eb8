"""Prove: a plan fixed before the first shot, and one verdict when it says so."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.act import Act
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.limits import Limits, judge_weight, limits_of
from fillwright.jobs.prove.acts import act_of
from fillwright.jobs.prove.kept import (
    SHOTS,
    checked,
    find_kept,
    kept_act,
    kept_why,
    kept_words,
    rejected,
)
from fillwright.jobs.prove.plan import (
    few_words,
    looks_for,
    passes_words,
    plan_after,
    plan_first,
    plan_looks,
    planned,
    tries_before,
)
from fillwright.jobs.prove.verdict import judged, judged_at_look, stopped
from fillwright.jobs.prove.why import Part, error_parts, why_of
from fillwright.jobs.run.cartons import refuse_untared
from fillwright.jobs.run.changes import is_proving
from fillwright.jobs.run.orders import carton_act
from fillwright.jobs.setup.good_scale import ScaleLook, scale_look
from fillwright.jobs.why import Why
from fillwright.records.entities import JobFacts, Stage
from fillwright.records.entries import (
    ContainersHeld,
    Payload,
    ProofCheckPlanned,
    ProofJudged,
    WeighingTaken,
)
from fillwright.records.fold import JobState
from fillwright.records.proofwords import (
    PROOF_WORDS,
    proof_headline,
    spread_words,
    tries_words,
)

__all__ = ["ProveLook", "again", "begin", "judge_shot", "look"]

_REJECTS: Final = ("short", "far-short", "overfull")


@dataclass(frozen=True, slots=True, kw_only=True)
class ProveLook:
    """Everything the Prove page shows; no spread and no verdict before the plan says so.

    Parameters
    ----------
    act : Act
        The order of the page.
    limits : Limits
        The weights of the job.
    planned, weighed, set_aside : int
        Shots to the end or to the next look, shots that count, shots that do not.
    plan_words : str
        Why so many.
    needs_words : str
        What so many shots need to prove the claim, and what they cannot show by themselves;
        empty after the verdict.
    looks : tuple of int
        The planned looks of this run, or those that are offered before it begins.
    tries : str
        Which try this is and what that does to the claim; empty for the first.
    scale : ScaleLook
        Whether the weighing scale is good enough.
    verdict : ProofJudged or None
        The verdict with its figures.
    headline : str
        The verdict in words.
    stays_within_pct : float or None
        How close to the aim the doses stay.
    spread : str
        The spread, or its bound.
    parts : tuple of Part
        Where the error comes from, the biggest first.
    why : Why or None
        The figures behind the verdict.
    claim_low_g, claim_high_g : Decimal
        Ends of the claim.
    readings_g : tuple of Decimal
        The shots, after the verdict only.
    kept : str
        What a kept proof says here: that it holds, or why none is offered; may be empty.
    kept_from : str
        Job whose proof holds for this one; empty where it has its own.
    """

    act: Act
    limits: Limits
    planned: int
    weighed: int
    set_aside: int
    plan_words: str
    needs_words: tuple[str, ...]
    looks: tuple[int, ...]
    tries: str
    scale: ScaleLook
    verdict: ProofJudged | None
    headline: str
    stays_within_pct: float | None
    spread: str
    parts: tuple[Part, ...]
    why: Why | None
    claim_low_g: Decimal
    claim_high_g: Decimal
    readings_g: tuple[Decimal, ...]
    kept: str
    kept_from: str


def look(desk: Desk, state: JobState) -> ProveLook:
    """Return what the Prove page shows."""
    facts = state.known
    shots = state.proof_shots
    counted = [s for s in shots if s.counts]
    plan, proof = state.proof_plan, state.proof
    number, because = planned(facts) if plan is None else (plan.shots, plan.because)
    upcoming = [n for n in plan.looks if n > len(counted)] if plan and proof is None else []
    half = facts.aim_g * facts.claim_pct / 100
    order, kept = act_of(state, number, len(counted)), kept_why(state)
    if plan is None and proof is None:
        found = find_kept(desk, state)
        order = kept_act(state, found, number) if found.job else order
        kept = found.why_not
        number = SHOTS if found.job else number
    elif kept:
        order = replace(order, why=kept)
    if is_proving(state):
        order = carton_act(desk, state, Stage.PROVE) or order
    is_check = order.what == "begin-check"
    if is_check or state.again.plan is not None:
        because = "A few doses look for a change; they prove nothing anew."
    return ProveLook(
        act=order,
        limits=limits_of(facts, desk.rule_sets),
        planned=upcoming[0] if upcoming else number,
        weighed=len(counted),
        set_aside=len([s for s in shots if not s.counts]),
        plan_words=because,
        needs_words=_needs(facts, state, number) if proof is None and not is_check else (),
        looks=plan.looks if plan is not None else () if is_check else looks_for(facts),
        tries="" if state.again.kept_from or state.again.plan else _tries(state),
        scale=scale_look(state),
        verdict=proof,
        headline=proof_headline(proof.verdict, facts.claim_pct) if proof else "",
        stays_within_pct=_stays_within_pct(facts, proof),
        spread=_spread(proof),
        parts=error_parts(state, proof) if proof else (),
        why=why_of(state, proof) if proof else None,
        claim_low_g=facts.aim_g - half,
        claim_high_g=facts.aim_g + half,
        readings_g=tuple(s.fact.net_g for s in counted) if proof else (),
        kept=kept,
        kept_from=state.again.kept_from,
    )


def begin(desk: Desk, number: str, press: Press, *, looks: bool = False) -> Act:
    """Fix the plan before the first shot: a number of shots, or looks.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    press : Press
        Who pressed.
    looks : bool
        True for planned looks, at each of which the run may end.

    Returns
    -------
    Act
        The next act.

    Raises
    ------
    BadInput
        If looks are asked for and the lot is too small for any.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if state.proof_plan is not None and state.proof is None:
            return look(desk, state).act
        if looks and not looks_for(state.known):
            message = f"A lot of {state.known.lot_size} is too small for looks. Plan a number."
            raise BadInput(message, field="looks", given=state.known.lot_size, code="range")
        plan = plan_looks(state) if looks else plan_first(state)
        return look(desk, keep(desk, state, [plan], press)).act


def again(desk: Desk, number: str, press: Press) -> Act:
    """Plan a new proving run from the spread that the last one measured."""
    with desk.book.lock:
        state = find_job(desk, number)
        if state.proof is None:
            message = "The proving run is not at its end. Weigh the rest first."
            raise BadInput(message, field="proof", code="inconsistent")
        plan = plan_after(state, state.proof)
        return look(desk, keep(desk, state, [plan], press)).act


def judge_shot(
    desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Keep one shot; the run is judged where its plan says so, and a reject stops it."""
    plan = state.proof_plan
    if plan is None or state.proof is not None:
        message = "No proving run is open. Fix the number of shots first."
        raise BadInput(message, field="proof", code="inconsistent")
    limits = limits_of(state.known, desk.rule_sets)
    container = fact.container or state.filled_to + 1
    refuse_untared(state, container, fact)
    if container <= state.filled_to:
        word = state.known.container.word
        message = (
            f"{word.capitalize()} {container} was filled before this shot; the next is "
            f"{state.filled_to + 1}."
        )
        raise BadInput(message, field="container", given=container, code="inconsistent")
    kept = replace(
        fact,
        state=judge_weight(limits, fact.net_g),
        container=container,
        filled_to=max(container, fact.filled_to or 0),
    )
    if fact.set_aside:
        held = ContainersHeld(first=container, last=container, reason=fact.set_aside)
        return [kept, held]
    before = [s for s in state.proof_shots if s.counts]
    first = min((s.fact.container or container for s in before), default=container)
    counted = [*(s.fact.net_g for s in before), fact.net_g]
    aside = len([s for s in state.proof_shots if s.fact.set_aside and not s.struck])
    if state.again.plan is not None:
        return _against_kept(state.again.plan, counted, kept, first)
    if kept.state in _REJECTS:
        reason = f"proving stopped: {kept.state}"
        held = ContainersHeld(first=first, last=container, reason=reason)
        return [kept, stopped(state.known, plan, counted, kept.state, aside), held]
    verdict: ProofJudged | None = None
    if plan.looks:
        verdict = judged_at_look(state.known, plan, counted, aside, weighing_id)
    elif len(counted) >= plan.shots:
        verdict = judged(state.known, plan, counted, aside, weighing_id)
    if verdict is None:
        return [kept]
    facts: list[Payload] = [kept, verdict]
    if verdict.verdict in ("impossible", "not-steady"):
        reason = f"proving run: {PROOF_WORDS[verdict.verdict].lower()}"
        facts.append(ContainersHeld(first=first, last=container, reason=reason))
    return facts


def _against_kept(
    check: ProofCheckPlanned, counted: list[Decimal], kept: WeighingTaken, first: int
) -> list[Payload]:
    """Keep one of the few that are held against a kept proof; the last of them decides."""
    if kept.state in _REJECTS:
        last = kept.container or first
        reason = f"check of the kept proof stopped: {kept.state}"
        held = ContainersHeld(first=first, last=last, reason=reason)
        return [kept, rejected(check, counted, kept.state), held]
    return [kept, checked(check, counted)] if len(counted) >= check.shots else [kept]


def _needs(facts: JobFacts, state: JobState, shots: int) -> tuple[str, ...]:
    """Return what the planned shots need to prove the claim, and what they cannot show."""
    if state.again.plan is not None:
        return kept_words(state.again.plan)
    plan = state.proof_plan
    first = plan.looks[0] if plan is not None and plan.looks else shots
    factor = plan.looks_factor[0] if plan is not None and plan.looks_factor else None
    return (passes_words(facts, first, factor), few_words(first))


def _tries(state: JobState) -> str:
    """Return which try this is and what several tries do to the claim."""
    if state.proof is not None:
        return tries_words(state.proof, state.known.claim_confidence_pct)
    attempt = state.proof_plan.attempt if state.proof_plan else tries_before(state) + 1
    if attempt == 1:
        return ""
    risk = 100 - float(state.known.claim_confidence_pct)
    left = max(100 - attempt * risk, 0.0)
    return (
        f"This is try {attempt} of this claim. If it holds now, it holds at {left:g} % confidence "
        "over all tries, and the record says so."
    )


def _spread(proof: ProofJudged | None) -> str:
    """Return the spread or its bound; empty before the verdict and for a single shot."""
    if proof is None or (proof.spread_g is None and proof.spread_upper_g is None):
        return ""
    return spread_words(proof.spread_g, proof.spread_upper_g, places=3)


def _stays_within_pct(facts: JobFacts, proof: ProofJudged | None) -> float | None:
    """Return how close to the aim the doses stay, as a share of it."""
    if proof is None or proof.within_aim_g is None:
        return None
    if proof.verdict in ("not-steady", "scale-too-coarse"):
        return None
    return 100 * proof.within_aim_g / float(facts.aim_g)
