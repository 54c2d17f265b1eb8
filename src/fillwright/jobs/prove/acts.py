"""What the Prove page orders: begin, weigh, and what to do about each verdict."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fillwright.jobs.act import CAUTIONS, Act, Expects, Option
from fillwright.jobs.match.stage import cautions_of
from fillwright.jobs.prove.plan import half_g, looks_for, planned_after
from fillwright.jobs.setup.good_scale import finer_scale
from fillwright.records.entities import JobFacts, Stage
from fillwright.records.entries import ProofJudged, ProofPlanned
from fillwright.records.fold import JobState
from fillwright.records.proofwords import (
    PROOF_MARKS,
    proof_headline,
    spread_words,
    tries_words,
)

__all__ = ["act_of"]

_OFF_SHARE: Final = 0.3
_SPREAD_ALONE: Final = 0.35
"""A spread above this share of half the claim leaves no room, however well it is centred."""
_AGAIN: Final = Option(what="again", label="Prove again", key="-")
_TRIM: Final = Option(what="trim-again", label="Trim again", asks="Why?")
_WITHOUT: Final = Option(what="start-run", label="Run without the proof", asks="Why?")
_FACTS: Final = Option(what="facts", label="Change the facts")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """The way on from a verdict that is not the wanted one."""

    order: str
    steps: tuple[str, ...]
    why: str = ""
    main: str = "Prove again"


def act_of(state: JobState, shots: int, weighed: int) -> Act:
    """Return the order of the page.

    Parameters
    ----------
    state : JobState
        The job.
    shots : int
        Shots planned.
    weighed : int
        Shots weighed that count.
    """
    if state.proof is not None:
        return _end_act(state, state.proof)
    if state.proof_plan is None:
        return _begin_act(state, shots)
    return _weigh_act(state, state.proof_plan, weighed)


def _begin_act(state: JobState, shots: int) -> Act:
    """Return the order before the first shot: a number, or looks."""
    facts = state.known
    word = facts.container.word
    looks = looks_for(facts)
    options = (
        (Option(what="begin-looks", label=f"Begin, looks from {looks[0]} on"),) if looks else ()
    )
    return Act(
        stage=Stage.PROVE,
        what="begin",
        order=f"Fill and weigh {shots} {word}s, one after another.",
        why="No verdict before the last shot: looking early spoils the claim.",
        main=f"Begin, {shots} shots",
        expects=Expects.CONFIRM,
        cautions=(CAUTIONS["pinch"], *cautions_of(facts)),
        steps=(
            "Do not touch the wheel.",
            "Weigh every one, the odd ones too.",
            f"These {word}s are the first of the batch.",
        ),
        options=options,
        missing="" if state.trim else "Not trimmed yet: the claim is about this setting.",
    )


def _weigh_act(state: JobState, plan: ProofPlanned, weighed: int) -> Act:
    """Return the order while shots are weighed: nothing of what they show."""
    facts = state.known
    where = f"Shot {weighed + 1} of {plan.shots}."
    if plan.looks:
        upcoming = next(n for n in plan.looks if n > weighed)
        passed = [n for n in plan.looks if n <= weighed]
        where = f"Shot {weighed + 1}; the next look is after {upcoming}."
        if passed:
            where = f"Looked after {passed[-1]}: carry on. {where}"
    return Act(
        stage=Stage.PROVE,
        what="weigh",
        order=f"Fill the next {facts.container.word} and weigh it.",
        why=f"{where} Do not touch the wheel.",
        main="Keep",
        expects=Expects.WEIGHT,
        cautions=(CAUTIONS["pinch"], *cautions_of(facts)) if not state.proof_shots else (),
        options=(
            Option(what="undo", label="Undo last weight", key="-"),
            Option(what="spoilt", label="Spoilt", key="*", asks="Why?"),
            Option(what="something-new", label="Something new"),
        ),
        value=str(state.filled_to + 1),
    )


def _end_act(state: JobState, proof: ProofJudged) -> Act:
    """Return the order at the end of a proving run."""
    facts = state.known
    tries = tries_words(proof, facts.claim_confidence_pct)
    headline = proof_headline(proof.verdict, facts.claim_pct)
    if proof.verdict == "proved":
        return Act(
            stage=Stage.PROVE,
            what="start-run",
            order="Start the run.",
            why=_joined(proof.because, tries),
            main="Start the run",
            expects=Expects.CONFIRM,
            options=(_AGAIN,),
            state="on",
            state_words=headline,
        )
    held = "The proved ones are held." if state.open_spans else ""
    if _is_off(facts, proof):
        side = "above" if proof.mean_g > float(facts.aim_g) else "below"
        off_g = abs(proof.mean_g - float(facts.aim_g))
        spread = spread_words(proof.spread_g, proof.spread_upper_g, places=2)
        return Act(
            stage=Stage.PROVE,
            what="trim-again",
            order="Trim again: the middle is off the aim.",
            why=_joined(
                f"The middle is {off_g:.2f} g {side} the aim; the spread is {spread}.", held, tries
            ),
            main="Trim again",
            expects=Expects.CONFIRM,
            options=(_AGAIN, _WITHOUT),
            state=PROOF_MARKS.get(proof.verdict, "warn"),
            state_words=headline,
            value="the middle was off the aim in the proving run",
        )
    way = _way(state, proof)
    options = [_WITHOUT, _TRIM]
    if proof.verdict in ("scale-too-coarse", "impossible"):
        options.append(_FACTS)
    return Act(
        stage=Stage.PROVE,
        what="again",
        order=way.order,
        why=_joined(way.why or proof.because, held, tries),
        main=way.main,
        expects=Expects.CONFIRM,
        steps=way.steps,
        options=tuple(options),
        state=PROOF_MARKS.get(proof.verdict, "warn"),
        state_words=headline,
    )


def _is_off(facts: JobFacts, proof: ProofJudged) -> bool:
    """Return True when the middle is what stands in the way, and the wheel can mend it."""
    if proof.verdict not in ("not-proved", "impossible") or proof.spread_g is None:
        return False
    off = abs(proof.mean_g - float(facts.aim_g))
    if proof.verdict == "not-proved":
        return off > _OFF_SHARE * half_g(facts)
    return off > _OFF_SHARE * half_g(facts) and proof.spread_g <= _SPREAD_ALONE * half_g(facts)


def _way(state: JobState, proof: ProofJudged) -> _Way:
    """Return the way on from a verdict."""
    facts = state.known
    claim = f"±{facts.claim_pct.normalize():f} %"
    match proof.verdict:
        case "not-steady":
            return _unsteady(proof)
        case "scale-too-coarse":
            return _Way(
                order=finer_scale(facts, state.tare),
                steps=(
                    "Change the scale in the facts, then prove again.",
                    (
                        "No number of shots on this scale shows the spread; a total of several "
                        "shows the middle only."
                    ),
                ),
            )
        case "impossible":
            return _Way(
                order=f"Bring the spread down: {claim} does not hold.",
                steps=(
                    (
                        "Uneven recharge scatters: product thick or cold, hopper low, air short? "
                        "Open Fault, dose jumps about."
                    ),
                    "A dose that is small for its cylinder scatters more: fit a smaller one.",
                    "Or claim less, in the facts, and prove that.",
                ),
            )
        case "stopped":
            return _Way(
                order="Find out what that shot was, then prove again.",
                steps=("Open Fault with what you see. The shot stays on record.",),
            )
        case _:
            return _further(facts, state, proof)


def _further(facts: JobFacts, state: JobState, proof: ProofJudged) -> _Way:
    """Return how many further shots there are to be, decided now and once."""
    if state.proof_plan is not None and state.proof_plan.looks:
        return _Way(
            order="Bring the spread down, then prove again.",
            steps=("Open Fault, dose jumps about, before more jars go into it.",),
        )
    shots, because, is_likely = planned_after(facts, proof)
    if is_likely:
        return _Way(
            order=f"Prove again with {shots} shots.",
            steps=("All of them new; those before do not count twice.",),
            why=_joined(proof.because, because),
            main=f"Prove again, {shots} shots",
        )
    return _Way(
        order="Bring the spread down, then prove again.",
        steps=("Open Fault, dose jumps about, before more jars go into it.",),
        why=_joined(proof.because, because),
    )


def _unsteady(proof: ProofJudged) -> _Way:
    """Return where to look for what made a run unsteady."""
    cause = proof.causes[0] if proof.causes else ""
    if cause.startswith("creep"):
        way = "up" if cause == "creep-up" else "down"
        return _Way(
            order=f"The dose creeps {way}. Find why, then prove again.",
            steps=(
                "Lock of the wheel tight? Hopper at one level? Product at one temperature?",
                f"Open Fault, dose creeps {way}.",
            ),
        )
    if cause.startswith("shot-"):
        shot = cause.removeprefix("shot-")
        return _Way(
            order=f"Shot {shot} stands out. Find out what it was, then prove again.",
            steps=(
                (
                    "A bubble, a drip, a slow recharge, a wrong jar? It is not left out for its "
                    "weight."
                ),
                "If it comes again, open Fault, dose jumps about.",
            ),
        )
    if cause == "by-turns":
        return _Way(
            order="The doses go high and low by turns. Find why, then prove again.",
            steps=("Two nozzles, or both ways of the stroke? Prove each by itself.",),
        )
    return _Way(
        order="The doses wander together. Find why, then prove again.",
        steps=(
            "Hopper refilled, a pause, the product warming, the lock loose?",
            "Keep all that as it will be in the run, then prove.",
        ),
    )


def _joined(*sentences: str) -> str:
    """Return sentences after one another."""
    return " ".join(words for words in sentences if words)
