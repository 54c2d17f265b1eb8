"""What is done in a guided strip: begin, tick a step, say how a seal looks, hold the jars."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep, keep_on_site
from fillwright.jobs.held.settle import PIECE
from fillwright.jobs.strip.guide import guide_of, parts_off, profile_of, seals_seen
from fillwright.jobs.strip.life import age_cycles, fitted_material, jobs_since_sound_strip
from fillwright.jobs.strip.lot_fits import lot_that_fits
from fillwright.jobs.strip.strokes import jobs_of
from fillwright.knowledge.procedures_types import Profile, Step
from fillwright.records.book import is_practice
from fillwright.records.entities import Stage
from fillwright.records.entries import (
    ContainersHeld,
    Payload,
    ReleaseReopened,
    SealSeen,
    StepDone,
    StripBegan,
    StripTicked,
)
from fillwright.records.fold import JobState

__all__ = ["PORTS", "Evidence", "begin", "hold_for_piece", "see_seal", "tick"]

PORTS: Final = ("pull", "push", "none")
"""What the film shows on a port."""
_STATES: Final = ("good", "worn", "damaged", "piece-missing")
_ACTIONS: Final = ("kept", "replaced")
_REASONS: Final = ("failed", "due", "opened-anyway")


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What goes on record with a step; `ports` is what the suction test showed."""

    reading: str = ""
    photo: str = ""
    air_is_off: bool = False
    ports: tuple[str, str, str, str] | None = None


def begin(desk: Desk, number: str, profile: str, press: Press) -> JobState:
    """Begin a guided strip by a machine's profile.

    Raises
    ------
    BadInput
        If there is no such profile, or a strip is under way or done.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        profile_of(desk, profile)
        if state.strip.profile and Stage.STRIP.value not in state.steps:
            message = "A strip is under way. Go on with it."
            raise BadInput(message, field="profile", given=profile, code="inconsistent")
        return keep(desk, state, [StripBegan(profile=profile)], press)


def tick(desk: Desk, number: str, name: str, evidence: Evidence, press: Press) -> JobState:
    """Keep a step as done, with its evidence; a test that is not good stays open.

    Raises
    ------
    BadInput
        If the step is not open, its evidence is missing, the air was not looked at by this
        person, or something still lies on the bench.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        guide = guide_of(desk, state, person=press.person, wanted=name)
        if guide is None or guide.now is None or guide.now.id != name:
            message = "That step is not open now. Look at the list again."
            raise BadInput(message, field="step", given=name, code="inconsistent")
        step = guide.now
        if step.is_isolated and not (guide.air_is_off or evidence.air_is_off):
            message = "Air off and vented first: look at the gauge yourself, then tick."
            raise BadInput(message, field="air", given="not looked at", code="missing")
        if step.brings_air_on:
            return keep(desk, state, [_test(guide.profile, step, evidence)], press)
        _refuse_bare(state, step, evidence)
        _refuse_left_over(desk, state, guide.profile, step)
        fact = StripTicked(
            step=name,
            reading=evidence.reading,
            photo=evidence.photo,
            isolated=step.is_isolated and evidence.air_is_off,
        )
        return keep(desk, state, [fact], press)


