"""Prove: a number of shots fixed before the first, and one verdict after the last."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS, Act, Expects, Option
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.limits import Limits, judge_weight, limits_of
from fillwright.jobs.match import cautions_of
from fillwright.jobs.words import plain
from fillwright.records.entities import JobFacts, Stage
from fillwright.records.entries import (
    ContainersHeld,
    Payload,
    ProofJudged,
    ProofPlanned,
    WeighingTaken,
)
from fillwright.records.fold import JobState
from fillwright.records.units import g_from_kg, kg_from_g
from fillwright.science.proof import ProofResult, default_shots, prove, prove_plan

__all__ = ["VERDICT_WORDS", "ProveLook", "again", "begin", "judge_shot", "look"]

VERDICT_WORDS: Final = {
    "proved": "Holds",
    "not-proved": "Cannot say yet",
    "impossible": "Does not hold",
    "not-steady": "Not steady, proving void",
    "scale-too-coarse": "The weighing scale is too coarse to say",
    "stopped": "Stopped by a reject",
}
_TAGS: Final = {"proved": "on", "impossible": "stop", "stopped": "stop"}
_OFF_SHARE: Final = 0.3
_FEWEST: Final = 2
_LEAST_AGAIN: Final = 8
_MOST: Final = 60
_REJECTS: Final = ("short", "far-short", "overfull")


@dataclass(frozen=True, slots=True, kw_only=True)
class ProveLook:
    """Everything the Prove page shows; no spread and no verdict before the last shot."""

    act: Act
    limits: Limits
    planned: int
    weighed: int
    plan_words: str
    verdict: ProofJudged | None
    headline: str
    stays_within_pct: float | None
    claim_low_g: Decimal
    claim_high_g: Decimal
    readings_g: tuple[Decimal, ...]
    set_aside: int


def look(desk: Desk, state: JobState) -> ProveLook:
    """Return what the Prove page shows."""
    facts = state.known
    limits = limits_of(facts, desk.rule_sets)
    shots = state.proof_shots
    counted = [s for s in shots if s.counts]
    planned = state.proof_plan.shots if state.proof_plan else _planned(facts)[0]
    half = facts.aim_g * facts.claim_pct / 100
    return ProveLook(
        act=_act(state, planned, len(counted)),
        limits=limits,
        planned=planned,
        weighed=len(counted),
        plan_words=state.proof_plan.because if state.proof_plan else _planned(facts)[1],
        verdict=state.proof,
        headline=_headline(facts, state.proof) if state.proof else "",
        stays_within_pct=_stays_within_pct(facts, state.proof),
        claim_low_g=facts.aim_g - half,
        claim_high_g=facts.aim_g + half,
        readings_g=tuple(s.fact.net_g for s in counted) if state.proof else (),
        set_aside=len([s for s in shots if not s.counts]),
    )


def begin(desk: Desk, number: str, press: Press) -> Act:
    """Fix the number of shots before the first one."""
    with desk.book.lock:
        state = find_job(desk, number)
        if state.proof_plan is not None and state.proof is None:
            return look(desk, state).act
        facts = state.known
        shots, because = _planned(facts)
        return look(desk, keep(desk, state, [_plan(facts, shots, because)], press)).act


def again(desk: Desk, number: str, press: Press) -> Act:
    """Plan a new proving run from the spread that the last one measured."""
    with desk.book.lock:
        state = find_job(desk, number)
        if state.proof is None:
            message = "The proving run is not at its end. Weigh the rest first."
            raise BadInput(message, field="proof", code="inconsistent")
        shots, because = _planned_after(state.known, state.proof)
        plan = _plan(state.known, shots, because)
        return look(desk, keep(desk, state, [plan], press)).act


def judge_shot(
    desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Keep one shot; with the last of them the run is judged, with a reject it stops."""
    _ = weighing_id
    if state.proof_plan is None or state.proof is not None:
        message = "No proving run is open. Fix the number of shots first."
        raise BadInput(message, field="proof", code="inconsistent")
    limits = limits_of(state.known, desk.rule_sets)
    container = fact.container or state.filled_to + 1
    if container <= state.filled_to:
        word = state.known.container.word
        message = (
            f"{word.capitalize()} {container} was filled before this shot; the next is "
            f"{state.filled_to + 1}."
        )
        raise BadInput(message, field="container", given=container, code="inconsistent")
    judged = replace(
        fact,
        state=judge_weight(limits, fact.net_g),
        container=container,
        filled_to=max(container, fact.filled_to or 0),
    )
    if fact.set_aside:
        held = ContainersHeld(first=container, last=container, reason=fact.set_aside)
        return [judged, held]
    before = [s for s in state.proof_shots if s.counts]
    counted = [*(s.fact.net_g for s in before), fact.net_g]
    aside = len([s for s in state.proof_shots if s.fact.set_aside and not s.struck])
    if judged.state in _REJECTS:
        first = min((s.fact.container or container for s in before), default=container)
        held = ContainersHeld(
            first=first, last=container, reason=f"proving stopped: {judged.state}"
        )
        return [judged, _stopped(state.known, counted, judged.state, aside), held]
    if len(counted) < state.proof_plan.shots:
        return [judged]
    verdict = _judged(state.known, state.proof_plan, counted, aside)
    facts: list[Payload] = [judged, verdict]
    if verdict.verdict in ("impossible", "not-steady"):
        first = min((s.fact.container or container for s in before), default=container)
        facts.append(
            ContainersHeld(
                first=first,
                last=container,
                reason=f"proving run: {VERDICT_WORDS[verdict.verdict].lower()}",
            )
        )
    return facts


