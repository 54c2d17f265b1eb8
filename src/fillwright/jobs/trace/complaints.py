"""Complaints on record: taken, answered, closed, opened again, and told of a lot.

A complaint is kept whether the lot is open or closed; nothing of the lot is changed by it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press
from fillwright.jobs.field.register import day_or_none
from fillwright.jobs.trace.complaint import Told, complaint
from fillwright.jobs.trace.complaint_facts import ABOUT
from fillwright.jobs.trace.complaint_look import FINDINGS, book_of, complaint_of, one_of
from fillwright.jobs.words import plain
from fillwright.records.codec import draft
from fillwright.records.complaintbook import COMPLAINTS, Complaint, ComplaintBook
from fillwright.records.entries import (
    ComplaintAnswered,
    ComplaintClosed,
    ComplaintReopened,
    ComplaintTaken,
    Payload,
)
from fillwright.records.kinds_complaints import Finding
from fillwright.records.localtime import earliest_day, latest_day, local
from fillwright.records.sheets import FactLine
from fillwright.records.sheets_trace import ComplaintSheet, LetterSheet

__all__ = [
    "Telling",
    "answer",
    "close",
    "letter_of",
    "reopen",
    "sheet_of",
    "take",
]

_LONGEST: Final = 800


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """What the customer says, when, and who the customer is.

    Parameters
    ----------
    words : str
        What is said.
    told_on : str
        The day, as 2031-03-05; today when empty.
    customer : str
        In the maker's own words; may be empty.
    """

    words: str
    told_on: str = ""
    customer: str = ""


def take(desk: Desk, told: Told, telling: Telling, press: Press) -> int:
    """Keep a complaint about a container of a lot.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    told : Told
        Which container, as far as it is known, and what is wrong.
    telling : Telling
        What the customer says, and when.
    press : Press
        Who takes it.

    Returns
    -------
    int
        Number of the complaint.

    Raises
    ------
    BadInput
        If no lot has the code, the container is not of the lot, nothing is said, or the day is
        none, has not come yet, or lies before the lot was opened.
    """
    with desk.book.lock:
        sheet = complaint(desk, told)
        words = " ".join(telling.words.split())[:_LONGEST]
        if not words:
            message = "Say what the customer says, in a few words."
            raise BadInput(message, field="told_words", given="", code="missing")
        on = _told_day(desk, sheet.job, telling.told_on)
        book = book_of(desk)
        number = max(book.complaints, default=0) + 1
        taken = ComplaintTaken(
            complaint=number,
            job=sheet.job,
            lot_code=sheet.lot_code,
            about=told.about,
            told_words=words,
            told_on=on.isoformat(),
            container=sheet.number,
            tray=told.tray if sheet.number is None else None,
            found_g=told.found_g,
            customer=" ".join(telling.customer.split())[:120],
        )
        _keep(desk, book, [taken], press)
        return number


def answer(desk: Desk, number: int, finding: str, reason: str, press: Press) -> None:
    """Keep what was found about a complaint, and what that rests on.

    Raises
    ------
    BadInput
        If there is no such complaint, it is closed, the finding is none of `FINDINGS`, or no
        reason is given.
    """
    with desk.book.lock:
        book = book_of(desk)
        _open_one(book, number)
        found = next((key for key in FINDINGS if key == finding), None)
        if found is None:
            allowed = ", ".join(FINDINGS)
            message = "Choose what was found from the list."
            raise BadInput(
                message, field="finding", given=finding[:40], allowed=allowed, code="choice"
            )
        why = _words(
            reason, "reason", "Say what that rests on: what was weighed, looked at, read."
        )
        _keep(desk, book, [ComplaintAnswered(complaint=number, finding=found, reason=why)], press)


def close(desk: Desk, number: int, done: str, press: Press) -> None:
    """Close a complaint with what was done for the customer.

    Raises
    ------
    BadInput
        If there is no such complaint, it is closed already, nobody answered it, or nothing is
        said.
    """
    with desk.book.lock:
        book = book_of(desk)
        one = _open_one(book, number)
        if one.answer is None:
            message = f"Complaint {number} has no finding yet. Answer it first, then close it."
            raise BadInput(message, field="finding", given="", code="missing")
        said = _words(done, "done", "Say what was done: a new one, the money back, nothing.")
        _keep(desk, book, [ComplaintClosed(complaint=number, done=said)], press)


def reopen(desk: Desk, number: int, reason: str, press: Press) -> None:
    """Open a closed complaint again.

    Raises
    ------
    BadInput
        If there is no such complaint, it is open, or no reason is given.
    """
    with desk.book.lock:
        book = book_of(desk)
        if one_of(book, number).is_open:
            message = f"Complaint {number} is open. Answer it or close it."
            raise BadInput(message, field="complaint", given=number, code="inconsistent")
        why = _words(reason, "reason", "Say why it is opened again.")
        _keep(desk, book, [ComplaintReopened(complaint=number, reason=why)], press)


def sheet_of(desk: Desk, number: int) -> ComplaintSheet:
    """Return a complaint on record with what the record of its lot says now.

    Raises
    ------
    BadInput
        If there is no such complaint, or its lot is not on record here.
    """
    with desk.book.lock:
        one = complaint_of(desk, number)
        taken = one.taken
        told = Told(
            code=taken.lot_code,
            job=taken.job,
            container=taken.container,
            tray=taken.tray,
            about=taken.about,
            found_g=taken.found_g,
        )
        sheet = complaint(desk, told)
        return replace(
            sheet,
            complaint=number,
            facts=(*_lines(one, sheet.zone), *sheet.facts[1:]),
            letter=_letter(one, sheet.letter),
        )


def letter_of(desk: Desk, number: int) -> LetterSheet:
    """Return the letter that answers a complaint on record.

    Raises
    ------
    BadInput
        If there is no such complaint, or its lot is not on record here.
    """
    sheet = sheet_of(desk, number)
    maker = desk.book.site().settings.maker
    return LetterSheet(sheet=sheet, maker=maker, made_at=sheet.made_at, zone=sheet.zone)


def _lines(one: Complaint, zone: str) -> tuple[FactLine, ...]:
    """Return what was told, found and done, line by line."""
    taken = one.taken
    left = "" if taken.found_g is None else f"{plain(Decimal(taken.found_g))} g, net"

    def day(at: datetime) -> date:
        return local(at, zone).date()

    rows = [
        ("Complaint", f"{one.number}, {ABOUT[taken.about]}"),
        ("Told", taken.told_words),
        ("Told on", f"{taken.told_on}, taken by {one.taken_by or 'nobody named'}"),
        ("Customer", taken.customer),
        ("Left in it", left),
    ]
    for at, person, found in one.answers:
        rows.append(("Found", f"{FINDINGS[found.finding]}: {found.reason} ({person}, {day(at)})"))
    for at, person, closed in one.closings:
        rows.append(("Closed", f"{closed.done} ({person}, {day(at)})"))
    for at, person, again in one.reopenings:
        rows.append(("Opened again", f"{again.reason} ({person}, {day(at)})"))
    return tuple(FactLine(name=name, words=words) for name, words in rows if words)


_SAYS: Final[dict[Finding, str]] = {
    "short": "We find that it was filled short. That is our fault, and we are sorry.",
    "leaked": "We find that it leaked after it was filled.",
    "dried": "We find that it lost weight by drying out after it was filled.",
    "in-order": "We find nothing wrong with how it was filled.",
    "cannot-say": "We cannot say what happened to it.",
}


def _letter(one: Complaint, drafted: tuple[str, ...]) -> tuple[str, ...]:
    """Return the letter with the finding, and with what was done instead of an offer."""
    greeting, thanks, looked, cannot, offer, name = drafted
    if one.answer is None:
        return drafted
    # What rests on something stays in the record: the letter says the finding alone.
    found = _SAYS[one.answer.finding]
    done = f"What we have done: {one.closings[-1][2].done}" if not one.is_open else offer
    return greeting, thanks, looked, cannot, found, done, name


def _told_day(desk: Desk, job: str, typed: str) -> date:
    """Return the day a complaint was told; it is today by the bench where none was typed."""
    now, state = desk.clock.now(), desk.book.job(job)
    today = local(now, desk.clock.zone()).date()
    on = day_or_none(typed, "told_on") or today
    if on > latest_day(now):
        message = f"{on} has not come yet. Type the day it was told, up to {today}."
        raise BadInput(message, field="told_on", given=str(on), allowed=f"to {today}")
    opened = None if state is None else state.opened_at
    if opened is not None and on < earliest_day(opened):
        first = local(opened, desk.clock.zone()).date()
        message = f"{on} lies before the lot was opened, on {first}. Type the day it was told."
        raise BadInput(message, field="told_on", given=str(on), allowed=f"from {first}")
    return on


def _open_one(book: ComplaintBook, number: int) -> Complaint:
    """Return an open complaint of the book."""
    one = one_of(book, number)
    if not one.is_open:
        message = f"Complaint {number} is closed. Open it again first, with the reason."
        raise BadInput(message, field="complaint", given=number, code="inconsistent")
    return one


def _words(text: str, field: str, message: str) -> str:
    """Return what was typed in one line."""
    words = " ".join(text.split())[:_LONGEST]
    if not words:
        raise BadInput(message, field=field, given="", code="missing")
    return words


def _keep(desk: Desk, book: ComplaintBook, facts: Sequence[Payload], press: Press) -> None:
    """Append facts in one transaction, on the state that they were decided on."""
    at, zone = desk.clock.now(), desk.clock.zone()
    desk.journal.append(
        [
            draft(fact, stream=COMPLAINTS, at=at, zone=zone, person=press.person, bench=desk.bench)
            for fact in facts
        ],
        seen=book.revision,
    )
