"""Run: weigh the last of each tray, hold what is suspect, turn only for a reason.

One odd weight asks for two more; a turn follows only what two more confirm, a CUSUM that
passed its limit, or a level outside the dead band.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Literal, get_args

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.limits import Limits, judge_weight, limits_of
from fillwright.jobs.run.cartons import refuse_untared
from fillwright.jobs.run.look import RunLook, look
from fillwright.jobs.run.sign import EVERY, news_of
from fillwright.jobs.run.turn import advised_turn, due_container
from fillwright.jobs.run.watch import USUAL, chosen, way_of
from fillwright.jobs.setup.settings import refuse_setting
from fillwright.records.entries import (
    AdjustmentMade,
    ContainersHeld,
    LotTaken,
    Payload,
    RunFinished,
    RunPaused,
    RunStarted,
    SignalRaised,
    WeighingTaken,
)
from fillwright.records.fold import JobState
from fillwright.records.runbook import Pending, RunBook
from fillwright.records.units import kg_from_g
from fillwright.science.suspect import change_not_before
from fillwright.science.watch import (
    Signal,
    SignalKind,
    SignalSide,
    standard_terms,
    watch_confirms,
    watch_take,
)

__all__ = ["RunLook", "adjust", "finish", "judge_dose", "look", "noticed", "pause", "start"]

_HIGH_STATES = ("high", "overfull")
_LOOKED_BACK = 200


def start(
    desk: Desk,
    number: str,
    press: Press,
    *,
    without_proof: str = "",
    watch: str = USUAL,
    lots: Sequence[LotTaken] = (),
) -> RunLook:
    """Start the run.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    press : Press
        Who pressed.
    without_proof : str
        Reason, where the claim is not proved.
    watch : str
        How the run is watched; `WAYS` has the ways.
    lots : sequence of LotTaken
        Cartons and drum that are there from the first; kept with the start, or not at all.

    Returns
    -------
    RunLook
        The run as it stands.

    Raises
    ------
    BadInput
        If the claim is not proved and no reason is given, or there is no such way to watch.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if state.run is not None and state.run.started is not None:
            return look(desk, state)
        proof = state.proof
        if (proof is None or proof.verdict != "proved") and not without_proof.strip():
            message = "The dose is not proved. Prove it, or say why the run starts without it."
            raise BadInput(message, field="reason", code="missing")
        fact = RunStarted(
            first_container=state.filled_to + 1,
            sd_g=None if proof is None else proof.dose_sd_g,
            sd_readings=0 if proof is None else proof.shots,
            without_proof=without_proof.strip(),
        )
        way = chosen(way_of(watch))
        return look(desk, keep(desk, state, [*lots, way, fact], press))


