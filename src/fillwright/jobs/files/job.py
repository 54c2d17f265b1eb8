"""A whole job out as one file, and in again at another bench, where it is shown as brought."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO

from fillwright.errors import BadInput, FillwrightError
from fillwright.jobs.desk import Desk, Press, find_job
from fillwright.jobs.limits import limits_of
from fillwright.jobs.opening import next_number
from fillwright.jobs.traveller import traveller
from fillwright.records.book import stream_of
from fillwright.records.codec import draft
from fillwright.records.entities import JobFacts
from fillwright.records.entries import Draft, JobBrought
from fillwright.records.fold import JobState, fold_job
from fillwright.records.job_file import (
    FORM,
    FORM_WITH_PHOTOS,
    JobFile,
    JobHeader,
    job_from_file,
    job_to_lines,
)
from fillwright.records.sent_photos import (
    MOST_PHOTO_BYTES,
    MOST_PHOTOS,
    named_photos,
    photo_in_line,
)

__all__ = ["LookedJob", "job_lines", "look_at_job", "open_brought"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LookedJob:
    """A job from outside, looked at and not kept.

    Parameters
    ----------
    file : JobFile
        What was sent; all of it was checked.
    facts : JobFacts
        The job's facts as they stand at its end.
    next_order : str
        The next act, as it would stand here.
    weighings : int
        How many weights it holds.
    outcome : str
        How its lot was released; empty where it was not.
    here_as : str
        Number under which this very job is here already; empty where it is not.
    is_taken : bool
        True where its number belongs to another job here.
    number : str
        Number that is proposed: its own, or the next free one.
    """

    file: JobFile
    facts: JobFacts
    next_order: str
    weighings: int
    outcome: str
    here_as: str
    is_taken: bool
    number: str

    @property
    def photos_words(self) -> str:
        """Return how many of its photos came with it; empty where it names none."""
        came, named = len(self.file.photos), self.file.photos_named
        if not named:
            return ""
        return f"{came}" if came == named else f"{came} of {named}; the others stayed there"


def job_lines(desk: Desk, number: str) -> Iterator[bytes]:
    """Yield a job as the lines of one file, with the photos of it that are kept here.

    Raises
    ------
    BadInput
        If there is no such job.
    """
    state = find_job(desk, number)
    settings = desk.book.site().settings
    brought = state.files.brought
    stream = stream_of(number)
    upto = state.revision
    photos = _photos(desk, state)
    header = JobHeader(
        form=FORM_WITH_PHOTOS if photos else FORM,
        job=number,
        entries=state.revision,
        program=desk.program,
        bench=desk.bench,
        maker=settings.maker if brought is None else brought.maker,
        signatures=settings.signatures if brought is None else brought.signatures,
    )
    entries = (one for one in desk.journal.entries(stream) if one.revision <= upto)
    found = (desk.photos.find(sha256) for sha256 in photos) if desk.photos is not None else ()
    return job_to_lines(
        header,
        entries,
        (
            (sha256, kept[0])
            for sha256, kept in zip(photos, found, strict=True)
            if kept is not None
        ),
    )


def _photos(desk: Desk, state: JobState) -> tuple[str, ...]:
    """Return the hashes of the photos of a job that are whole here, the latest that fit."""
    strip = state.strip
    may_be = state.lots.photos or strip.profile or strip.fault_photos
    if desk.photos is None or not may_be:
        return ()
    entries = desk.journal.entries(stream_of(state.number))
    named = named_photos(one for one in entries if one.revision <= state.revision)
    taken: list[str] = []
    left_bytes = MOST_PHOTO_BYTES
    for sha256, size_bytes in reversed(named.items()):
        fits = size_bytes <= left_bytes and len(taken) < MOST_PHOTOS
        if fits and desk.photos.find(sha256) is not None:
            taken.append(sha256)
            left_bytes -= size_bytes
    return tuple(reversed(taken))


def look_at_job(desk: Desk, file: IO[bytes]) -> LookedJob:
    """Return what a job file holds; nothing is kept.

    Parameters
    ----------
    desk : Desk
        Where it would go.
    file : binary file
        Open at its begin.

    Returns
    -------
    LookedJob
        Checked, and worked with once, so that no page can trip over it.

    Raises
    ------
    BadInput
        If anything of it does not fit.
    """
    sent = job_from_file(file)
    number = sent.header.job
    try:
        state = fold_job(number, sent.entries)
        limits_of(state.known, desk.rule_sets)
        act = traveller(desk, state).act
    except FillwrightError as error:
        message = f"This job cannot be worked with here: {error}"
        raise BadInput(message, field="file", given=number, code="inconsistent") from error
    except Exception as error:  # figures from outside can break an equation in many ways
        message = "This job cannot be worked with here: its figures do not fit one another."
        raise BadInput(message, field="file", given=number, code="inconsistent") from error
    here = desk.journal.entry(sent.entries[0].id)
    is_taken = desk.book.job(number) is not None
    return LookedJob(
        file=sent,
        facts=state.known,
        next_order=act.order,
        weighings=len(state.weighings) + sum(one.count for one in state.files.files.values()),
        outcome="" if state.released is None else state.released.outcome,
        here_as="" if here is None else here.stream.rpartition("/")[2],
        is_taken=is_taken,
        number=next_number(desk) if is_taken else number,
    )


def open_brought(
    desk: Desk, looked: LookedJob, number: str, press: Press, *, file: IO[bytes] | None = None
) -> JobState:
    """Keep a job that was brought, in one transaction; times, people and ids stay as they were.

    Parameters
    ----------
    desk : Desk
        Where to.
    looked : LookedJob
        From `look_at_job`.
    number : str
        Number that it gets here.
    press : Press
        Who opens it.
    file : binary file, optional
        The file that was looked at, open, for its photos; without it they stay behind.

    Returns
    -------
    JobState
        The job as it stands here.

    Raises
    ------
    BadInput
        If it is here already, the number is taken or cannot be, or the file was changed since.
    StoreFull
        If the disk could not take it; then no entry of it is here.
    """
    sent = looked.file
    with desk.book.lock:
        here = desk.journal.entry(sent.entries[0].id)
        if here is not None:
            name = here.stream.rpartition("/")[2]
            message = f"This job is here already, as job {name}. Nothing was added."
            raise BadInput(message, field="file", given=name, code="inconsistent")
        plain = number.replace("-", "")
        if not (plain.isascii() and plain.isalnum()):
            message = f"Job number {number!r}: give letters, digits and hyphens only."
            raise BadInput(message, field="number", given=number, allowed="A to Z, 0 to 9, -")
        if desk.book.job(number) is not None:
            message = f"Job {number} is another job here, and stays. Give another number."
            raise BadInput(message, field="number", given=number, code="inconsistent")
        if file is not None:
            _bring_photos(desk, sent, file)
        stream = stream_of(number)
        drafts = [
            Draft(
                id=one.id,
                stream=stream,
                at=one.at,
                zone=one.zone,
                person=one.person,
                bench=one.bench,
                payload=one.payload,
            )
            for one in sent.entries
        ]
        fact = JobBrought(
            number=sent.header.job,
            bench=sent.header.bench,
            maker=sent.header.maker,
            program=sent.header.program,
            entries=sent.header.entries,
            last_hash=sent.entries[-1].hash,
            seal=sent.seal,
            signatures=sent.header.signatures,
        )
        at, zone = desk.clock.now(), desk.clock.zone()
        last = draft(fact, stream=stream, at=at, zone=zone, person=press.person, bench=desk.bench)
        desk.journal.append([*drafts, last], seen=0)
        return find_job(desk, number)


def _bring_photos(desk: Desk, sent: JobFile, file: IO[bytes]) -> None:
    """Keep the photos of a job file, each checked once more as it is read."""
    if desk.photos is None:
        return
    for photo in sent.photos:
        file.seek(photo.at_byte)
        try:
            told, data = photo_in_line(file.read(photo.size_bytes))
        except ValueError as error:
            message = f"The file was changed since it was looked at: {error}. Send it again."
            raise BadInput(message, field="file", code="type") from error
        if told != photo.told:
            message = "The file was changed since it was looked at. Send it again."
            raise BadInput(message, field="file", code="type")
        desk.photos.keep(data)
