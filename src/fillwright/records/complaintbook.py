"""Complaints as they stand, folded from their entries."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from fillwright.records.entries import (
    ComplaintAnswered,
    ComplaintClosed,
    ComplaintReopened,
    ComplaintTaken,
    Entry,
)

__all__ = ["COMPLAINTS", "Complaint", "ComplaintBook", "fold_complaints"]

COMPLAINTS = "complaints"
"""Stream of all complaints."""


@dataclass(slots=True)
class Complaint:
    """A complaint with all that was found and done; the latest last.

    Parameters
    ----------
    taken_at, taken_by
        When it was taken, and the initials of who took it.
    taken : ComplaintTaken
        What was told.
    answers, closings, reopenings : list
        When, by whom, and what.
    is_open : bool
        False once it is closed.
    """

    taken_at: datetime
    taken_by: str
    taken: ComplaintTaken
    answers: list[tuple[datetime, str, ComplaintAnswered]] = field(default_factory=list)
    closings: list[tuple[datetime, str, ComplaintClosed]] = field(default_factory=list)
    reopenings: list[tuple[datetime, str, ComplaintReopened]] = field(default_factory=list)
    is_open: bool = True

    @property
    def number(self) -> int:
        """Return its number."""
        return self.taken.complaint

    @property
    def answer(self) -> ComplaintAnswered | None:
        """Return what was found last; None while nobody answered."""
        return self.answers[-1][2] if self.answers else None


@dataclass(slots=True)
class ComplaintBook:
    """All complaints by number, oldest first."""

    revision: int = 0
    complaints: dict[int, Complaint] = field(default_factory=dict)

    def apply(self, entry: Entry) -> None:
        """Take one more entry."""
        self.revision = entry.revision
        match entry.payload:
            case ComplaintTaken() as taken:
                self.complaints[taken.complaint] = Complaint(entry.at, entry.person, taken)
            case ComplaintAnswered(complaint=number) as answer if number in self.complaints:
                self.complaints[number].answers.append((entry.at, entry.person, answer))
            case ComplaintClosed(complaint=number) as closed if number in self.complaints:
                self.complaints[number].closings.append((entry.at, entry.person, closed))
                self.complaints[number].is_open = False
            case ComplaintReopened(complaint=number) as again if number in self.complaints:
                self.complaints[number].reopenings.append((entry.at, entry.person, again))
                self.complaints[number].is_open = True
            case _:
                pass

    def of_job(self, job: str) -> tuple[Complaint, ...]:
        """Return the complaints of one lot, oldest first."""
        return tuple(one for one in self.complaints.values() if one.taken.job == job)


def fold_complaints(entries: Iterable[Entry]) -> ComplaintBook:
    """Return all complaints after `entries`."""
    book = ComplaintBook()
    for entry in entries:
        book.apply(entry)
    return book
