"""Set up: the machine made ready step by step, the scale checked, the empties weighed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.act import Act, Expects, Option
from fillwright.jobs.desk import Desk, Press, find_job, keep, keep_on_site
from fillwright.jobs.setup.good_scale import ScaleLook, scale_look
from fillwright.jobs.setup.settings import refuse_setting, start_marks, turn_between
from fillwright.jobs.setup.steps import AIR_OUT, STROKES_STEP, Step, steps_of
from fillwright.jobs.setup.stroke_times import StrokeReading, strokes_timed
from fillwright.jobs.setup.tare_fit import tare_note, tare_warning
from fillwright.jobs.trim.air_out import AirLook, air_look, judged, reading_words
from fillwright.jobs.trim.air_out import act_of as air_act
from fillwright.jobs.why import spread_g
from fillwright.jobs.words import decimals_of, plain
from fillwright.records.entities import JobFacts, Stage
from fillwright.records.entries import (
    CheckTaken,
    Payload,
    SettingMoved,
    StepDone,
    TareSet,
    WeighingTaken,
)
from fillwright.records.fold import JobState
from fillwright.records.proofwords import spread_words

__all__ = [
    "EMPTIES",
    "SetupLook",
    "Step",
    "StepRow",
    "cannot",
    "check_of",
    "done",
    "judge_empty",
    "judge_purge",
    "look",
    "steps_of",
    "tare_of_the_rest",
]

EMPTIES: Final = 10
_SHARE_OF_STEP: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRow:
    """A step with how it stands: done, cannot, now or later."""

    step: Step
    status: str
    reading: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupLook:
    """Everything the Set up page shows."""

    act: Act
    now: Step | None
    rows: tuple[StepRow, ...]
    empties_g: tuple[Decimal, ...]
    tare_words: str
    tare_warning: str
    start_marks: Decimal
    turns: str
    scale: ScaleLook
    air: AirLook


def look(desk: Desk, state: JobState) -> SetupLook:
    """Return what the Set up page shows."""
    steps = steps_of(desk, state)
    now = next((step for step in steps if step.key not in state.steps), None)
    rows = tuple(
        StepRow(
            step=step,
            status=_status(state, step, now),
            reading=state.steps[step.key].reading if step.key in state.steps else "",
            reason=state.steps[step.key].reason if step.key in state.steps else "",
        )
        for step in steps
    )
    start = start_marks(desk, state.known)
    return SetupLook(
        act=_act(desk, state, now),
        now=now,
        rows=rows,
        empties_g=tuple(w.fact.net_g for w in state.empties),
        tare_words=_tare_words(desk, state),
        tare_warning=""
        if state.tare is None
        else tare_warning(desk.rule_sets, state.known, state.tare),
        start_marks=start,
        turns=turn_between(state.known.machine, state.setting_marks, start),
        scale=scale_look(state),
        air=air_look(desk, state),
    )


def done(
    desk: Desk,
    number: str,
    key: str,
    reading: str,
    press: Press,
    *,
    strokes: StrokeReading | None = None,
) -> Act:
    """Keep a step as done.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    key : str
        Which step.
    reading : str
        What was read, where the step asks for a reading or a setting.
    press : Press
        Who pressed.
    strokes : StrokeReading, optional
        What else was read of the strokes, at the step that times them.

    Returns
    -------
    Act
        The next act of setting up.

    Raises
    ------
    BadInput
        If there is no such step, or the reading cannot be one.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        step = _step(desk, state, key)
        facts: list[Payload] = []
        value: Decimal | None = None
        if step.expects in (Expects.READING, Expects.SETTING):
            value = _reading(step, reading)
        if key == "scale" and value is not None:
            facts.append(check_of(state.known, value))
        if key == "setting" and value is not None:
            facts.append(_setting(state, value))
        if key == "empties":
            facts.append(_tare(state))
        timed = None
        if key == STROKES_STEP:
            timed = strokes_timed(desk, state, value, strokes or StrokeReading())
        if timed is not None:
            facts.append(timed)
        words = f"{reading} {step.unit}".strip() if value is not None else ""
        if key == AIR_OUT:
            words = reading_words(state)
        facts.insert(0, StepDone(step=key, outcome="done", reading=words))
        failed = [f for f in facts if isinstance(f, CheckTaken) and not f.passed]
        if failed:
            keep(desk, state, failed, press)
            message = (
                f"The scale read {reading} g for {failed[0].weight_g} g, more than "
                f"{failed[0].allowed_g} g away. Level it, zero it and weigh again, or use "
                "another scale."
            )
            raise BadInput(message, field="reading", given=reading, code="range")
        kept = keep(desk, state, facts, press)
        if timed is not None:
            keep_on_site(desk, [timed], press)
        return look(desk, kept).act


def cannot(desk: Desk, number: str, key: str, reason: str, press: Press) -> Act:
    """Keep a step as one that could not be done, with the reason; the job goes on.

    Raises
    ------
    BadInput
        If there is no such step or the reason is missing.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        _step(desk, state, key)
        if not reason.strip():
            message = "Say why it cannot be done; the record prints it."
            raise BadInput(message, field="reason", given=reason, code="missing")
        fact = StepDone(step=key, outcome="cannot", reason=reason.strip())
        return look(desk, keep(desk, state, [fact], press)).act


def judge_empty(
    desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Keep an empty; with the last of them the average is fixed and the step done."""
    _ = (desk, weighing_id)
    facts: list[Payload] = [fact]
    have = [w.fact.net_g for w in state.empties]
    if not fact.set_aside:
        have.append(fact.net_g)
    if len(have) >= EMPTIES and "empties" not in state.steps:
        facts.append(_tare_of(have, state.known.scale.readability_g))
        facts.append(StepDone(step="empties", outcome="done", reading=f"{len(have)} empties"))
    return facts


