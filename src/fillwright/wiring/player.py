"""Plays a job by its acts on the simulated bench, as a person would: one act at a time."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from fillwright.jobs.act import Act, Expects
from fillwright.jobs.desk import Desk, Press, find_job
from fillwright.jobs.held import settle
from fillwright.jobs.match import stage as match
from fillwright.jobs.prove import kept as keptproof
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.release import stage as release
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import weigh
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.traveller import next_act, purpose_now
from fillwright.jobs.trim import stage as trim
from fillwright.records.capture import Capture
from fillwright.records.codec import new_id
from fillwright.records.entities import Person, Stage
from fillwright.records.fold import JobState
from fillwright.records.spans import Span
from fillwright.scale.simulated import SimulatedBench
from fillwright.wiring.standing import come_up, stand_by

__all__ = ["Told", "play", "ready_for"]

Told = Callable[[JobState, Act], None]
_FLUSHING = 14
_MOST_PROOFS = 4
_MOST_MOVES = 60
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
    checks_kept: bool = False,
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
        For the draw of the lot sample and the ids of the weights.
    told : callable, optional
        Told the state and each act before it is done.
    checks_kept : bool
        Whether a kept proof is checked with a few shots where there is one; a whole proving run
        is shown otherwise.

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
        if checks_kept and (act.stage, act.what) == (Stage.PROVE, "begin-check"):
            keptproof.begin_check(desk, number, press)
            continue
        _do(desk, state, act, bench, press, person, seed)
    message = f"job {number} did not come to its end in {_MOST_ACTS} acts"
    raise RuntimeError(message)


def ready_for(
    desk: Desk, act: Act, state: JobState, bench: SimulatedBench, purpose: str | None
) -> bool:
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
        stand_by(desk, state, bench)
        bench.place_next("shot")
    else:
        stand_by(desk, state, bench)
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
    purpose = purpose_now(state)
    if act.expects is Expects.WEIGHT:
        ready_for(desk, act, state, bench, purpose)
        _weigh(desk, state, bench, press, seed)
        return
    match act.stage, act.what:
        case Stage.MATCH, "take":
            match.take(desk, number, press)
        case Stage.SET_UP, "done":
            _step(desk, state, act, bench, press)
        case Stage.TRIM, _:
            _trim(desk, state, act, bench, press)
        case Stage.PROVE, "begin" | "begin-check" | "again" | "trim-again":
            _prove(desk, state, act, press)
        case _, "start-run":
            run.start(desk, number, press)
        case _, "adjust":
            _adjust(desk, state, act, bench, press)
        case _:
            _do_late(desk, state, act, bench, press, person, seed)


def _trim(desk: Desk, state: JobState, act: Act, bench: SimulatedBench, press: Press) -> None:
    """Do an act of the trim that weighs nothing."""
    number = state.number
    match act.what:
        case "moved":
            come_up(bench, state, Decimal(act.value))
            trim.moved(desk, number, Decimal(act.value), press, is_locked=True)
        case "take-as-is":
            trim.take_as_is(desk, number, act.value, press)
        case "fault" if len(state.moves) < _MOST_MOVES:
            bench.machine.creep_off()
            trim.trim_again(desk, number, "air bled, lock tightened", press)
        case "fault":
            trim.take_as_is(desk, number, "no fault found", press)
        case other:
            message = f"the player does not know the act {other!r} of {act.stage}"
            raise RuntimeError(message)


def _prove(desk: Desk, state: JobState, act: Act, press: Press) -> None:
    """Begin a proving run, or do what the last one asks for; too many of them show nothing."""
    number = state.number
    if act.what.startswith("begin"):
        prove.begin(desk, number, press)
    elif len(state.proofs) >= _MOST_PROOFS:
        reason = f"{len(state.proofs)} proving runs did not show the claim"
        run.start(desk, number, press, without_proof=reason)
    elif act.what == "again":
        prove.again(desk, number, press)
    else:
        trim.trim_again(desk, number, act.value, press)


def _adjust(desk: Desk, state: JobState, act: Act, bench: SimulatedBench, press: Press) -> None:
    """Turn the wheel in the run, or leave it where it is."""
    marks = Decimal(act.value)
    if marks != state.setting_marks:
        come_up(bench, state, marks)
    run.adjust(desk, state.number, marks, press, is_locked=True)


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
        case "pause":
            bench.machine.creep_off()
            run.pause(desk, number, "fault", press, note="air bled, lock tightened")
        case "first-look":
            right = dict.fromkeys(firstjar.KEYS)
            firstjar.look_at_first(desk, number, right, press)
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
    reading = act.value
    if now.key == "air":
        reading = f"{bench.machine.gauge_bar_g:.1f}"
    if now.key == "strokes":
        stand_by(desk, state, bench)
        reading = f"{bench.machine.ten_strokes():.1f}"
    if now.key == "scale":
        bench.place_check_weight()
        reading = str(bench.reading_now())
    if now.key == "setting":
        come_up(bench, state, Decimal(reading))
    if now.key == "flush":
        for _ in range(_FLUSHING):
            bench.machine.fill()
    setup.done(desk, state.number, now.key, reading, press)


def _weigh(desk: Desk, state: JobState, bench: SimulatedBench, press: Press, seed: int) -> None:
    """Keep what the simulated scale shows."""
    again = state.open_spans and purpose_now(state) == "held"
    if again and _is_short(desk, state):
        span = state.open_spans[0]
        first = Span(span.first, span.first)
        settle.settle(desk, state.number, first, "scrapped", "weighed short", press)
        return
    capture = Capture(
        weighing_id=new_id(desk.clock.now(), told=f"{seed} {state.number} {state.revision}"),
        value=bench.reading_now(),
        source="simulated",
    )
    weigh(desk, state.number, capture, press)


def _is_short(desk: Desk, state: JobState) -> bool:
    """Return True when the held container at hand was weighed short already."""
    return settle.look(desk, state).act.state == "short"
