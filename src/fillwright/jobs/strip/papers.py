"""Sheets of service: the record of a strip and rebuild, and the shelf list."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, find_job
from fillwright.jobs.held.settle import PIECE
from fillwright.jobs.strip.lot_fits import other_size
from fillwright.jobs.strip.shelf import LotRow, ShelfWishes, look
from fillwright.knowledge.procedures_types import Profile, SealPlace
from fillwright.records.entities import Stage
from fillwright.records.entries import MachinePhotoKept, SealSeen, SealsShelved
from fillwright.records.fold import JobState
from fillwright.records.sheets import FactLine
from fillwright.records.sheets_service import (
    SealLine,
    ShelfLine,
    ShelfListSheet,
    SparesLine,
    StepLine,
    StripRecordSheet,
)
from fillwright.records.stripbook import Tick

__all__ = ["shelf_list", "strip_record"]

_FOUND: Final = {
    "good": "good",
    "worn": "worn",
    "damaged": "damaged",
    "piece-missing": "a piece is missing",
}
_WHY: Final = {"failed": "it had failed", "due": "it was due", "opened-anyway": "open anyway"}


def strip_record(desk: Desk, number: str) -> StripRecordSheet:
    """Return the record of a job's strip and rebuild.

    Raises
    ------
    BadInput
        If there is no such job, or nothing of a strip is on record.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        looked_at = (*desk.book.site().seals, *state.strip.seals)
        seals = [seen for seen in looked_at if seen[2].job == number]
        shelf = desk.book.site().shelf
        kept = state.steps.get(Stage.STRIP.value)
        if not state.strip.profile and kept is None:
            message = "Nothing has been stripped after this job yet. Begin on the page Strip."
            raise BadInput(message, field="strip", given=number, code="missing")
        profile = desk.profiles.by_name.get(state.strip.profile)
        dates = [at for at, _, _ in seals]
        dates += [tick.at for tick in (*state.strip.ticks.values(), *state.strip.tests)]
        if kept is not None:
            dates.append(state.step_times[Stage.STRIP.value])
        reading = "" if kept is None else kept.reading
        facts = state.known
        return StripRecordSheet(
            job=number,
            machine=facts.machine.name,
            product=facts.product.name,
            profile=state.strip.profile,
            verdict=f"{reading[:1].upper()}{reading[1:]}",
            is_sound=None if kept is None else not reading.startswith(PIECE),
            held=_held(state),
            steps=_steps(state, profile),
            seals=tuple(_seal(seen, shelf, _places(profile)) for seen in seals),
            made_at=max(dates, default=desk.clock.now()),
            zone=desk.clock.zone(),
            program=desk.program,
            is_invented=facts.is_invented,
        )


def shelf_list(desk: Desk, wishes: ShelfWishes) -> ShelfListSheet:
    """Return the shelf list.

    Parameters
    ----------
    desk : Desk
        Where the records are.
    wishes : ShelfWishes
        What the advice is reckoned with.
    """
    with desk.book.lock:
        seen = look(desk, wishes)
        site = desk.book.site()
        return ShelfListSheet(
            lots=tuple(
                ShelfLine(
                    seal_lot=row.lot.seal_lot,
                    what=" ".join(w for w in (row.lot.material, row.lot.size) if w),
                    pieces=row.lot.pieces,
                    cured_on=row.lot.cured_on,
                    until=row.until,
                    words=row.words,
                    is_usable=row.state != "stop",
                    certificate=row.lot.certificate,
                )
                for row in sorted(seen.lots, key=_first_out)
            ),
            spares=tuple(
                SparesLine(
                    machine=row.machine,
                    position=f"{row.position}, {row.material}; {row.product}",
                    life=f"{row.run_cycles} cycles now. {row.life_words}",
                    advice=" ".join(w for w in (row.advice, row.next_job_words) if w),
                    spares=row.spares_words or "no advice yet",
                )
                for row in seen.rows
            ),
            reckoned=(
                FactLine(name="Job to come", words=f"{wishes.next_job_cycles} cycles"),
                FactLine(name="Next strip after", words=f"{wishes.next_strip_cycles} cycles"),
                FactLine(name="Spares take", words=f"{wishes.lead_cycles} cycles to come"),
                FactLine(
                    name="A failure costs",
                    words=f"{wishes.failure_cost_ratio:g} times a planned change",
                ),
                FactLine(name="Spares last with", words=f"{100 * wishes.service_share:g} in 100"),
            ),
            sources=(seen.counted, seen.shelf_source),
            made_at=desk.clock.now(),
            zone=desk.clock.zone(),
            program=desk.program,
            is_invented=site.settings.is_invented,
        )


