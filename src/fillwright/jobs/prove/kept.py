"""A repeat job: the proof of an earlier one, held against five new doses instead of a new run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS, Act, Expects, Option
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.machines.change import last_change, last_seal
from fillwright.jobs.match.stage import cautions_of
from fillwright.jobs.setup.settings import mean_within
from fillwright.jobs.words import plain
from fillwright.records.book import is_practice
from fillwright.records.dosing_parts import dosing_parts
from fillwright.records.entities import JobFacts, Stage
from fillwright.records.entries import ProofChecked, ProofCheckPlanned, ProofJudged, ProofPlanned
from fillwright.records.fold import JobState
from fillwright.records.units import g_from_kg, kg_from_g
from fillwright.science.kept_proof import KeptCheck, kept_check, kept_judge

__all__ = [
    "SHOTS",
    "Kept",
    "begin_check",
    "checked",
    "find_kept",
    "kept_act",
    "kept_why",
    "kept_words",
    "rejected",
]

SHOTS: Final = 5
_FALSE_ALARM: Final = 0.05
_SDS_OF_TRIM: Final = 1.645
"""The trim ends when the mean is inside with 90 %: so many standard deviations."""
_FEWEST_KEPT: Final = 8
_LOOKED: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A proof that may speak for a job, or why none does.

    Parameters
    ----------
    job : str
        Job that it was proved in; empty where there is none.
    proof, plan : entries or None
        What was proved, and the claim.
    at : datetime or None
        When.
    why_not : str
        Why there is none, where an earlier job like this one was proved; else empty.
    """

    job: str = ""
    proof: ProofJudged | None = None
    plan: ProofPlanned | None = None
    at: datetime | None = None
    why_not: str = ""


def find_kept(desk: Desk, state: JobState) -> Kept:
    """Return the latest proof of the same product, machine, parts, aim and claim.

    Parameters
    ----------
    desk : Desk
        Where the jobs are.
    state : JobState
        The job that is to be proved.

    Returns
    -------
    Kept
        A proof that nothing speaks against, or why there is none.
    """
    if is_practice(state.number):
        # Who practises proves; what was proved before would take the task away.
        return Kept()
    facts = state.known
    doubted = {one.from_job for one in state.again.ended if one.verdict == "disagrees"}
    if doubted:
        return Kept(why_not=f"{state.again.ended[-1].because} Prove it anew.")
    for number in desk.book.numbers()[: -_LOOKED - 1 : -1]:
        other = None if number == state.number else desk.book.job(number)
        if other is None or _what(other.known) != _what(facts):
            continue
        doubted |= {one.from_job for one in other.again.ended if one.verdict == "disagrees"}
        proof, plan = other.proof, other.proof_plan
        is_own = proof is not None and not other.again.kept_from
        if not is_own or proof is None or plan is None or proof.verdict != "proved":
            continue
        at = max((s.at for s in other.proof_shots), default=other.opened_at)
        if at is None or proof.shots < _FEWEST_KEPT or proof.sd_g <= 0:
            continue
        if number in doubted:
            return Kept(why_not=f"Five doses since disagreed with the proof of job {number}.")
        for change in (last_change(desk, facts.machine.name), last_seal(desk, facts.machine.name)):
            if change is not None and change.at >= at:
                return Kept(why_not=f"The proof of job {number} is a guess now. {change.words}")
        return Kept(job=number, proof=proof, plan=plan, at=at)
    return Kept()


def kept_act(state: JobState, kept: Kept, shots: int) -> Act:
    """Return the order to check a kept proof; a run of its own stays open."""
    facts = state.known
    word = facts.container.word
    return Act(
        stage=Stage.PROVE,
        what="begin-check",
        order=f"Fill and weigh {SHOTS} {word}s against the kept proof.",
        why=f"Proved in job {kept.job}{_on(kept)}; nothing is known to have changed since.",
        main=f"Begin, {SHOTS} shots",
        expects=Expects.CONFIRM,
        cautions=(CAUTIONS["pinch"], *cautions_of(facts)),
        steps=(
            "Do not touch the wheel.",
            "Weigh every one, the odd ones too.",
            f"These {word}s are the first of the batch.",
        ),
        options=(Option(what="begin", label=f"Prove anew, {shots} shots"),),
        missing="" if state.trim else "Not trimmed yet: the claim is about this setting.",
    )


