"""Trim: bring the mean dose onto the aim from below, in as few shots as the promise allows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from fillwright.errors import BadInput
from fillwright.jobs.act import Act
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.limits import Limits, judge_weight, limits_of
from fillwright.jobs.setup.settings import (
    advise,
    groups_of,
    learnt_play_marks,
    marks_down,
    marks_near,
    refuse_setting,
    slope_g_per_mark,
    start_marks,
    turn_between,
)
from fillwright.jobs.trim.acts import (
    ShotRow,
    act_of,
    chance_words,
    from_above_marks,
    play_words,
    promise,
    via_marks,
)
from fillwright.jobs.trim.air_out import air_chance, is_unseen
from fillwright.jobs.trim.unsettled import (
    BEGUN_ANEW,
    begins_anew,
    is_unsettled,
    wanted_probability,
)
from fillwright.jobs.trim.why import why_of
from fillwright.jobs.why import Why
from fillwright.records.entries import (
    FactsChanged,
    Payload,
    SettingMoved,
    TrimJudged,
    WeighingTaken,
)
from fillwright.records.fold import JobState, Weighed
from fillwright.records.units import g_from_kg, kg_from_g, m3_from_ml
from fillwright.science.trim import Direction, ShotGroup, TrimStep

__all__ = [
    "ShotRow",
    "TrimLook",
    "judge_shot",
    "look",
    "moved",
    "moved_from_above",
    "take_as_is",
    "trim_again",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimLook:
    """Everything the Trim page shows.

    Parameters
    ----------
    act : Act
        Turn the wheel, or fill and weigh one.
    face : str
        ``"turn"``, ``"weigh"``, ``"last"`` (nothing left to turn or weigh) or ``"end"``.
    limits : Limits
        Aim, band and the rest.
    now_marks, set_marks, via_marks : Decimal or None
        Where the wheel stands, where it must go, and where to go back to first.
    low_marks, high_marks : Decimal or None
        Where the right setting lies 19 times in 20.
    turns : str
        The turn in words.
    rows : tuple of ShotRow
        Shots so far.
    last : ShotRow or None
        The last shot.
    promise : str
        What the next shot will not pass.
    chance_words : str
        How sure the trim is.
    play_words : str
        How one more shot would show the play of the wheel; empty where it is not asked for.
    beforehand : str
        What the wheel, the scale or the cylinder will not allow, said before the first shot.
    why : Why
        The numbers behind the order.
    """

    act: Act
    face: str
    limits: Limits
    now_marks: Decimal | None
    set_marks: Decimal | None
    via_marks: Decimal | None
    low_marks: Decimal | None
    high_marks: Decimal | None
    turns: str
    rows: tuple[ShotRow, ...]
    last: ShotRow | None
    promise: str
    chance_words: str
    play_words: str
    beforehand: str
    why: Why


def look(desk: Desk, state: JobState) -> TrimLook:
    """Return what the Trim page shows."""
    facts = state.known
    limits = limits_of(facts, desk.rule_sets)
    step = _step(desk, state, groups_of(state))
    target = _target_marks(desk, state, step)
    face = _face(state, step)
    rows = tuple(_row(limits, place, shot) for place, shot in enumerate(state.shots, start=1))
    return TrimLook(
        act=act_of(desk, state, step, face, rows, target),
        face=face,
        limits=limits,
        now_marks=state.setting_marks,
        set_marks=target,
        via_marks=via_marks(state, step, target),
        low_marks=_marks_or_none(state, step.setting_low),
        high_marks=_marks_or_none(state, step.setting_high),
        turns=turn_between(facts.machine, state.setting_marks, target),
        rows=rows,
        last=rows[-1] if rows else None,
        promise=promise(state, step, limits),
        chance_words=chance_words(step),
        play_words=play_words(state, step, target) if face == "turn" else "",
        beforehand="" if step.feasible or rows else step.because,
        why=why_of(state, step),
    )


def moved(desk: Desk, number: str, marks: Decimal, press: Press, *, is_locked: bool) -> Act:
    """Keep that the wheel was turned and locked; a trim that does not settle begins anew with it.

    Raises
    ------
    BadInput
        If the setting is not on the scale, the wheel is not locked, or the trim has ended.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if state.trim is not None:
            message = "The trim has ended. Trim again to move the wheel, or turn it in the run."
            raise BadInput(message, field="setting", given=str(marks), code="inconsistent")
        refuse_setting(state.known.machine, marks, is_locked=is_locked, next_is="shot")
        step = _step(desk, state, groups_of(state))
        fact = SettingMoved(
            stage="trim",
            from_marks=state.setting_marks,
            to_marks=marks,
            via_marks=via_marks(state, step, marks),
        )
        anew = [_anew(state)] if begins_anew(state, step) else []
        return look(desk, keep(desk, state, [*anew, fact], press)).act


def moved_from_above(desk: Desk, number: str, marks: Decimal, press: Press) -> Act:
    """Keep that the wheel came down to a setting and was locked, to learn its play there.

    Raises
    ------
    BadInput
        If a shot from above is not asked for now, or not at this setting.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        step = _step(desk, state, groups_of(state))
        place = None
        if state.trim is None and _face(state, step) == "turn":
            place = from_above_marks(state, step, _target_marks(desk, state, step))
        if place is None or marks != place:
            message = (
                "A shot from above is not asked for now. Do what the page orders."
                if place is None
                else f"The shot from above is taken at {place}, not at {marks}."
            )
            raise BadInput(message, field="setting", given=str(marks), code="inconsistent")
        fact = SettingMoved(
            stage="trim", from_marks=state.setting_marks, to_marks=marks, is_from_above=True
        )
        return look(desk, keep(desk, state, [fact], press)).act


def judge_shot(
    desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Judge one shot; when the promise is reached the trim is judged with it."""
    _ = weighing_id
    if state.setting_marks is None:
        message = "The setting is not known yet. Turn the wheel to its starting setting first."
        raise BadInput(message, field="setting", code="missing")
    limits = limits_of(state.known, desk.rule_sets)
    judged = replace(fact, state=judge_weight(limits, fact.net_g))
    facts: list[Payload] = [judged]
    if fact.set_aside or state.trim is not None:
        return facts
    groups = _with(state, fact)
    step = _step(desk, state, groups)
    shots = sum(len(group.readings) for group in groups)
    if step.done:
        facts.append(_judged(state, step, "trimmed", shots))
    return facts


