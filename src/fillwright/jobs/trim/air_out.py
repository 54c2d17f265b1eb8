"""After the flush: whether the air is out, told shot by shot and kept for the next start."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Final

from fillwright.jobs.act import Act, Expects, Option
from fillwright.jobs.desk import Desk
from fillwright.jobs.setup.steps import AIR_OUT, Step
from fillwright.jobs.why import Fact, Why
from fillwright.records.entities import JobFacts, Stage
from fillwright.records.entries import LearntStart, PrimingJudged
from fillwright.records.fold import JobState
from fillwright.records.units import g_from_kg, kg_from_g
from fillwright.science.priming import PrimingPrior, PrimingState, PrimingVerdict, prime

__all__ = ["AirLook", "act_of", "air_chance", "air_look", "is_unseen", "judged", "reading_words"]

_LIKELY: Final = 0.9
_MOST_AIR: Final = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class AirLook:
    """Whether the air is out, with the weighed shots.

    Parameters
    ----------
    verdict : str
        ``"primed"``, ``"carry-on"``, ``"look-for-air"``, or empty before the first shot.
    words : str
        What the shots say.
    before : str
        What the last start of this product taught; empty where there was none.
    shots_g : tuple of Decimal
        The weights.
    low : tuple of int
        Shots that were probably low by a bubble, counted from 1.
    why : Why or None
        The numbers behind it; None before the first shot.
    """

    verdict: str
    words: str
    before: str
    shots_g: tuple[Decimal, ...]
    low: tuple[int, ...]
    why: Why | None


def air_look(desk: Desk, state: JobState) -> AirLook:
    """Return whether the air is out, as far as the weighed shots tell."""
    before = _before(desk, state)
    shots = _shots(state)
    found = _found(state.known, shots, before)
    return AirLook(
        verdict="" if found is None else found.verdict.value,
        words="" if found is None else _words(found),
        before="" if before is None else f"Last time the air was out after {before.shots} shots.",
        shots_g=shots,
        low=() if found is None else tuple(i + 1 for i in found.low_shots),
        why=None if found is None else _why(found),
    )


def act_of(desk: Desk, state: JobState, step: Step) -> Act:
    """Return the order while the first shots are weighed."""
    seen = air_look(desk, state)
    word = state.known.container.word
    count = len(seen.shots_g)
    options = [
        Option(what="done", label="Go on unweighed" if not count else "Go on as it is", key="*")
    ]
    if count:
        options.insert(0, Option(what="undo", label="Undo last shot", key="-"))
    lost = seen.verdict == PrimingVerdict.LOOK_FOR_AIR.value
    tag = ("", "") if not count else ("wait", "Not out yet")
    return Act(
        stage=Stage.SET_UP,
        what="weigh",
        order="Look for where air comes in." if lost else f"Fill one {word} and weigh it.",
        why=seen.words or " ".join(w for w in (step.why, seen.before) if w),
        main="Keep one more" if lost else "Keep",
        expects=Expects.WEIGHT,
        cautions=step.cautions,
        steps=step.hands if lost or not count else (),
        options=tuple(options),
        state="warn" if lost else tag[0],
        state_words="Still air" if lost else tag[1],
        value=str(count + 1),
    )


def judged(desk: Desk, state: JobState, next_g: Decimal) -> PrimingJudged | None:
    """Return that the air is out, once one more shot of this weight shows it."""
    facts = state.known
    found = _found(facts, (*_shots(state), next_g), _before(desk, state))
    if found is None or not found.primed:
        return None
    learnt = found.learnt
    return PrimingJudged(
        job=state.number,
        product=facts.product.name,
        machine=facts.machine.name,
        shots=found.shots,
        low_shots=tuple(i + 1 for i in found.low_shots),
        quiet=found.quiet,
        p_primed=found.p_primed,
        limit_pct=100 * found.limit,
        p_wanted=found.probability,
        settled_g=g_from_kg(found.settled),
        because=_words(found),
        equation=found.equation,
        assumptions=found.assumptions,
        learnt=LearntStart(
            decay_doses=learnt.decay,
            decay_spread_ratio=learnt.decay_spread,
            first_shortfall_pct=100 * learnt.first_shortfall,
            sd_pct=100 * learnt.sd,
            sd_spread_ratio=learnt.sd_spread,
            slow_share=learnt.slow_share,
            late_share=learnt.late_share,
            low_share=learnt.low_share,
            starts=learnt.starts,
        ),
    )


def air_chance(desk: Desk, state: JobState) -> float | None:
    """Return the chance that air is still leaving; None where the flush was not weighed."""
    if state.priming is not None:
        return 1.0 - state.priming.p_primed
    found = _found(state.known, _shots(state), _before(desk, state))
    # Certain air would leave the trim nothing to learn.
    return None if found is None else min(1.0 - found.p_primed, _MOST_AIR)


def is_unseen(state: JobState) -> bool:
    """Return True where the flush was passed without one weight, and nothing was filled since."""
    went_on = state.proof or state.run
    return AIR_OUT in state.steps and not _shots(state) and state.priming is None and not went_on


def reading_words(state: JobState) -> str:
    """Return what is kept of a start that was ended before the air was shown to be out."""
    count = len(_shots(state))
    return f"{count} shots, not shown to be out" if count else "not weighed"


def _shots(state: JobState) -> tuple[Decimal, ...]:
    """Return the weighed shots of this start; a spilled one has no weight to learn from."""
    return tuple(
        w.fact.net_g for w in state.purges if not w.struck and w.fact.set_aside == "purge"
    )


def _before(desk: Desk, state: JobState) -> PrimingJudged | None:
    """Return the last start of this product on this machine, in another job."""
    facts = state.known
    kept = desk.book.site().primings.get((facts.product.name, facts.machine.name))
    return None if kept is None or kept.job == state.number else kept


def _found(
    facts: JobFacts, shots_g: tuple[Decimal, ...], before: PrimingJudged | None
) -> PrimingState | None:
    """Return what science says of the shots; None before the first."""
    if not shots_g:
        return None
    expected = facts.expected_sd_pct
    sd_g = None if before is not None or expected is None else facts.aim_g * expected / 100
    learnt = None if before is None else before.learnt
    return _state(shots_g, sd_g, learnt, facts.scale.readability_g)


@lru_cache(maxsize=256)
def _state(
    shots_g: tuple[Decimal, ...],
    sd_g: Decimal | None,
    learnt: LearntStart | None,
    step_g: Decimal,
) -> PrimingState:
    """Ask science once for each row of shots."""
    prior = None
    if learnt is not None:
        prior = PrimingPrior(
            decay=learnt.decay_doses,
            decay_spread=learnt.decay_spread_ratio,
            first_shortfall=learnt.first_shortfall_pct / 100,
            sd=learnt.sd_pct / 100,
            sd_spread=learnt.sd_spread_ratio,
            slow_share=learnt.slow_share,
            late_share=learnt.late_share,
            low_share=learnt.low_share,
            starts=learnt.starts,
        )
    return prime(
        [kg_from_g(g) for g in shots_g],
        sd_guess=None if sd_g is None else kg_from_g(sd_g),
        prior=prior,
        readability=kg_from_g(step_g),
    )


def _words(found: PrimingState) -> str:
    """Return what the shots say; how sure it is stands behind the why."""
    if found.verdict is not PrimingVerdict.PRIMED:
        return found.because
    sure = "very likely" if found.p_primed >= _LIKELY else "likely"
    return (
        f"No sign of air in the last {found.quiet} shots. The next is {sure} short by less than "
        f"{100 * found.limit:.2g} %."
    )


def _why(found: PrimingState) -> Why:
    """Return the numbers behind it."""
    learnt = found.learnt
    rows = [
        Fact(
            name=f"Next shot short by less than {100 * found.limit:.2g} %",
            words=f"probability {found.p_primed:.2f}",
        ),
        Fact(name="Wanted", words=f"probability {found.probability:.2f}, 6 shots, 3 quiet"),
        Fact(name="Expected shortfall", words=f"{100 * found.shortfall_share:.2g} %"),
        Fact(
            name=f"Shortfall below, with probability {found.probability:.2f}",
            words=f"{100 * found.shortfall_upper:.2g} %",
        ),
        Fact(name="Shots since the last low one", words=str(found.quiet)),
        Fact(
            name="Dose once the air is out",
            words=f"{g_from_kg(found.settled):.5g} g, ±{2 * g_from_kg(found.settled_sd):.2g} g",
        ),
        Fact(name="Air leaves to a third in", words=f"{learnt.decay:.2g} shots"),
        Fact(name="Starts learnt from", words=str(learnt.starts)),
    ]
    return Why(facts=tuple(rows), assumptions=found.assumptions, source=found.equation)
