"""Held containers as a table, and what became of each container beside its weights."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterator, Mapping
from typing import Final

from fillwright.jobs.desk import Desk, find_job
from fillwright.jobs.held.fates import fates_of
from fillwright.jobs.held.words import OUTCOMES
from fillwright.records.book import stream_of
from fillwright.records.entries import (
    ContainersEmptied,
    ContainersHeld,
    ContainersRelabelled,
    Entry,
    SettlingStruck,
)
from fillwright.records.fold import JobState
from fillwright.records.heldbook import Settling
from fillwright.records.spans import Span, count, words
from fillwright.records.table import Cell

__all__ = ["COUNTED", "HELD", "became_of", "fate_counts", "held_rows"]

HELD: Final = (
    "what",
    "containers",
    "how many",
    "reason",
    "product back (g)",
    "back weighed",
    "back into",
    "new label quantity",
    "new label unit",
    "new rule set",
    "new lot code",
    "least content (label unit)",
    "mean content (label unit)",
    "struck out",
    "entry id",
)
"""Columns of the table of held containers, after who and when."""
COUNTED: Final = ("settled", "topped up", "re-labelled", "emptied back", "scrapped", "kept")
"""Fates that the table of jobs counts, beside what is held."""


def held_rows(desk: Desk, numbers: tuple[str, ...]) -> Iterator[tuple[Entry, tuple[Cell, ...]]]:
    """Yield one row for each entry about held containers, with the entry that it is of."""
    for number in numbers:
        settlings = {one.id: one for one in find_job(desk, number).held.settlings}
        for entry in desk.journal.entries(stream_of(number)):
            row = _row(settlings, entry)
            if row is not None:
                yield entry, row


def became_of(state: JobState) -> Callable[[int | None], str]:
    """Return what tells what became of a container by its number; empty for none."""
    found = sorted(
        (span.first, span.last, fate) for fate, spans in fates_of(state).items() for span in spans
    )
    starts = [first for first, _, _ in found]

    def tell(container: int | None) -> str:
        if container is None:
            return ""
        place = bisect_right(starts, container) - 1
        return found[place][2] if place >= 0 and container <= found[place][1] else ""

    return tell


def fate_counts(state: JobState) -> tuple[Cell, ...]:
    """Return how many containers of a job each fate of `COUNTED` has."""
    fates = fates_of(state)
    return tuple(count(fates.get(fate, ())) for fate in COUNTED)


def _row(settlings: Mapping[str, Settling], entry: Entry) -> tuple[Cell, ...] | None:
    """Return the row of one entry, or None where it is of something else."""
    fact = entry.payload
    blank: tuple[Cell, ...] = (None, "", "", None, "", "", "", None, None)
    if isinstance(fact, ContainersHeld):
        span = Span(fact.first, fact.last)
        return ("held", words([span]), count([span]), fact.reason, *blank, "", entry.id)
    if isinstance(fact, SettlingStruck):
        one = settlings.get(fact.settling_id)
        spans = () if one is None else one.spans
        shown = words(spans) if spans else ""
        return ("struck out", shown, count(spans), fact.reason, *blank, "", entry.id)
    one = settlings.get(entry.id)
    if one is None:
        return None
    more = blank
    if isinstance(fact, ContainersEmptied):
        weighed = "yes" if fact.is_weighed else "no"
        more = (fact.back_g, weighed, fact.into, *blank[3:])
    elif isinstance(fact, ContainersRelabelled):
        label = (
            fact.nominal,
            fact.unit,
            fact.rules,
            fact.lot_code,
            fact.least_label_unit,
            fact.mean,
        )
        more = (*blank[:3], *label)
    said = (OUTCOMES[one.outcome], words(one.spans), count(one.spans), one.reason)
    return (*said, *more, one.struck, entry.id)
