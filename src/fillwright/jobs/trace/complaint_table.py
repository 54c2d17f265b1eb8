"""Complaints as a table: one row each, with what was found and done last."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC
from typing import Final

from fillwright.jobs.desk import Desk
from fillwright.jobs.trace.complaint_facts import ABOUT
from fillwright.jobs.trace.complaint_look import FINDINGS, book_of
from fillwright.records.table import Cell

__all__ = ["COMPLAINED", "complaint_rows"]

COMPLAINED: Final = (
    "complaint",
    "job",
    "lot code",
    "taken (UTC)",
    "taken by",
    "told on",
    "container",
    "tray",
    "complained of",
    "told",
    "customer",
    "left in it (g)",
    "finding",
    "found by",
    "rests on",
    "state",
    "done",
    "closed by",
    "opened again",
)
"""Heads of the columns."""


def complaint_rows(desk: Desk, job: str | None) -> Iterator[tuple[Cell, ...]]:
    """Yield one row for each complaint, of one job or of all."""
    book = book_of(desk)
    for one in book.complaints.values() if job is None else book.of_job(job):
        taken, answer = one.taken, one.answers[-1] if one.answers else None
        closed = one.closings[-1] if one.closings else None
        at = one.taken_at.astimezone(UTC).isoformat(timespec="milliseconds")
        yield (
            one.number,
            taken.job,
            taken.lot_code,
            at.replace("+00:00", "Z"),
            one.taken_by,
            taken.told_on,
            taken.container,
            taken.tray,
            ABOUT[taken.about],
            taken.told_words,
            taken.customer,
            taken.found_g,
            "" if answer is None else FINDINGS[answer[2].finding],
            "" if answer is None else answer[1],
            "" if answer is None else answer[2].reason,
            "open" if one.is_open else "closed",
            "" if closed is None else closed[2].done,
            "" if closed is None else closed[1],
            "; ".join(again.reason for _, _, again in one.reopenings),
        )