def tare_of_the_rest(facts: JobFacts, left_g: list[Decimal]) -> list[Payload]:
    """Return the average of the empties that are left; none where too few are."""
    least = 2
    return [_tare_of(left_g, facts.scale.readability_g)] if len(left_g) >= least else []


def judge_purge(
    desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Keep a purge shot; it is never used, but it may show that the air is out."""
    _ = weighing_id
    kept = replace(fact, set_aside=fact.set_aside or "purge")
    if fact.set_aside or AIR_OUT in state.steps:
        return [kept]
    found = judged(desk, state, fact.net_g)
    if found is None:
        return [kept]
    done_ = StepDone(step=AIR_OUT, outcome="done", reading=f"{found.shots} shots")
    return [kept, found, done_]


def _status(state: JobState, step: Step, now: Step | None) -> str:
    """Return done, cannot, now or later."""
    if step.key in state.steps:
        return state.steps[step.key].outcome
    return "now" if step is now else "later"


def _act(desk: Desk, state: JobState, now: Step | None) -> Act:
    """Return the act of the step in hand, or the way on."""
    if now is None:
        return Act(
            stage=Stage.SET_UP,
            what="next",
            order="Set up. Go on with Trim.",
            why="Every step is done or has its reason.",
            main="Go on with Trim",
            state="on",
            state_words="Set up",
        )
    if now.key == AIR_OUT:
        return air_act(desk, state, now)
    order, main, value = now.order, now.main, now.value
    if now.key == "empties":
        have = len(state.empties)
        order = f"Weigh empty {state.known.container.word} {have + 1} of {EMPTIES}."
        value = str(have + 1)
    return Act(
        stage=Stage.SET_UP,
        what="weigh" if now.expects is Expects.WEIGHT else "done",
        order=order,
        why=now.why,
        main=main,
        expects=now.expects,
        cautions=now.cautions,
        steps=now.hands,
        options=(Option(what="cannot", label="Cannot do this", key="*", asks="Why not?"),),
        value=value,
    )


def _step(desk: Desk, state: JobState, key: str) -> Step:
    """Return the step with this key."""
    for step in steps_of(desk, state):
        if step.key == key:
            return step
    message = f"There is no step {key!r} in setting up this job."
    raise BadInput(message, field="step", given=key, code="choice")


def _reading(step: Step, text: str) -> Decimal:
    """Return what was read as a number."""
    try:
        value = Decimal(text.strip().replace(",", "."))
    except ArithmeticError as error:
        message = f"{text!r} is not a number. Type what it reads, in {step.unit or 'marks'}."
        raise BadInput(message, field="reading", given=text, code="type") from error
    if not value.is_finite() or value < 0:
        message = f"{text} cannot be read here. Type a number of zero or more."
        raise BadInput(message, field="reading", given=text, allowed="zero or more")
    return value


def check_of(facts: JobFacts, reading_g: Decimal) -> CheckTaken:
    """Return the check of the scale: two of its steps are allowed."""
    allowed = facts.scale.readability_g * _SHARE_OF_STEP
    off = abs(reading_g - facts.scale.check_weight_g)
    return CheckTaken(
        weight_g=facts.scale.check_weight_g,
        reading_g=reading_g,
        allowed_g=allowed,
        passed=off <= allowed,
    )


def _setting(state: JobState, marks: Decimal) -> SettingMoved:
    """Return the move of the wheel to its starting setting."""
    if state.trim is not None:
        message = "The wheel is trimmed already. Trim again to move it, or turn it in the run."
        raise BadInput(message, field="reading", given=str(marks), code="inconsistent")
    refuse_setting(state.known.machine, marks, is_locked=True, next_is="step")
    return SettingMoved(stage="setup", from_marks=state.setting_marks, to_marks=marks)


def _tare(state: JobState) -> TareSet:
    """Return the average of the empties weighed so far."""
    have = [w.fact.net_g for w in state.empties]
    least = 2
    if len(have) < least:
        message = f"Only {len(have)} empties are weighed. Weigh at least two."
        raise BadInput(message, field="empties", given=len(have), allowed="2 or more")
    return _tare_of(have, state.known.scale.readability_g)


def _tare_of(have: list[Decimal], step: Decimal) -> TareSet:
    """Return the average empty, kept to a tenth of the scale's step."""
    mean = sum(have, Decimal(0)) / len(have)
    spread = float(sum((w - mean) ** 2 for w in have) / (len(have) - 1)) ** 0.5
    return TareSet(
        tare_g=mean.quantize(step / 10, rounding=ROUND_HALF_EVEN),
        sd_g=spread,
        empties=len(have),
    )


def _tare_words(desk: Desk, state: JobState) -> str:
    """Return what the average empty is, and how sure."""
    if state.tare is None:
        return ""
    step = state.known.scale.readability_g
    sd_g, upper_g = spread_g([w.fact.net_g for w in state.empties], step)
    words = (
        f"Average empty {plain(state.tare.tare_g)} g, spread "
        f"{spread_words(sd_g, upper_g, places=decimals_of(step) + 1)}."
    )
    return f"{words} {tare_note(desk.rule_sets, state.known, state.tare)}".strip()