def judge_dose(
    desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Judge one weight of the run: kept, and with it whatever it means."""
    book = state.run
    if book is None or book.started is None:
        message = "The run has not started. Start it first."
        raise BadInput(message, field="run", code="inconsistent")
    if book.finished is not None:
        message = "The run is finished. Weigh what is held, or go on with Release."
        raise BadInput(message, field="run", code="inconsistent")
    if book.is_scale_off and not fact.set_aside:
        message = "The weighing scale failed its check. Check it again before the next weight."
        raise BadInput(message, field="run", code="inconsistent")
    container = fact.container or due_container(state) or state.filled_to + 1
    _refuse_old(state, container)
    refuse_untared(state, container, fact)
    filled_to = max(container, fact.filled_to or 0)
    facts_then = state.lots.facts_for(state.known, container)
    limits = limits_of(facts_then, desk.rule_sets)
    judged = replace(
        fact,
        container=container,
        filled_to=filled_to,
        state=judge_weight(limits, fact.net_g),
    )
    if fact.set_aside:
        aside = ContainersHeld(first=container, last=container, reason=fact.set_aside)
        return [judged, aside]
    if book.pending is not None and book.pending.outcome() == "waiting":
        return _second_look(state, book, book.pending, judged)
    return _first_look(state, book, limits, judged, weighing_id)


def noticed(state: JobState, facts: Sequence[Payload], *, is_kept: bool) -> list[Payload]:
    """Return what the weights of the run newly look like, where it is time to look.

    Parameters
    ----------
    state : JobState
        The job.
    facts : sequence of Payload
        A weight as it was judged, first.
    is_kept : bool
        Whether the state has them already.

    Returns
    -------
    list of Payload
        A finding, or nothing.
    """
    book, dose = state.run, facts[0]
    if book is None or not isinstance(dose, WeighingTaken) or dose.purpose != "dose":
        return []
    count = book.weighed_since_start + (not is_kept)
    is_signal = any(isinstance(fact, SignalRaised) for fact in facts)
    if dose.set_aside or (count % EVERY and not is_signal):
        return []
    news = news_of(state) if is_kept else news_of(state, dose.container, float(dose.net_g))
    return [] if news is None else [news]


def adjust(desk: Desk, number: str, marks: Decimal, press: Press, *, is_locked: bool) -> RunLook:
    """Keep a turn of the wheel in the run; a new block starts with its own middle.

    Raises
    ------
    BadInput
        If the setting is not on the scale, the wheel is not locked, or no run is open.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        book = _open_run(state)
        refuse_setting(state.known.machine, marks, is_locked=is_locked, next_is="fill")
        turn = advised_turn(state, book)
        fact = AdjustmentMade(
            after_container=state.filled_to,
            from_marks=state.setting_marks or marks,
            to_marks=marks,
            advised_marks=turn.to_marks,
            mean_deviation_g=turn.mean_deviation_g,
            believed_share=turn.believed_share,
        )
        return look(desk, keep(desk, state, [fact], press))


def pause(
    desk: Desk,
    number: str,
    reason: Literal["pause", "refill", "fault"],
    press: Press,
    *,
    note: str = "",
    filled_to: int | None = None,
) -> RunLook:
    """Interrupt the run; the next container is weighed when it goes on.

    Raises
    ------
    BadInput
        If no run is open, the reason is not one of the three, or more are named as filled
        than the lot can have.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        _open_run(state)
        if reason not in get_args(Literal["pause", "refill", "fault"]):
            message = "Say what stopped the run: pause, refill or fault."
            raise BadInput(message, field="reason", given=reason, code="choice")
        _refuse_beyond(state, filled_to, "filled_to")
        after = state.filled_to if filled_to is None else max(filled_to, state.filled_to)
        fact = RunPaused(reason=reason, after_container=after, note=note.strip())
        return look(desk, keep(desk, state, [fact], press))


def finish(desk: Desk, number: str, filled: int, press: Press, *, reason: str = "") -> RunLook:
    """Finish the run with the number of containers that were filled.

    Raises
    ------
    BadInput
        If fewer are named than have been weighed or more than the lot can have, the number
        differs from the plan without a reason, or weights are still owed.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        book = _open_run(state)
        word = state.known.container.word
        _refuse_beyond(state, filled, "filled")
        if filled < state.filled_to:
            message = (
                f"{word.capitalize()} {state.filled_to} is filled already, so {filled} cannot "
                "be all. Type the number of the last one."
            )
            raise BadInput(message, field="filled", given=filled, allowed="the last one filled")
        if book.pending is not None and book.pending.outcome() == "waiting":
            message = f"Two more {word}s are owed: fill and weigh them before finishing."
            raise BadInput(message, field="filled", given=filled, code="inconsistent")
        # Two more that a signal asked for at the end may lie beyond the plan.
        planned = max(state.known.lot_size, state.filled_to)
        if filled != planned and not reason.strip():
            message = (
                f"The job was planned for {state.known.lot_size}; say why it ends at {filled}."
            )
            raise BadInput(message, field="reason", given=reason, code="missing")
        facts: list[Payload] = [RunFinished(filled=filled, reason=reason.strip())]
        if filled > book.last_weighed:
            reason = "filled after the last weight"
            held = ContainersHeld(first=book.last_good + 1, last=filled, reason=reason)
            facts.insert(0, held)
        return look(desk, keep(desk, state, facts, press))


def _open_run(state: JobState) -> RunBook:
    """Return the run that is open."""
    if state.run is None or state.run.started is None or state.run.finished is not None:
        message = "No run is open in this job."
        raise BadInput(message, field="run", code="inconsistent")
    return state.run


def _refuse_beyond(state: JobState, number: int | None, field: str) -> None:
    """Refuse a number of containers that this lot cannot have."""
    # Proving runs that were repeated may have filled more than a small lot was planned for.
    most = max(state.known.lot_size, state.filled_to) + state.known.tray_size
    if number is not None and number > most:
        message = f"{number} is beyond this lot of {state.known.lot_size}."
        raise BadInput(message, field=field, given=number, allowed=f"to {most}")


def _refuse_old(state: JobState, container: int) -> None:
    """Refuse a container that was weighed before."""
    book = state.run
    word = state.known.container.word
    if book is not None and container <= book.last_weighed:
        message = (
            f"{word.capitalize()} {container} was passed already; the last weighed was "
            f"{book.last_weighed}. Type the number of the {word} on the pan."
        )
        raise BadInput(message, field="container", given=container, code="inconsistent")


def _side(state: str) -> Literal["low", "high"]:
    """Return on which side a judged state lies."""
    return "high" if state in _HIGH_STATES else "low"


def _first_look(
    state: JobState, book: RunBook, limits: Limits, judged: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Judge a weight with nothing pending."""
    container, filled_to = judged.container or 0, judged.filled_to or 0
    signal: str = ""
    side: Literal["low", "high"] = "low"
    because, limit, since = "", None, book.last_good
    taken = _taken(book, judged)
    if judged.state != "on":
        signal, side = "band", _side(judged.state)
        limit = float(limits.band_low_g if side == "low" else limits.band_high_g)
        if judged.state in ("short", "far-short", "overfull"):
            signal = judged.state
        because = f"{judged.net_g} g is {judged.state.replace('-', ' ')}."
    elif taken is not None:
        signal, because = taken.kind.value, taken.because
        side = "high" if taken.side.value == "high" else "low"
        if taken.kind is SignalKind.BEYOND_3SD:
            judged = replace(judged, state=side)
    if not signal:
        return [judged]
    if taken is not None:
        # What lies before a turn was of another level: the sums began anew with it.
        zero = max(book.container_of_check(taken.since_check), book.block_from - 1)
        since = min(since, zero)
        if taken.kind is not SignalKind.BEYOND_3SD:
            since = min(since, _change_after(book, float(judged.net_g) - book.aim_g))
    raised = SignalRaised(
        weighing_id=weighing_id,
        signal=signal,
        side=side,
        container=container,
        limit_g=limit,
        because=because,
    )
    held = ContainersHeld(
        first=max(since + 1, 1),
        last=filled_to,
        reason=f"{state.known.container.word} {container}: {because}",
    )
    return [judged, raised, held]


def _change_after(book: RunBook, deviation_g: float) -> int:
    """Return the last container before which a shift that alarmed cannot well have begun.

    The sums were last at zero after a small shift began more often than one would think; so
    the hold goes back to where the change lies after with 95 %, where that is earlier.
    """
    terms = None if book.watch is None else standard_terms(book.watch)
    if terms is None or terms.spread == 0.0:
        return book.last_weighed
    window = [*book.deviations_g[-_LOOKED_BACK:], deviation_g]
    sds = [(kg_from_g(value) - terms.about) / terms.spread for value in window]
    before = change_not_before(sds)
    place = len(book.positions) - (len(window) - 1) + before
    return int(book.positions[place - 1]) if place > 0 else book.block_from - 1


def _taken(book: RunBook, judged: WeighingTaken) -> Signal | None:
    """Return what the watch says of a weight; None where it says nothing."""
    if book.watch is None:
        return None
    deviation = kg_from_g(float(judged.net_g) - book.aim_g)
    signal = watch_take(book.watch, deviation, position=float(judged.container or 0)).signal
    return None if signal.kind is SignalKind.NONE else signal


def _agrees(book: RunBook, pending: Pending, judged: WeighingTaken) -> bool:
    """Say whether two more weights, both inside the band, are off the way the first one was.

    A band may be many times as wide as the scatter: inside it is no sign that nothing moved.
    """
    if judged.state != "on" or pending.seen != ["on"] or book.watch is None:
        return False
    both = [pending.deviations_g[-1], float(judged.net_g) - book.aim_g]
    side = SignalSide(pending.side)
    return watch_confirms(book.watch, [kg_from_g(off) for off in both], side=side)


def _second_look(
    state: JobState, book: RunBook, pending: Pending, judged: WeighingTaken
) -> list[Payload]:
    """Judge one of the two more weights that a signal asked for."""
    if _agrees(book, pending, judged):
        judged = replace(judged, state=pending.side)
    facts: list[Payload] = [judged]
    seen = [*pending.seen, judged.state]
    if judged.state != "on" or any(other != "on" for other in pending.seen):
        first = pending.container + 1 if len(seen) > 1 else state.filled_to + 1
        facts.append(
            ContainersHeld(
                first=min(first, judged.container or first),
                last=judged.filled_to or judged.container or first,
                reason=f"{state.known.container.word} {judged.container}: "
                f"{judged.state.replace('-', ' ')}, after a signal",
            )
        )
    return facts