def take_as_is(desk: Desk, number: str, reason: str, press: Press) -> Act:
    """End the trim where it stands, with a reason.

    Raises
    ------
    BadInput
        If nothing has been weighed, or the reason is missing.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        groups = groups_of(state)
        if not groups:
            message = "Nothing is weighed yet. Fill one and weigh it."
            raise BadInput(message, field="shots", code="missing")
        if not reason.strip():
            message = "Say why the setting is taken as it is; the record prints it."
            raise BadInput(message, field="reason", given=reason, code="missing")
        step = _step(desk, state, groups)
        shots = sum(len(group.readings) for group in groups)
        fact = replace(_judged(state, step, "taken-as-is", shots), because=reason.strip())
        return look(desk, keep(desk, state, [fact], press)).act


def trim_again(desk: Desk, number: str, reason: str, press: Press) -> Act:
    """Open the trim again; the shots so far stay on record and are not used."""
    with desk.book.lock:
        state = find_job(desk, number)
        fact = FactsChanged(facts=state.known, reason=reason, reopens=("trim", "prove"))
        return look(desk, keep(desk, state, [fact], press)).act


def _anew(state: JobState) -> FactsChanged:
    """Return that the trim begins anew: its shots stay on record and are not used."""
    return FactsChanged(facts=state.known, reason=BEGUN_ANEW, reopens=("trim", "prove"))


def _with(state: JobState, fact: WeighingTaken) -> tuple[ShotGroup, ...]:
    """Return the stays at settings with one more shot."""
    groups = groups_of(state)
    marks = state.setting_marks or Decimal(0)
    place = m3_from_ml(marks * state.known.cylinder.ml_per_mark)
    weight = kg_from_g(fact.net_g)
    above = state.is_from_above
    if groups and groups[-1].setting == place and groups[-1].from_above == above:
        last = replace(groups[-1], readings=(*groups[-1].readings, weight))
        return (*groups[:-1], last)
    return (*groups, ShotGroup(setting=place, readings=(weight,), from_above=above))


def _step(desk: Desk, state: JobState, groups: tuple[ShotGroup, ...]) -> TrimStep:
    """Return the next act of the trim, with what the flush said of the air."""
    return advise(
        desk,
        state.known,
        groups,
        air_chance=air_chance(desk, state),
        is_air_unseen=is_unseen(state),
        probability=wanted_probability(state),
    )


def _judged(state: JobState, step: TrimStep, verdict: str, shots: int) -> TrimJudged:
    """Return the end of the trim with its figures."""
    return TrimJudged(
        verdict=verdict,  # type: ignore[arg-type]  # one of the kind's own words
        setting_marks=state.setting_marks or Decimal(0),
        shots=shots,
        p_within=step.p_within,
        mean_g=g_from_kg(step.mean),
        sd_g=g_from_kg(step.sd),
        slope_g_per_mark=slope_g_per_mark(state.known),
        because=step.because,
        lost_motion_marks=learnt_play_marks(state.known, step),
    )


def _target_marks(desk: Desk, state: JobState, step: TrimStep) -> Decimal:
    """Return where the wheel must go, on a half tick, from below."""
    facts = state.known
    if not groups_of(state):
        return state.setting_marks or start_marks(desk, facts)
    if step.direction is Direction.STAY:
        return state.setting_marks or marks_down(facts, step.setting)
    target = marks_near(facts, step.setting)
    if state.is_from_above:
        return target
    if step.direction is Direction.UP and target == state.setting_marks:
        target += facts.machine.step_marks / 2
    elif target == state.setting_marks:
        target -= facts.machine.step_marks / 2
    return target


def _face(state: JobState, step: TrimStep) -> str:
    """Return whether to turn or to weigh now."""
    if state.trim is not None:
        return "end"
    if state.setting_marks is None or begins_anew(state, step):
        return "turn"
    if is_unsettled(state):
        return "last"
    fresh = [s for s in state.shots if s.counts]
    if not fresh or fresh[-1].fact.setting_marks != state.setting_marks:
        return "weigh"
    if state.moves and state.moves[-1][0] > fresh[-1].at:
        # The wheel came back to the same number: what it fills there now is not known yet.
        return "weigh"
    return "weigh" if step.direction is Direction.STAY else "turn"


def _marks_or_none(state: JobState, setting: float) -> Decimal | None:
    """Return a likely setting in marks, once something has been weighed."""
    return marks_near(state.known, setting) if groups_of(state) else None


def _row(limits: Limits, place: int, shot: Weighed) -> ShotRow:
    """Return one shot as the page lists it."""
    return ShotRow(
        place=place,
        entry_id=shot.id,
        setting_marks=shot.fact.setting_marks,
        net_g=shot.fact.net_g,
        to_go_g=limits.aim_g - shot.fact.net_g,
        state=shot.fact.state,
        note=shot.struck or shot.fact.set_aside,
    )
