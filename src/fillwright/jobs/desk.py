"""The desk that every command works at: journal, clock, states, rule sets.

One command is one transaction; it decides on the state it saw and is refused when somebody
else changed the job in between.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from fillwright.errors import BadInput, Conflict
from fillwright.jobs.people.allowed import refuse_strangers
from fillwright.jobs.words import described
from fillwright.knowledge.faults_load import faults_used
from fillwright.knowledge.faults_types import FaultsUsed
from fillwright.knowledge.procedures_load import Profiles, profiles
from fillwright.knowledge.types import RuleSet
from fillwright.records.book import SITE, Book, is_practice, stream_of
from fillwright.records.codec import draft
from fillwright.records.entities import Stage
from fillwright.records.entries import (
    ComplaintPractised,
    Entry,
    MachinePhotoKept,
    Payload,
    SealSeen,
    StepDone,
    StripBegan,
    StripTicked,
)
from fillwright.records.fold import JobState
from fillwright.records.ports import Clock, Journal, Photos

__all__ = ["Desk", "Press", "find_job", "keep", "keep_on_site", "refuse_practice", "refuse_stale"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """What a command needs from outside.

    Parameters
    ----------
    journal : Journal
        The only way to keep anything.
    clock : Clock
        The time.
    book : Book
        States of jobs.
    rule_sets : mapping of str to RuleSet
        Net-contents rules by name.
    bench : str
        Name of this bench.
    program : str
        Version of the program, for verdicts.
    profiles : Profiles
        How each make of machine is stripped; the shipped ones when left out.
    faults_at : Path or None
        Where the site's own fault data would be; those of the program when left out.
    photos : Photos or None
        Where photos are kept; None where none are.
    """

    journal: Journal
    clock: Clock
    book: Book
    rule_sets: Mapping[str, RuleSet]
    bench: str = "bench 1"
    program: str = ""
    profiles: Profiles = field(default_factory=lambda: profiles(None))
    faults_at: Path | None = None
    photos: Photos | None = None

    @property
    def faults(self) -> FaultsUsed:
        """What can be wrong with a machine; read when first needed, and then kept."""
        return _faults_at(self.faults_at)


@dataclass(frozen=True, slots=True, kw_only=True)
class Press:
    """Who pressed, and the revision of the job that they had before them."""

    person: str = ""
    seen: int | None = None


@cache
def _faults_at(path: Path | None) -> FaultsUsed:
    """Read the fault data of a site once."""
    return faults_used(path)


def find_job(desk: Desk, number: str) -> JobState:
    """Return the state of a job.

    Raises
    ------
    BadInput
        If no job has this number.
    """
    state = desk.book.job(number)
    if state is None:
        message = f"There is no job {number}. Open the job list to see the numbers."
        raise BadInput(message, field="job", given=number, code="choice")
    return state


def keep(
    desk: Desk,
    state: JobState,
    facts: Sequence[Payload],
    press: Press,
    *,
    first_id: str | None = None,
) -> JobState:
    """Append facts to a job in one transaction and return the state after them.

    Parameters
    ----------
    desk : Desk
        Where to.
    state : JobState
        The state that the command decided on.
    facts : sequence of Payload
        What happened, in order.
    press : Press
        Who, and what they had seen.
    first_id : str, optional
        Id of the first entry, where its source made one.

    Returns
    -------
    JobState
        The state after the entries; they are committed.

    Raises
    ------
    BadInput
        If the lot is closed; then only the strip goes on record. If others are named for what
        is done, and this person is not; in practice nobody is kept from it.
    Conflict
        If the job moved on since `press` was made; the message says what changed.
    StoreFull
        If the disk could not take it; nothing was stored.
    """
    refuse_stale(desk, state, press)
    if state.released is not None and not _goes_on_after(facts[0]):
        message = "The lot is closed: nothing more is kept for it but the strip. Open a new job."
        raise BadInput(message, field="job", given=state.number, code="inconsistent")
    if not is_practice(state.number):
        refuse_strangers(desk.book.site, press.person, facts)
    at, zone = desk.clock.now(), desk.clock.zone()
    drafts = [
        draft(
            fact,
            stream=stream_of(state.number),
            at=at,
            zone=zone,
            person=press.person,
            bench=desk.bench,
            entry_id=first_id if place == 0 else None,
        )
        for place, fact in enumerate(facts)
    ]
    seen = state.revision
    try:
        stored = desk.journal.append(drafts, seen=seen)
    except Conflict as conflict:
        raise Conflict(_what_changed(desk, state, seen) or str(conflict)) from conflict
    return desk.book.carry_on(state, stored)


def refuse_stale(desk: Desk, state: JobState, press: Press) -> None:
    """Refuse a press that was made on an older state of a job than the one at hand.

    Raises
    ------
    Conflict
        If the job moved on since, and the message says what changed; or if the page has seen
        more of it than is on record.
    """
    if press.seen is not None and press.seen != state.revision:
        # An older journal that was put back has fewer entries than the page has seen.
        raise Conflict(
            _what_changed(desk, state, press.seen)
            or "The page shows more than is on record now. Look at it again, then press."
        )


def _goes_on_after(fact: Payload) -> bool:
    """Say whether a fact goes on record after the release: the strip, a practised complaint."""
    if isinstance(fact, StepDone):
        return fact.step == Stage.STRIP.value
    if isinstance(fact, MachinePhotoKept):
        return fact.place == "strip"
    return isinstance(fact, StripBegan | StripTicked | SealSeen | ComplaintPractised)


def refuse_practice(number: str, what: str) -> None:
    """Refuse something that practice is left out of.

    Raises
    ------
    BadInput
        If the job is practice.
    """
    if is_practice(number):
        message = f"Job {number} is practice and counts nowhere: {what}."
        raise BadInput(message, field="job", given=number, code="inconsistent")


def keep_on_site(desk: Desk, facts: Sequence[Payload], press: Press) -> None:
    """Append facts to the site's own stream in one transaction; practice teaches it nothing."""
    real = [fact for fact in facts if not is_practice(getattr(fact, "job", ""))]
    at, zone = desk.clock.now(), desk.clock.zone()
    if real:
        desk.journal.append(
            [
                draft(fact, stream=SITE, at=at, zone=zone, person=press.person, bench=desk.bench)
                for fact in real
            ]
        )


def _what_changed(desk: Desk, state: JobState, seen: int) -> str:
    """Return one sentence on what somebody else did since `seen`."""
    since: list[Entry] = list(desk.journal.entries(stream_of(state.number), after=seen))
    if not since:
        return ""
    latest = "; ".join(described(entry) for entry in since[-3:])
    return f"Somebody else was first: {latest}. Look at the page again, then press."
