"""What the Trim page orders and says: turn, weigh, or look for the cause."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from fillwright.jobs.act import CAUTIONS, Act, Expects, Option
from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import Limits, limits_of
from fillwright.jobs.match.stage import cautions_of
from fillwright.jobs.setup.settings import back_marks, groups_of, learnt_play_marks
from fillwright.jobs.trim.unsettled import (
    anew_act,
    anew_via_marks,
    begins_anew,
    is_unsettled,
    last_act,
)
from fillwright.jobs.words import plain, shown_g
from fillwright.records.entities import Stage
from fillwright.records.fold import JobState
from fillwright.records.units import g_from_kg
from fillwright.science.trim import TrimStep

__all__ = [
    "ShotRow",
    "act_of",
    "chance_words",
    "from_above_marks",
    "play_words",
    "promise",
    "via_marks",
]


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
    if begins_anew(state, step):
        return anew_act(state, step, target, options)
    if is_unsettled(state):
        return last_act(state, step, options)
    is_coarse = bool(rows) and not step.feasible
    state_name, state_words = ("warn", "Does not settle") if is_coarse else _tag(state, desk)
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
    via = via_marks(state, step, target)
    down = via is not None
    hands = (
        "Release the wheel lock.",
        f"Go down to {plain(via)} first, then come up to {plain(target)}."
        if via is not None
        else f"Turn up to {plain(target)}. If you pass it, go back a clear division and come up.",
        "Lock the wheel. A loose lock lets the dose creep.",
    )
    why = step.because
    if state.is_from_above and not down:
        why = "The way up takes up the play of the wheel."
    stop = from_above_marks(state, step, target)
    if stop is not None:
        label = f"Learn the play at {plain(stop)}"
        options = (*options, Option(what="from-above", label=label, value=plain(stop)))
    return Act(
        stage=Stage.TRIM,
        what="moved",
        order=f"Turn the wheel {'down and up' if down else 'up'} to {plain(target)}.",
        why=why,
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
    if state.is_from_above:
        return "Come to from above: this shot shows the play of the wheel."
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


def via_marks(state: JobState, step: TrimStep, target: Decimal) -> Decimal | None:
    """Return where to go back to first, when coming from above."""
    now = state.setting_marks
    if now is None:
        return None
    if begins_anew(state, step):
        return anew_via_marks(state, step, target)
    facts = state.known
    back = max(
        target - back_marks(facts, learnt_play_marks(facts, step)), facts.machine.step_marks
    )
    # After a setting from above, a way up shorter than the play would not take it up.
    is_down = back < now if state.is_from_above else target < now
    return back if is_down else None


def play_words(state: JobState, step: TrimStep, target: Decimal) -> str:
    """Return how one shot shows the play of the wheel; empty where none is asked for."""
    stop = from_above_marks(state, step, target)
    if stop is None:
        return ""
    down = via_marks(state, step, target) is not None
    way = "come down to" if down else "go past it, come back down to"
    return (
        f"Once for this machine and product: {way} {plain(stop)}, lock, press "
        f'"Learn the play at {plain(stop)}", and fill one there.'
    )


def from_above_marks(state: JobState, step: TrimStep, target: Decimal) -> Decimal | None:
    """Return where one shot from above would show the play of the wheel; None for nowhere.

    On the way down it is where the wheel turns round, on the way up where it stands now: at
    both the dose, play and all, stays below the one that is ordered.
    """
    now, play = state.setting_marks, state.known.machine.lost_motion_marks
    if now is None or step.lost_motion_learnt or play == 0 or not groups_of(state):
        return None
    if begins_anew(state, step):
        # What is not understood is no ground to learn from.
        return None
    via = via_marks(state, step, target)
    if via is not None:
        return via
    return now if now + 2 * play <= target else None
