"""What a trim does that does not settle: once anew from below, then Prove or the fault."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from fillwright.jobs.act import Act, Expects, Option
from fillwright.jobs.setup.settings import PROBABILITY, back_marks, learnt_play_marks
from fillwright.jobs.words import plain, shown_g
from fillwright.records.entities import Stage
from fillwright.records.fold import JobState
from fillwright.records.units import g_from_kg
from fillwright.science.trim import TrimStep

__all__ = [
    "BEGUN_ANEW",
    "MOST_SHOTS",
    "SECOND_PROBABILITY",
    "anew_act",
    "anew_via_marks",
    "begins_anew",
    "is_unsettled",
    "last_act",
    "wanted_probability",
]

MOST_SHOTS: Final = 15
"""After so many shots the promise is not in reach as things are: look for the cause."""
SECOND_PROBABILITY: Final = 0.97
"""Wanted of a trim that began anew: what did not settle once is a machine of the harder kind,
and with 0.90 wanted only 83 of 100 such trims are truly inside (simulated)."""
BEGUN_ANEW: Final = f"{MOST_SHOTS} shots did not settle"
"""Reason on record for a trim that began anew from below."""
_POSSIBLE: Final = 0.5


def is_unsettled(state: JobState) -> bool:
    """Return True when an open trim has had as many shots as it may."""
    return state.trim is None and len([s for s in state.shots if s.counts]) >= MOST_SHOTS


def begins_anew(state: JobState, step: TrimStep) -> bool:
    """Return True when the next turn begins the trim anew: once, and where that can help."""
    return is_unsettled(state) and step.feasible and not _is_second(state)


def wanted_probability(state: JobState) -> float:
    """Return how sure the trim must be that the mean is close enough."""
    return SECOND_PROBABILITY if _is_second(state) else PROBABILITY


def anew_via_marks(state: JobState, step: TrimStep, target: Decimal) -> Decimal:
    """Return where to go down to before the wheel comes up to the setting to begin anew at."""
    facts = state.known
    back = back_marks(facts, learnt_play_marks(facts, step))
    return max(target - back, facts.machine.step_marks)


def anew_act(state: JobState, step: TrimStep, target: Decimal, options: tuple[Option, ...]) -> Act:
    """Return the order to look for the cause, to come up from below and to begin anew."""
    via = anew_via_marks(state, step, target)
    return Act(
        stage=Stage.TRIM,
        what="moved",
        order="The trim does not settle. Look for the cause.",
        why=f"{MOST_SHOTS} shots and no settled dose: a wheel that was come to from above, a "
        "loose lock, air in the line, or a slow recharge. These shots are left out from now on.",
        main=f"Set to {plain(target)} and locked",
        expects=Expects.SETTING,
        steps=(
            "Lock tight, no air in the line, hopper full, recharge not too slow?",
            "Release the wheel lock.",
            f"Go down to {plain(via)} first, then come up to {plain(target)}.",
            "Lock the wheel. A loose lock lets the dose creep.",
        ),
        options=options,
        value=plain(target),
        state="warn",
        state_words="Does not settle",
    )


def last_act(state: JobState, step: TrimStep, options: tuple[Option, ...]) -> Act:
    """Return the order that ends the trim: Prove where the mean may be right, else the fault."""
    facts = state.known
    mean = shown_g(Decimal(str(round(g_from_kg(step.mean), 6))), facts.scale.readability_g)
    why = f"{MOST_SHOTS} shots and no settled dose. The mean is about {mean} for {facts.aim_g} g."
    if not step.feasible:
        why = f"{why} {step.because}"
    if step.p_within < _POSSIBLE:
        again = Option(what="again", label="Trim again", asks="Why?")
        return Act(
            stage=Stage.TRIM,
            what="fault",
            order="The trim does not settle. Look for the fault.",
            why=why,
            main="Look for the fault",
            options=(*options, again),
            state="warn",
            state_words="Does not settle",
        )
    return Act(
        stage=Stage.TRIM,
        what="take-as-is",
        order="Take it as it is. The proving run decides.",
        why=why,
        main="Take it as it is",
        expects=Expects.CONFIRM,
        options=tuple(option for option in options if option.what != "take-as-is"),
        state="warn",
        state_words="Does not settle",
        value=BEGUN_ANEW,
    )


def _is_second(state: JobState) -> bool:
    """Return True when the trim began anew because it did not settle."""
    return state.reopened.get(Stage.TRIM.value) == BEGUN_ANEW
