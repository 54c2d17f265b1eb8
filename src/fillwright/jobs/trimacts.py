"""What the Trim page orders and says: turn, weigh, or look for the cause."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from fillwright.jobs.act import CAUTIONS, Act, Expects, Option
from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import Limits, limits_of
from fillwright.jobs.match import cautions_of
from fillwright.jobs.settings import groups_of
from fillwright.jobs.words import plain, shown_g
from fillwright.records.entities import Stage
from fillwright.records.fold import JobState
from fillwright.records.units import g_from_kg
from fillwright.science.trim import TrimStep

__all__ = ["MOST_SHOTS", "ShotRow", "act_of", "chance_words", "promise", "via_marks"]

MOST_SHOTS: Final = 15
"""After so many shots the promise is not in reach: look for a fault."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotRow:
    """One weighed shot of the trim."""

    place: int
    entry_id: str
    setting_marks: Decimal | None
    net_g: Decimal
    to_go_g: Decimal
    state: str
    note: str


def act_of(  # the page's order depends on all of these
    desk: Desk,
    state: JobState,
    step: TrimStep,
    face: str,
    rows: tuple[ShotRow, ...],
    target: Decimal,
) -> Act:
    """Return the order of the page."""
    word = state.known.container.word
    options = (
        Option(what="undo", label="Undo last shot", key="-"),
        Option(what="take-as-is", label="Take it as it is", asks="Why?"),
    )
    if state.trim is not None:
        return Act(
            stage=Stage.TRIM,
            what="next",
            order=f"Trimmed at {plain(state.trim.setting_marks)}. Go on with Prove.",
            why=f"{state.trim.shots} weighed shots. {_end_words(state)}",
            main="Go on with Prove",
            options=(Option(what="again", label="Trim again", asks="Why?"),),
            state="on",
            state_words="Trimmed",
        )
    state_name, state_words = _tag(state, desk)
    counted = len([r for r in rows if not r.note])
    if counted >= MOST_SHOTS or (rows and not step.feasible):
        return Act(
            stage=Stage.TRIM,
            what="weigh",
            order="The trim does not settle. Look for the cause.",
            why=(
                f"{counted} shots and no settled dose: air in the line, a loose lock, a slow "
                "recharge, or a cylinder too big for this dose."
            )
            if counted >= MOST_SHOTS
            else step.because,
            main="Keep one more",
            expects=Expects.WEIGHT,
            cautions=cautions_of(state.known),
            options=options,
            state="warn",
            state_words="Does not settle",
        )
    if face == "turn":
        return _turn_act(state, step, target, options, (state_name, state_words))
    return Act(
        stage=Stage.TRIM,
        what="weigh",
        order=f"Fill one {word} and weigh it.",
        why=_why_weigh(state, step),
        main="Keep",
        expects=Expects.WEIGHT,
        cautions=(CAUTIONS["pinch"], *cautions_of(state.known)) if not rows else (),
        options=options,
        state=state_name,
        state_words=state_words,
    )


def _turn_act(
    state: JobState,
    step: TrimStep,
    target: Decimal,
    options: tuple[Option, ...],
    tag: tuple[str, str],
) -> Act:
    """Return the order to turn the wheel."""
    now = state.setting_marks
    down = now is not None and target < now
    via = via_marks(state, target)
    back = via if via is not None else (now or Decimal(0))
    hands = (
        "Release the wheel lock.",
        f"Go down to {plain(back)} first, then come up to {plain(target)}."
        if down
        else f"Turn up to {plain(target)}. If you pass it, go back a clear division and come up.",
        "Lock the wheel. A loose lock lets the dose creep.",
    )
    return Act(
        stage=Stage.TRIM,
        what="moved",
        order=f"Turn the wheel {'down and up' if down else 'up'} to {plain(target)}.",
        why=step.because,
        main=f"Set to {plain(target)} and locked",
        expects=Expects.SETTING,
        steps=hands,
        options=options,
        value=plain(target),
        state=tag[0],
        state_words=tag[1],
    )


def _end_words(state: JobState) -> str:
    """Return how the trim ended, without a bare percentage."""
    if state.trim is None or state.trim.verdict == "trimmed":
        return "The mean dose is likely close enough to the aim."
    return f"Taken as it is: {state.trim.because}."


def _tag(state: JobState, desk: Desk) -> tuple[str, str]:
    """Return the last shot's state as a tag; in the band is not yet on the aim."""
    counted = [s for s in state.shots if s.counts]
    if not counted:
        return "", ""
    last = counted[-1].fact
    limits = limits_of(state.known, desk.rule_sets)
    if last.state == "on":
        side = "below" if last.net_g < limits.aim_g else "above"
        return (
            ("on", "On the aim")
            if last.net_g == limits.aim_g
            else (
                "on",
                f"In band, {side} aim",
            )
        )
    words = {"low": "Low", "high": "High", "overfull": "Overfull"}.get(last.state, "Short")
    # While trimming from below, a light shot is on its way up and not a short pack.
    if last.state in ("short", "far-short"):
        return "low", "Low"
    return last.state, words


def _why_weigh(state: JobState, step: TrimStep) -> str:
    """Return why one more is wanted here."""
    if not groups_of(state):
        return "The first shot says how far there is to go."
    return step.because


def promise(state: JobState, step: TrimStep, limits: Limits) -> str:
    """Return the overfill promise of the next shot."""
    readability = state.known.scale.readability_g
    word = state.known.container.word
    upper = Decimal(str(round(g_from_kg(step.next_upper), 6)))
    brim = shown_g(limits.brim_g, readability)
    if upper > limits.brim_exact_g:
        return f"The next shot may pass the brim ({brim}). Hold a bigger {word} under the nozzle."
    return (
        f"19 times in 20 the next shot stays under {shown_g(upper, readability)}. "
        f"The {word} brims at {brim}."
    )


def chance_words(step: TrimStep) -> str:
    """Return how sure the trim is, in words."""
    likely, possible = 0.9, 0.5
    if step.p_within >= likely:
        return "The mean dose is likely close enough to the aim."
    if step.p_within >= possible:
        return "The mean dose is possibly close enough to the aim."
    return "The mean dose is not likely close enough to the aim yet."


def via_marks(state: JobState, target: Decimal) -> Decimal | None:
    """Return where to go back to first, when coming from above."""
    now = state.setting_marks
    if now is None or target >= now:
        return None
    back = target - 2 * state.known.machine.lost_motion_marks
    return max(back, state.known.machine.step_marks)
