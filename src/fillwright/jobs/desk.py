"""The desk that every command works at: journal, clock, states, rule sets.

One command is one transaction; it decides on the state it saw and is refused when somebody
else changed the job in between.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from fillwright.errors import BadInput, Conflict
from fillwright.jobs.words import described
from fillwright.knowledge.procedures_load import Profiles, profiles
from fillwright.knowledge.types import RuleSet
from fillwright.records.book import SITE, Book, stream_of
from fillwright.records.codec import draft
from fillwright.records.entities import Stage
from fillwright.records.entries import Entry, Payload, StepDone, StripBegan, StripTicked
from fillwright.records.fold import JobState
from fillwright.records.ports import Clock, Journal

__all__ = ["Desk", "Press", "find_job", "keep", "keep_on_site"]


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
    """

    journal: Journal
    clock: Clock
    book: Book
    rule_sets: Mapping[str, RuleSet]
    bench: str = "bench 1"
    program: str = ""
    profiles: Profiles = field(default_factory=lambda: profiles(None))


@dataclass(frozen=True, slots=True, kw_only=True)
class Press:
    """Who pressed, and the revision of the job that they had before them."""

    person: str = ""
    seen: int | None = None


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
        If the lot is closed; then only the strip goes on record.
    Conflict
        If the job moved on since `press` was made; the message says what changed.
    StoreFull
        If the disk could not take it; nothing was stored.
    """
    if press.seen is not None and press.seen != state.revision:
        raise Conflict(_what_changed(desk, state, press.seen))
    if state.released is not None and not _is_of_strip(facts[0]):
        message = "The lot is closed: nothing more is kept for it but the strip. Open a new job."
        raise BadInput(message, field="job", given=state.number, code="inconsistent")
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


def _is_of_strip(fact: Payload) -> bool:
    """Say whether a fact belongs to stripping the machine, which goes on after the release."""
    if isinstance(fact, StepDone):
        return fact.step == Stage.STRIP.value
    return isinstance(fact, StripBegan | StripTicked)


def keep_on_site(desk: Desk, facts: Sequence[Payload], press: Press) -> None:
    """Append facts to the site's own stream in one transaction."""
    at, zone = desk.clock.now(), desk.clock.zone()
    desk.journal.append(
        [
            draft(fact, stream=SITE, at=at, zone=zone, person=press.person, bench=desk.bench)
            for fact in facts
        ]
    )


def _what_changed(desk: Desk, state: JobState, seen: int) -> str:
    """Return one sentence on what somebody else did since `seen`."""
    since: list[Entry] = list(desk.journal.entries(stream_of(state.number), after=seen))
    if not since:
        return ""
    latest = "; ".join(described(entry) for entry in since[-3:])
    return f"Somebody else was first: {latest}. Look at the page again, then press."