def _half_g(facts: JobFacts) -> float:
    """Return half the width of the claim in grams."""
    return float(facts.aim_g * facts.claim_pct) / 100


def _plan(facts: JobFacts, shots: int, because: str) -> ProofPlanned:
    """Return the plan with the claim it is for."""
    return ProofPlanned(
        shots=shots,
        claim_pct=facts.claim_pct,
        content_pct=facts.claim_content_pct,
        confidence_pct=facts.claim_confidence_pct,
        because=because,
    )


def _planned(facts: JobFacts) -> tuple[int, str]:
    """Return how many shots to plan, and why."""
    tolerance = float(facts.claim_pct)
    content, confidence = _claim(facts)
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


def _planned_after(facts: JobFacts, last: ProofJudged) -> tuple[int, str]:
    """Return how many shots a new run needs, from what the last one measured."""
    content, confidence = _claim(facts)
    plan = prove_plan(
        max(last.sd_g, 1e-9),
        offset=last.mean_g - float(facts.aim_g),
        tolerance=float(facts.aim_g * facts.claim_pct) / 100,
        content=content,
        confidence=confidence,
    )
    most = max(min(_MOST, facts.lot_size), _FEWEST)
    if plan.n is None or plan.n > most:
        return most, (
            f"With this spread {most} shots will hardly show it: bring the spread or the middle "
            "right first."
        )
    shots = max(plan.n, _LEAST_AGAIN)
    return shots, f"With the spread just measured, {shots} shots."


def _claim(facts: JobFacts) -> tuple[float, float]:
    """Return content and confidence of the claim as shares."""
    return float(facts.claim_content_pct) / 100, float(facts.claim_confidence_pct) / 100


def _judged(
    facts: JobFacts, plan: ProofPlanned, readings: list[Decimal], aside: int
) -> ProofJudged:
    """Return the verdict on all the planned shots."""
    result = prove(
        [kg_from_g(g) for g in readings],
        target=kg_from_g(facts.aim_g),
        tolerance=kg_from_g(facts.aim_g * plan.claim_pct / 100),
        content=float(plan.content_pct) / 100,
        confidence=float(plan.confidence_pct) / 100,
        readability=kg_from_g(facts.scale.readability_g),
    )
    return _from_result(result, aside)


def _from_result(result: ProofResult, aside: int) -> ProofJudged:
    """Return the journal's form of a proof."""
    return ProofJudged(
        verdict=result.verdict.value,
        shots=result.n,
        set_aside=aside,
        mean_g=g_from_kg(result.mean),
        sd_g=g_from_kg(result.sd),
        k=result.k,
        half_width_g=g_from_kg(result.half_width),
        half_width_pct=100 * result.half_width_share,
        within_aim_g=g_from_kg(result.claim_half_width),
        content_provable_pct=100 * result.content_provable,
        because=result.because,
        equation=result.equation,
        assumptions=tuple(result.assumptions),
    )


