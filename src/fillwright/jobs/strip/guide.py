"""The guided strip: which steps are open, what lies on the bench, what each seal looks like."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.strip.life import age_cycles
from fillwright.jobs.strip.strokes import jobs_of
from fillwright.knowledge.procedures_types import Profile, SealPlace, Step
from fillwright.records.entries import MachinePhotoKept, SealSeen
from fillwright.records.fold import JobState

__all__ = ["Guide", "SealRow", "StepRow", "guide_of", "parts_off", "profile_of", "seals_seen"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRow:
    """A step with how it stands: done, open, or later with what it waits for."""

    step: Step
    status: str
    at: datetime | None = None
    person: str = ""
    evidence: str = ""
    photos: tuple[MachinePhotoKept, ...] = ()
    waits_for: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SealRow:
    """A seal by its place: number on the drawing, what it is, where it is, how it looks."""

    number: int
    place: SealPlace
    step: str
    where: str
    state: str
    action: str
    run_cycles: int
    is_in_hand: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """Everything the guided strip shows.

    `photos` are those of the step in hand; `photos_before` those that were taken when the part
    came off that it puts back. `wants_photo` tells that the step waits for a photo that can be
    kept here.
    """

    profile: Profile
    rows: tuple[StepRow, ...]
    now: Step | None
    open_steps: tuple[Step, ...]
    seals: tuple[SealRow, ...]
    on_bench: tuple[str, ...]
    left_min: int
    air_is_off: bool
    last_test: str
    photos: tuple[MachinePhotoKept, ...] = ()
    photos_before: tuple[MachinePhotoKept, ...] = ()
    wants_photo: bool = False


def profile_of(desk: Desk, name: str) -> Profile:
    """Return a profile by its name.

    Raises
    ------
    BadInput
        If there is none, as when a file of the user broke; the message lists the names.
    """
    profile = desk.profiles.by_name.get(name)
    if profile is None:
        names = ", ".join(desk.profiles.by_name)
        message = f"There is no machine profile {name!r}. Choose one of: {names}."
        raise BadInput(message, field="profile", given=name, allowed=names, code="choice")
    return profile


def seals_seen(desk: Desk, state: JobState) -> dict[str, SealSeen]:
    """Return what was seen of each seal in this job, by position."""
    seals = (*desk.book.site().seals, *state.strip.seals)
    return {seal.position: seal for _, _, seal in seals if seal.job == state.number}


def parts_off(profile: Profile, done: set[str], *, before: str = "") -> tuple[Step, ...]:
    """Return the strip steps whose parts are off the machine.

    Parameters
    ----------
    profile : Profile
        The machine's.
    done : set of str
        Steps that are ticked.
    before : str
        Leave out what is put back only after this step.
    """
    back = {step.undoes: step for step in profile.steps if step.undoes}
    later = _after(profile, before) if before else set()
    return tuple(
        step
        for step in profile.steps
        if step.part
        and step.id in done
        and back[step.id].id not in done
        and back[step.id].id not in later
    )


def guide_of(desk: Desk, state: JobState, *, person: str = "", wanted: str = "") -> Guide | None:
    """Return the guided strip as it stands, or None where none was begun.

    Parameters
    ----------
    desk : Desk
        Where the job is kept.
    state : JobState
        The job.
    person : str
        Who looks: the look at the air is each person's own.
    wanted : str
        The open step that this person has in hand; the first one when left out.
    """
    if not state.strip.profile:
        return None
    profile = profile_of(desk, state.strip.profile)
    ticks = state.strip.ticks
    done = set(ticks)
    ready = tuple(
        step for step in profile.steps if step.id not in done and done.issuperset(step.after)
    )
    now = next((step for step in ready if step.id == wanted), ready[0] if ready else None)
    tests = state.strip.tests
    last = tests[-1].fact.reading if tests and "suction" in tests[-1].fact.step else ""
    suction = ticks.get(tests[-1].fact.step) if tests else None
    photos = () if now is None else state.strip.photos_of(now.id)
    return Guide(
        profile=profile,
        rows=tuple(_row(step, state, ready) for step in profile.steps),
        now=now,
        open_steps=ready,
        seals=_seals(desk, state, profile, now),
        on_bench=tuple(step.part for step in parts_off(profile, done)),
        left_min=sum(step.minutes for step in profile.steps if step.id not in done),
        air_is_off=state.strip.is_isolated(person, desk.clock.now()),
        last_test="" if suction is not None else last,
        photos=photos,
        photos_before=state.strip.photos_of(now.undoes) if now is not None and now.undoes else (),
        wants_photo=now is not None
        and now.proof == "photo"
        and not photos
        and desk.photos is not None,
    )


def _row(step: Step, state: JobState, ready: tuple[Step, ...]) -> StepRow:
    """Return one step with how it stands."""
    tick = state.strip.ticks.get(step.id)
    photos = state.strip.photos_of(step.id)
    if tick is not None:
        evidence = ", ".join(part for part in (tick.fact.reading, tick.fact.photo) if part)
        return StepRow(
            step=step,
            status="done",
            at=tick.at,
            person=tick.person,
            evidence=evidence,
            photos=photos,
        )
    waits = tuple(name for name in step.after if name not in state.strip.ticks)
    status = "now" if step in ready else "later"
    return StepRow(step=step, status=status, photos=photos, waits_for=waits)


def _seals(desk: Desk, state: JobState, profile: Profile, now: Step | None) -> tuple[SealRow, ...]:
    """Return every seal by its place, numbered in rebuild order."""
    seen = seals_seen(desk, state)
    machine = state.known.machine.name
    jobs = jobs_of(desk, machine)
    order = {step.undoes: at for at, step in enumerate(profile.steps) if step.undoes}
    off = {step.id for step in profile.steps if step.id in state.strip.ticks}
    back = {step.undoes: step.id for step in profile.steps if step.undoes}
    places = [(order[step.id], step, place) for step in profile.steps for place in step.seals]
    rows = []
    for number, (_, step, place) in enumerate(sorted(places, key=lambda row: row[0]), start=1):
        where = "on the machine"
        if step.id in off:
            where = "fitted" if back[step.id] in off else "on the bench"
        look = seen.get(place.position)
        rows.append(
            SealRow(
                number=number,
                place=place,
                step=step.id,
                where=where,
                state="" if look is None else look.state,
                action="" if look is None else look.action,
                run_cycles=look.life_cycles
                if look is not None
                else age_cycles(desk, jobs, machine, place.position),
                is_in_hand=now is not None and now.id in (step.id, back[step.id]),
            )
        )
    return tuple(rows)


def _after(profile: Profile, name: str) -> set[str]:
    """Return the steps that come, at any distance, after one."""
    found: set[str] = {name}
    grew = True
    while grew:
        more = {step.id for step in profile.steps if found & set(step.after)} - found
        grew = bool(more)
        found |= more
    return found - {name}