def _first_out(row: LotRow) -> tuple[bool, str, str]:
    """Return the order of lots: the first to run out of date first, those without a date last."""
    return not row.until, row.until, row.lot.seal_lot


def _held(state: JobState) -> str:
    """Return which containers a missing piece holds, in words."""
    spans = [hold for hold in state.holds if hold.reason.startswith(PIECE)]
    word = state.known.container.word
    return " ".join(
        f"{word.capitalize()} {hold.first} to {hold.last} held: {hold.reason}." for hold in spans
    )


def _steps(state: JobState, profile: Profile | None) -> tuple[StepLine, ...]:
    """Return the steps in the order of the profile, with the tries of a test before it."""
    if profile is None:
        return ()
    lines: list[StepLine] = []
    for step in profile.steps:
        procedure = profile.procedures.get(step.procedure, step.procedure)
        lines += [
            _line(procedure, step.do, tick, is_good=False)
            for tick in state.strip.tests
            if tick.fact.step == step.id
        ]
        done = state.strip.ticks.get(step.id)
        if done is not None:
            photos = state.strip.photos_of(step.id)
            lines.append(_line(procedure, step.do, done, is_good=True, photos=photos))
        elif not step.is_optional:
            lines.append(StepLine(procedure=procedure, words=step.do, at=None, person=""))
    return tuple(lines)


def _line(
    procedure: str,
    words: str,
    tick: Tick,
    *,
    is_good: bool,
    photos: tuple[MachinePhotoKept, ...] = (),
) -> StepLine:
    """Return a step that was ticked, its photos by the begin of their hash."""
    fact = tick.fact
    kept = ", ".join(photo.sha256[:12] for photo in photos)
    looked = "air looked at: off and vented" if fact.isolated else ""
    place = f"photo: {fact.photo}" if fact.photo else ""
    photo = f"photo kept here, SHA-256 {kept}" if kept else ""
    return StepLine(
        procedure=procedure,
        words=words,
        at=tick.at,
        person=tick.person,
        evidence="; ".join(w for w in (fact.reading, photo, place, looked) if w),
        is_good=is_good,
    )


def _places(profile: Profile | None) -> Mapping[str, SealPlace]:
    """Return the places of seals of a profile, by what they are called."""
    steps = () if profile is None else profile.steps
    return {place.position: place for step in steps for place in step.seals}


def _seal(
    seen: tuple[datetime, str, SealSeen],
    shelf: Mapping[str, SealsShelved],
    places: Mapping[str, SealPlace],
) -> SealLine:
    """Return a seal as it was looked at; a new one of another material or size says which."""
    at, person, seal = seen
    then: str = seal.action
    if seal.action == "replaced":
        why = f": {_WHY[seal.reason]}" if seal.reason else ""
        lot = f", lot {seal.seal_lot}" if seal.seal_lot else ""
        new = shelf.get(seal.seal_lot)
        other = f", of {new.material}" if new is not None and new.material != seal.material else ""
        place = places.get(seal.position)
        is_sized = new is not None and place is not None and other_size(place, new) is not None
        size = f", size {new.size}" if new is not None and is_sized else ""
        then = f"replaced{why}{lot}{other}{size}"
    return SealLine(
        at=at,
        person=person,
        position=seal.position,
        what=" ".join(w for w in (seal.material, seal.size) if w),
        state=f"{_FOUND[seal.state]} after {seal.life_cycles} cycles",
        action=then,
    )