def _stopped(facts: JobFacts, readings: list[Decimal], state: str, aside: int) -> ProofJudged:
    """Return a proving run that a reject stopped."""
    values = [float(g) for g in readings]
    mean = sum(values) / len(values)
    spread = sum((v - mean) ** 2 for v in values) / max(len(values) - 1, 1)
    return ProofJudged(
        verdict="stopped",
        shots=len(values),
        set_aside=aside,
        mean_g=mean,
        sd_g=spread**0.5,
        k=None,
        half_width_g=None,
        half_width_pct=None,
        within_aim_g=None,
        content_provable_pct=None,
        because=f"Shot {len(values)} was {state.replace('-', ' ')}, so the {facts.claim_pct} % "
        "claim cannot stand on this run.",
        equation="none: a reject stops the run",
    )


def _stays_within_pct(facts: JobFacts, proof: ProofJudged | None) -> float | None:
    """Return how close to the aim the doses stay, as a share of it."""
    if proof is None or proof.within_aim_g is None:
        return None
    return 100 * proof.within_aim_g / float(facts.aim_g)


def _headline(facts: JobFacts, proof: ProofJudged) -> str:
    """Return the verdict as the page says it."""
    words = VERDICT_WORDS.get(proof.verdict, proof.verdict)
    claim = f"±{plain(facts.claim_pct)} %"
    if proof.verdict in ("proved", "impossible"):
        return f"{words} {claim}"
    return words


def _act(state: JobState, planned: int, weighed: int) -> Act:
    """Return the order of the page."""
    facts = state.known
    word = facts.container.word
    if state.proof is not None:
        return _end_act(state, facts, state.proof)
    if state.proof_plan is None:
        return Act(
            stage=Stage.PROVE,
            what="begin",
            order=f"Fill and weigh {planned} {word}s, one after another.",
            why="No verdict before the last shot: looking early spoils the claim.",
            main=f"Begin, {planned} shots",
            expects=Expects.CONFIRM,
            cautions=(CAUTIONS["pinch"], *cautions_of(facts)),
            steps=(
                "Do not touch the wheel.",
                "Weigh every one, the odd ones too.",
                f"These {word}s are the first of the batch.",
            ),
            missing="" if state.trim else "Not trimmed yet: the claim is about this setting.",
        )
    return Act(
        stage=Stage.PROVE,
        what="weigh",
        order=f"Fill the next {word} and weigh it.",
        why=f"Shot {weighed + 1} of {planned}. Do not touch the wheel.",
        main="Keep",
        expects=Expects.WEIGHT,
        cautions=(CAUTIONS["pinch"], *cautions_of(facts)) if not state.proof_shots else (),
        options=(
            Option(what="undo", label="Undo last weight", key="-"),
            Option(what="spoilt", label="Spoilt", key="*", asks="Why?"),
        ),
        value=str(state.filled_to + 1),
    )


def _end_act(state: JobState, facts: JobFacts, proof: ProofJudged) -> Act:
    """Return the order at the end of a proving run."""
    again_option = Option(what="again", label="Prove again", key="-")
    held = " The proved ones are held." if state.open_spans else ""
    if proof.verdict == "proved":
        return Act(
            stage=Stage.PROVE,
            what="start-run",
            order="Start the run.",
            why=proof.because,
            main="Start the run",
            expects=Expects.CONFIRM,
            options=(again_option,),
            state="on",
            state_words=_headline(facts, proof),
        )
    off = proof.mean_g - float(facts.aim_g)
    if proof.verdict == "not-proved" and abs(off) > _OFF_SHARE * _half_g(facts):
        side = "above" if off > 0 else "below"
        return Act(
            stage=Stage.PROVE,
            what="trim-again",
            order="Trim again: the middle is off the aim.",
            why=f"The middle is {abs(off):.2f} g {side} the aim; the spread is "
            f"{proof.sd_g:.2f} g.",
            main="Trim again",
            expects=Expects.CONFIRM,
            options=(
                again_option,
                Option(what="start-run", label="Run without the proof", asks="Why?"),
            ),
            state="warn",
            state_words=_headline(facts, proof),
            value="the middle was off the aim in the proving run",
        )
    return Act(
        stage=Stage.PROVE,
        what="again",
        order="Prove again, or find the cause first.",
        why=proof.because + held,
        main="Prove again",
        expects=Expects.CONFIRM,
        options=(
            Option(what="start-run", label="Run without the proof", asks="Why?"),
            Option(what="trim-again", label="Trim again", asks="Why?"),
        ),
        state=_TAGS.get(proof.verdict, "warn"),
        state_words=_headline(facts, proof),
    )
