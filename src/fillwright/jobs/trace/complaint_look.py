"""Complaints on record, looked up and told in a sentence."""

from __future__ import annotations

from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.trace.complaint_facts import ABOUT
from fillwright.records.complaintbook import (
    COMPLAINTS,
    Complaint,
    ComplaintBook,
    fold_complaints,
)
from fillwright.records.kinds_complaints import Finding

__all__ = [
    "FINDINGS",
    "book_of",
    "complaint_of",
    "complaint_words",
    "complaints_of_job",
    "complaints_on_record",
    "one_of",
]

FINDINGS: Final[dict[Finding, str]] = {
    "short": "filled short",
    "leaked": "leaked after it was filled",
    "dried": "dried out after it was filled",
    "in-order": "nothing wrong with the fill",
    "cannot-say": "cannot say",
}
"""What can be found about a complaint, in words."""


def book_of(desk: Desk) -> ComplaintBook:
    """Return all complaints."""
    return fold_complaints(desk.journal.entries(COMPLAINTS))


def one_of(book: ComplaintBook, number: int) -> Complaint:
    """Return a complaint of the book.

    Raises
    ------
    BadInput
        If there is none of this number.
    """
    if number not in book.complaints:
        message = f"There is no complaint {number}. Open the list to see the numbers."
        raise BadInput(message, field="complaint", given=number, code="choice")
    return book.complaints[number]


def complaints_on_record(desk: Desk) -> tuple[Complaint, ...]:
    """Return all complaints: open ones first, and the latest of each first."""
    found = book_of(desk).complaints.values()
    return tuple(sorted(found, key=lambda one: (not one.is_open, -one.number)))


def complaints_of_job(desk: Desk, job: str) -> tuple[Complaint, ...]:
    """Return the complaints of one lot, oldest first."""
    return book_of(desk).of_job(job)


def complaint_of(desk: Desk, number: int) -> Complaint:
    """Return a complaint.

    Raises
    ------
    BadInput
        If there is none of this number.
    """
    return one_of(book_of(desk), number)


def complaint_words(one: Complaint, word: str) -> str:
    """Return a complaint in a sentence; `word` is what a container is called."""
    taken, found = one.taken, one.answer
    which = f"{word} {taken.container}" if taken.container is not None else f"a {word}"
    if taken.container is None and taken.tray is not None:
        which += f" of tray {taken.tray}"
    state = "open" if one.is_open else f"closed: {one.closings[-1][2].done}"
    said = "no finding yet" if found is None else f"found: {FINDINGS[found.finding]}"
    return (
        f"Complaint {one.number}, {taken.told_on}, {which}: {ABOUT[taken.about]}. "
        f"{said[0].upper()}{said[1:]}; {state}."
    )