def begin_check(desk: Desk, number: str, press: Press) -> JobState:
    """Plan five doses against the kept proof, before the first of them.

    Raises
    ------
    BadInput
        If there is no kept proof that may speak for this job, or a proving run is open.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if state.proof_plan is not None and state.proof is None:
            return state
        kept = find_kept(desk, state)
        if kept.proof is None or kept.plan is None:
            message = kept.why_not or "There is no kept proof for this job. Prove it."
            raise BadInput(message, field="proof", code="missing")
        found = _limits(state.known, kept.proof)
        fact = ProofCheckPlanned(
            from_job=kept.job,
            shots=found.shots,
            proof=kept.proof,
            plan=kept.plan,
            mean_low_g=g_from_kg(found.mean_low),
            mean_high_g=g_from_kg(found.mean_high),
            most_sd_g=g_from_kg(found.most_sd),
            false_alarm_share=found.false_alarm,
            overlooked_spread_share=found.overlooked_spread,
            overlooked_shift_share=found.overlooked_shift,
            equation=found.equation,
            assumptions=found.assumptions,
        )
        return keep(desk, state, [fact], press)


def checked(plan: ProofCheckPlanned, nets_g: Sequence[Decimal]) -> ProofChecked:
    """Return what the new doses say, by the limits on record."""
    check = KeptCheck(
        shots=plan.shots,
        kept_shots=plan.proof.shots,
        mean_low=kg_from_g(plan.mean_low_g),
        mean_high=kg_from_g(plan.mean_high_g),
        most_sd=kg_from_g(plan.most_sd_g),
        false_alarm=plan.false_alarm_share,
        overlooked_spread=plan.overlooked_spread_share,
        overlooked_shift=plan.overlooked_shift_share,
        equation=plan.equation,
        assumptions=plan.assumptions,
    )
    found = kept_judge([kg_from_g(net_g) for net_g in nets_g], check)
    return ProofChecked(
        verdict=found.verdict.value,
        from_job=plan.from_job,
        shots=len(nets_g),
        mean_g=g_from_kg(found.mean),
        sd_g=g_from_kg(found.sd),
        because=found.because,
    )


def rejected(plan: ProofCheckPlanned, nets_g: Sequence[Decimal], state: str) -> ProofChecked:
    """Return that a short or overfull dose ended the check: the claim is proved anew."""
    mean_g = float(sum(nets_g, Decimal(0)) / len(nets_g))
    sd_g = (sum((float(g) - mean_g) ** 2 for g in nets_g) / max(len(nets_g) - 1, 1)) ** 0.5
    return ProofChecked(
        verdict="disagrees",
        from_job=plan.from_job,
        shots=len(nets_g),
        mean_g=mean_g,
        sd_g=sd_g,
        because=f"One dose was {state.replace('-', ' ')}.",
    )


def kept_words(plan: ProofCheckPlanned) -> tuple[str, ...]:
    """Return what five doses are held to, and how often they mislead."""
    alarm = round(100 * plan.false_alarm_share)
    wide = _in_ten(plan.overlooked_spread_share)
    off = _in_ten(plan.overlooked_shift_share)
    held = (
        f"They agree when their middle lies from {plan.mean_low_g:.2f} to "
        f"{plan.mean_high_g:.2f} g and their spread stays under {plan.most_sd_g:.2f} g."
    )
    return (
        held,
        f"An unchanged machine disagrees at most {alarm} times in 100.",
        f"A spread twice as wide is overlooked {wide}, a middle two spreads off {off}.",
    )


def kept_why(state: JobState) -> str:
    """Return that the proof of another job holds here; empty where the job has its own."""
    found = state.again.checked
    if found is None or found.verdict != "agrees":
        return ""
    room = _room_words(state)
    return f"The proof of job {found.from_job} holds here too: {found.because}{room}"


def _room_words(state: JobState) -> str:
    """Return a word of caution where the middle uses up what the proof leaves of the claim."""
    found, proof, facts = state.again.checked, state.proof, state.known
    if found is None or proof is None or proof.half_width_g is None:
        return ""
    half_g = float(facts.aim_g * facts.claim_pct) / 100
    off_g = abs(found.mean_g - float(facts.aim_g))
    if off_g + proof.half_width_g <= half_g:
        return ""
    return (
        f" Their middle is {off_g:.2f} g off the aim, which leaves too little room in the claim: "
        "trim once more if it stays."
    )


def _limits(facts: JobFacts, proof: ProofJudged) -> KeptCheck:
    """Return what new doses are held to; the trim leaves the middle somewhere near the aim."""
    return kept_check(
        kg_from_g(proof.sd_g),
        kept_shots=proof.shots,
        target=kg_from_g(facts.aim_g),
        trim_sd=kg_from_g(facts.aim_g) * mean_within(facts) / _SDS_OF_TRIM,
        shots=SHOTS,
        false_alarm=_FALSE_ALARM,
    )


def _what(facts: JobFacts) -> tuple[object, ...]:
    """Return what a proof is about: another of any of these has its own."""
    claim = (facts.claim_pct, facts.claim_content_pct, facts.claim_confidence_pct)
    parts = (facts.machine.name, *dosing_parts(facts)[:2], facts.scale.readability_g)
    return (facts.product.name, facts.container.name, *parts, facts.aim_g, *claim)


def _on(kept: Kept) -> str:
    """Return the day of a kept proof, in words."""
    claim = "" if kept.plan is None else f": holds ±{plain(kept.plan.claim_pct)} %"
    shots = "" if kept.proof is None else f", {kept.proof.shots} shots"
    return f"{claim}{shots}" + ("" if kept.at is None else f", {kept.at:%Y-%m-%d}")


def _in_ten(share: float) -> str:
    """Return a chance as people say it."""
    if share < 0.05:  # noqa: PLR2004  less than one in twenty
        return "hardly ever"
    return f"about {max(1, round(10 * share))} times in 10"