def see_seal(
    desk: Desk, number: str, seen: SealSeen, press: Press, *, is_confirmed: bool = False
) -> JobState:
    """Keep how a seal looks; a torn or missing piece holds every container it may be in.

    Parameters
    ----------
    desk : Desk
        Where the job is kept.
    number : str
        The job.
    seen : SealSeen
        What was seen, and what goes back in.
    press : Press
        Who looked.
    is_confirmed : bool
        True where the person ticked that a lot of another material may go in all the same.

    Raises
    ------
    BadInput
        If the position, state, action or reason is none, a damaged one would be kept, or the
        lot of the new one is not for this place.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        guide = guide_of(desk, state)
        row = next(
            (r for r in (guide.seals if guide else ()) if r.place.position == seen.position), None
        )
        if row is None:
            message = f"There is no seal {seen.position!r} in this profile."
            raise BadInput(message, field="position", given=seen.position, code="choice")
        if row.where == "on the machine":
            message = "Take it off first: that seal is still on the machine."
            raise BadInput(message, field="position", given=seen.position, code="inconsistent")
        _check_seal(seen)
        is_new = seen.action == "replaced"
        lot = (
            lot_that_fits(desk, state.known, row.place, seen.seal_lot, is_confirmed=is_confirmed)
            if is_new
            else None
        )
        machine = state.known.machine.name
        jobs = jobs_of(desk, machine)
        fact = SealSeen(
            job=number,
            machine=machine,
            product=state.known.product.name,
            position=seen.position,
            material=seen.material
            or fitted_material(desk.book.site(), machine, row.place, job=number),
            size=seen.size or row.place.size,
            state=seen.state,
            action=seen.action,
            reason=seen.reason if is_new else "",
            life_cycles=row.run_cycles
            if row.state
            else age_cycles(desk, jobs, machine, seen.position),
            seal_lot="" if not is_new else seen.seal_lot if lot is None else lot.seal_lot,
        )
        if seen.state == "piece-missing":
            state = hold_for_piece(desk, state, seen.position, press)
        if is_practice(number):
            return keep(desk, state, [fact], Press(person=press.person))
        keep_on_site(desk, [fact], press)
        return state


def hold_for_piece(desk: Desk, state: JobState, piece: str, press: Press) -> JobState:
    """Hold every container since the last sound strip of the machine, in whatever job.

    What of them was released is open again: it is settled and released anew, or not at all.

    Returns
    -------
    JobState
        This job, as it stands then.
    """
    reading = PIECE + piece
    own = state
    # Practice holds its own containers alone.
    real = not is_practice(state.number)
    others = jobs_since_sound_strip(desk, state.known.machine.name) if real else ()
    for job in (*others, *(() if state in others else (state,))):
        facts: list[Payload] = [StepDone(step=Stage.STRIP.value, outcome="done", reading=reading)]
        if job.filled_to:
            facts.append(ContainersHeld(first=1, last=job.filled_to, reason=reading))
        done = job.released
        if done is not None and done.outcome == "released":
            facts.append(ReleaseReopened(reason=reading, containers=done.containers))
        mine = job.number == state.number
        kept = keep(desk, job, facts, press if mine else Press(person=press.person))
        own = kept if mine else own
    return own


def _test(profile: Profile, step: Step, evidence: Evidence) -> StripTicked:
    """Return what the suction test showed, read by its table."""
    if evidence.ports is None or any(port not in PORTS for port in evidence.ports):
        message = "Say for each port and stroke what the film did: pull, push or nothing."
        raise BadInput(message, field="ports", allowed=", ".join(PORTS), code="missing")
    row = profile.suction.read(evidence.ports)
    good = row is not None and row is profile.suction.rows[0]
    meaning = row.meaning if row is not None else "Not in the table: repeat, then find the fault."
    shown = "recharge: rear {}, front {}; delivery: rear {}, front {}".format(*evidence.ports)
    return StripTicked(
        step=step.id,
        outcome="done" if good else "again",
        reading=f"{shown}. {meaning}",
        air_on=True,
    )


def _refuse_bare(state: JobState, step: Step, evidence: Evidence) -> None:
    """Refuse a step whose evidence is missing, or is not what it must be."""
    if step.proof in ("reading", "count") and not evidence.reading:
        what = step.reading or "the count"
        raise BadInput(f"Write down {what}.", field="reading", allowed=what, code="missing")
    if step.proof == "photo" and not evidence.photo and not state.strip.photos_of(step.id):
        message = "Take the photo here, or say where it is kept, as: bench tablet, 3."
        raise BadInput(message, field="photo", allowed="a photo", code="missing")
    if step.limit:
        try:
            high = float(evidence.reading.replace(",", ".")) > float(step.limit)
        except ValueError:
            high = True
        if high:
            message = f"It must read {step.limit} ({step.reading}). Vent, wait, and look again."
            raise BadInput(message, field="reading", given=evidence.reading, allowed=step.limit)


def _refuse_left_over(desk: Desk, state: JobState, profile: Profile, step: Step) -> None:
    """Refuse to say that seals are inspected or the bench is empty while they are not."""
    ticked = set(state.strip.ticks)
    if step.procedure == "clean" and "seal" in step.reading:
        seen = seals_seen(desk, state)
        bare = [
            place.position
            for other in profile.steps
            for place in other.seals
            if other.id in ticked and place.position not in seen
        ]
        if bare:
            message = f"Say first how this seal looks: {', '.join(bare)}."
            raise BadInput(message, field="position", given=bare[0], code="missing")
    if step.proof == "count" and step.procedure == "rebuild" and not step.undoes:
        left = parts_off(profile, ticked, before=step.id)
        if left:
            parts = "; ".join(other.part for other in left)
            message = f"Still on the bench: {parts}. Nothing is left over in a rebuild."
            raise BadInput(message, field="reading", given=parts, code="inconsistent")


def _check_seal(seen: SealSeen) -> None:
    """Refuse words that are none, and a damaged seal that would go back in."""
    for value, allowed, field in (
        (seen.state, _STATES, "state"),
        (seen.action, _ACTIONS, "action"),
    ):
        if value not in allowed:
            message = f"Choose the {field} from: {', '.join(allowed)}."
            raise BadInput(message, field=field, given=value, code="choice")
    if seen.action == "replaced" and seen.reason not in _REASONS:
        message = f"Say why it is replaced: {', '.join(_REASONS)}."
        raise BadInput(message, field="reason", given=seen.reason, code="missing")
    if seen.action == "kept" and seen.state in ("damaged", "piece-missing"):
        message = "A damaged seal does not go back in. Fit a new one."
        raise BadInput(message, field="action", given=seen.action, code="inconsistent")
