"""Plays a job by its acts on the simulated bench, as a person would: one act at a time."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from fillwright.jobs import match, prove, release, run, settle, setup, trim
from fillwright.jobs.act import Act, Expects
from fillwright.jobs.desk import Desk, Press, find_job
from fillwright.jobs.traveller import next_act, purpose_now
from fillwright.jobs.weigh import weigh
from fillwright.records.capture import Capture
from fillwright.records.codec import new_id
from fillwright.records.entities import Person, Stage
from fillwright.records.fold import JobState
from fillwright.records.spans import Span
from fillwright.scale.simulated import SimulatedBench

__all__ = ["Told", "play", "ready_for", "stand_by"]

Told = Callable[[JobState, Act], None]
_READINGS = {"air": "5.8", "strokes": "44"}
_FLUSHING = 14
_MOST_PROOFS = 4
_MOST_ACTS = 20_000


def play(
    desk: Desk,
    number: str,
    bench: SimulatedBench,
    person: Person,
    *,
    until: Callable[[JobState], bool],
    seed: int,
    told: Told | None = None,
) -> JobState:
    """Do what the job asks for, act by act, until it stands where it should.

    Parameters
    ----------
    desk : Desk
        Where the job is.
    number : str
        Job number.
    bench : SimulatedBench
        Fills and weighs.
    person : Person
        Who is at the bench.
    until : callable
        True for a state to stop at.
    seed : int
        For the draw of the lot sample.
    told : callable, optional
        Told the state and each act before it is done.

    Returns
    -------
    JobState
        The job as it stands then.
    """
    press = Press(person=person.initials)
    for _ in range(_MOST_ACTS):
        state = find_job(desk, number)
        act = next_act(desk, state)
        if until(state):
            return state
        if told is not None:
            told(state, act)
        _do(desk, state, act, bench, press, person, seed)
    message = f"job {number} did not come to its end in {_MOST_ACTS} acts"
    raise RuntimeError(message)


def stand_by(state: JobState, bench: SimulatedBench) -> None:
    """Turn the simulated wheel to where the job says it stands."""
    marks = state.setting_marks
    if marks is not None and float(marks) != bench.machine.setting_marks:
        bench.machine.turn_to(marks)


def ready_for(act: Act, state: JobState, bench: SimulatedBench, purpose: str | None) -> bool:
    """Put on the simulated pan what an act wants weighed; False when it wants nothing."""
    if act.stage is Stage.SET_UP and act.what == "done":
        if act.order.startswith("Weighing scale"):
            bench.place_check_weight()
            return True
        return False
    if act.expects is not Expects.WEIGHT or purpose is None:
        return False
    if purpose == "tare":
        bench.place_empty()
    elif purpose in ("shot", "purge"):
        stand_by(state, bench)
        bench.place_next("shot")
    else:
        stand_by(state, bench)
        bench.place_jar(int(act.value))
    return True


def _do(
    desk: Desk,
    state: JobState,
    act: Act,
    bench: SimulatedBench,
    press: Press,
    person: Person,
    seed: int,
) -> None:
    """Do one act."""
    number = state.number
    purpose = purpose_now(desk, state)
    if act.expects is Expects.WEIGHT:
        ready_for(act, state, bench, purpose)
        _weigh(desk, state, bench, press)
        return
    match act.stage, act.what:
        case Stage.MATCH, "take":
            match.take(desk, number, press)
        case Stage.SET_UP, "done":
            _step(desk, state, act, bench, press)
        case Stage.TRIM, "moved":
            bench.machine.turn_to(Decimal(act.value))
            trim.moved(desk, number, Decimal(act.value), press, is_locked=True)
        case Stage.PROVE, "begin":
            prove.begin(desk, number, press)
        case Stage.PROVE, "again" | "trim-again" if len(state.proofs) >= _MOST_PROOFS:
            reason = f"{len(state.proofs)} proving runs did not show the claim"
            run.start(desk, number, press, without_proof=reason)
        case Stage.PROVE, "again":
            prove.again(desk, number, press)
        case Stage.PROVE, "trim-again":
            trim.trim_again(desk, number, act.value, press)
        case _, "start-run":
            run.start(desk, number, press)
        case _:
            _do_late(desk, state, act, bench, press, person, seed)


def _do_late(
    desk: Desk,
    state: JobState,
    act: Act,
    bench: SimulatedBench,
    press: Press,
    person: Person,
    seed: int,
) -> None:
    """Do an act of the run or of the release."""
    number = state.number
    match act.what:
        case "adjust":
            bench.machine.turn_to(Decimal(act.value))
            run.adjust(desk, number, Decimal(act.value), press, is_locked=True)
        case "pause":
            bench.machine.creep_off()
            run.pause(desk, number, "fault", press, note="air bled, lock tightened")
        case "finish":
            run.finish(desk, number, int(act.value), press)
        case "scrapped":
            span = state.open_spans[0]
            first = Span(span.first, span.first)
            settle.settle(desk, number, first, "scrapped", "short", press)
        case "draw":
            release.draw(desk, number, press, seed=seed)
        case "sign":
            release.sign(desk, number, "filled", person, press)
        case "release":
            release.release(desk, number, press)
        case "close":
            release.close(desk, number, "the lot test did not accept it", press)
        case other:
            message = f"the player does not know the act {other!r} of {act.stage}"
            raise RuntimeError(message)


def _step(desk: Desk, state: JobState, act: Act, bench: SimulatedBench, press: Press) -> None:
    """Do one step of setting up."""
    now = setup.look(desk, state).now
    if now is None:
        return
    reading = act.value or _READINGS.get(now.key, "")
    if now.key == "scale":
        bench.place_check_weight()
        reading = str(bench.reading_now())
    if now.key == "setting":
        bench.machine.turn_to(Decimal(reading))
    if now.key == "flush":
        for _ in range(_FLUSHING):
            bench.machine.fill()
    setup.done(desk, state.number, now.key, reading, press)


def _weigh(desk: Desk, state: JobState, bench: SimulatedBench, press: Press) -> None:
    """Keep what the simulated scale shows."""
    again = state.open_spans and purpose_now(desk, state) == "held"
    if again and _is_short(desk, state):
        span = state.open_spans[0]
        first = Span(span.first, span.first)
        settle.settle(desk, state.number, first, "scrapped", "weighed short", press)
        return
    capture = Capture(
        weighing_id=new_id(desk.clock.now()), value=bench.reading_now(), source="simulated"
    )
    weigh(desk, state.number, capture, press)


def _is_short(desk: Desk, state: JobState) -> bool:
    """Return True when the held container at hand was weighed short already."""
    return settle.look(desk, state).act.state == "short"
