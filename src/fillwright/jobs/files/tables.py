"""What the journal holds as plain tables, for a spreadsheet: one row a fact, units in the headers.

Amounts stay exact decimals and times carry their zone. A weight that was struck out or set
aside keeps its row, with the reason in a column of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, find_job
from fillwright.jobs.field.table import FIELD_TABLES, field_table
from fillwright.jobs.held.table import COUNTED, HELD, became_of, fate_counts, held_rows
from fillwright.jobs.strip.table import IN_CHECKS, SERVED, service_rows
from fillwright.jobs.trace.complaint_table import COMPLAINED, complaint_rows
from fillwright.jobs.words import described
from fillwright.records.book import stream_of
from fillwright.records.entries import (
    CheckTaken,
    Entry,
    LotJudged,
    LotJudgedElsewhere,
    MatchJudged,
    ProofJudged,
    ProofJudgedFirst,
    Released,
    StruckOut,
    TrimJudged,
    WeighingFromFile,
    WeighingTaken,
)
from fillwright.records.fold import JobState
from fillwright.records.table import Cell, Table

__all__ = ["TABLES", "WEIGHED", "table_of"]

_OF_JOBS: Final = ("weighings", "jobs", "checks", "service", "complaints", "held")
TABLES: Final = (*_OF_JOBS, *FIELD_TABLES)
"""Names of the tables."""

_WHO: Final = ("job", "time (UTC)", "bench zone", "person", "bench")
WEIGHED: Final = (
    *_WHO,
    "lot code",
    "purpose",
    "shown",
    "unit",
    "basis",
    "tare (g)",
    "net (g)",
    "container",
    "filled to",
    "setting (marks)",
    "judged",
    "set aside",
    "struck out",
    "source",
    "weighed (UTC)",
    "file",
    "row in file",
    "entry id",
    "became",
)
_JOBS: Final = (
    "job",
    "opened (UTC)",
    "changed (UTC)",
    "product",
    "container",
    "machine",
    "weighing scale",
    "label quantity",
    "label unit",
    "rule set",
    "lot code",
    "lot size",
    "aim (g)",
    "setting (marks)",
    "filled",
    "weighings",
    "weighed elsewhere",
    "held",
    "trim",
    "proof",
    "proved within (%)",
    "lot verdict",
    "lot mean (label unit)",
    "release",
    "released (UTC)",
    "brought from",
    *COUNTED,
)
_CHECKS: Final = (*_WHO, "check", "verdict", "weight (g)", "reading (g)", "allowed (g)", "because")
_SERVICE: Final = (*_WHO, *SERVED)


def table_of(desk: Desk, name: str, number: str | None = None) -> Table:
    """Return a table of one job, or of all jobs.

    Parameters
    ----------
    desk : Desk
        Where the journal is.
    name : str
        One of `TABLES`.
    number : str, optional
        Number of the one job that is wanted.

    Returns
    -------
    Table
        Its rows are read while it is written.

    Raises
    ------
    BadInput
        If there is no such table, or no such job.
    """
    if name not in TABLES:
        allowed = ", ".join(TABLES)
        message = f"There is no table {name!r}. Take one of {allowed}."
        raise BadInput(message, field="table", given=name, allowed=allowed, code="choice")
    numbers = desk.book.numbers()
    if number is not None:
        find_job(desk, number)
        numbers = (number,)
    if name in FIELD_TABLES:
        return field_table(desk, name, number)
    match name:
        case "weighings":
            return Table(name=name, headers=WEIGHED, rows=_weighings(desk, numbers))
        case "jobs":
            return Table(name=name, headers=_JOBS, rows=_jobs(desk, numbers))
        case "checks":
            return Table(name=name, headers=_CHECKS, rows=_checks(desk, numbers))
        case "complaints":
            return Table(name=name, headers=COMPLAINED, rows=complaint_rows(desk, number))
        case "held":
            said = held_rows(desk, numbers)
            told = ((*_who(entry), *cells) for entry, cells in said)
            return Table(name=name, headers=(*_WHO, *HELD), rows=told)
        case _:
            rows = service_rows(desk, numbers, is_one=number is not None)
            return Table(
                name=name,
                headers=_SERVICE,
                rows=((job, *_who(entry)[1:], *cells) for entry, job, cells in rows),
            )


def _weighings(desk: Desk, numbers: tuple[str, ...]) -> Iterator[tuple[Cell, ...]]:
    """Yield one row for each weighing, struck out or not."""
    for number in numbers:
        stream = stream_of(number)
        struck = {
            entry.payload.entry_id: entry.payload.reason
            for entry in desk.journal.entries(stream)
            if isinstance(entry.payload, StruckOut)
        }
        state = find_job(desk, number)
        lot_code, became = state.known.lot_code, became_of(state)
        names = {file_id: tally.fact.name for file_id, tally in state.files.files.items()}
        for entry in desk.journal.entries(stream):
            fact = entry.payload
            if isinstance(fact, WeighingTaken):
                file_id = fact.file_id if isinstance(fact, WeighingFromFile) else ""
                yield (
                    *_who(entry),
                    lot_code,
                    fact.purpose,
                    Decimal(fact.value),
                    fact.unit,
                    fact.basis,
                    fact.tare_g,
                    fact.net_g,
                    fact.container,
                    fact.filled_to,
                    fact.setting_marks,
                    fact.state,
                    fact.set_aside,
                    struck.get(entry.id, "") or struck.get(file_id, ""),
                    fact.source,
                    fact.weighed_at if isinstance(fact, WeighingFromFile) else "",
                    names.get(file_id, ""),
                    fact.file_row if isinstance(fact, WeighingFromFile) else None,
                    entry.id,
                    became(fact.container) if fact.purpose != "elsewhere" else "",
                )


def _jobs(desk: Desk, numbers: tuple[str, ...]) -> Iterator[tuple[Cell, ...]]:
    """Yield one row for each job."""
    for number in numbers:
        with desk.book.lock:
            row = _job(find_job(desk, number))
        yield row


def _job(state: JobState) -> tuple[Cell, ...]:
    """Return the row of a job."""
    facts, proof, lot = state.known, state.proof, state.lot
    brought = state.files.brought
    return (
        state.number,
        _utc(state.opened_at),
        _utc(state.changed_at),
        facts.product.name,
        facts.container.name,
        facts.machine.name,
        facts.scale.name,
        facts.nominal,
        facts.unit,
        facts.rules,
        facts.lot_code,
        facts.lot_size,
        facts.aim_g,
        state.setting_marks,
        state.filled_to,
        len(state.weighings),
        sum(tally.count for tally in state.files.files.values() if not tally.struck),
        sum(span.last - span.first + 1 for span in state.open_spans),
        "" if state.trim is None else state.trim.verdict,
        "" if proof is None else proof.verdict,
        None if proof is None else _float(proof.half_width_pct),
        "" if lot is None else lot.verdict,
        None if lot is None else _float(lot.mean),
        "" if state.released is None else state.released.outcome,
        _utc(state.released_at),
        "" if brought is None else f"job {brought.number} of {brought.bench}",
        *fate_counts(state),
    )


def _checks(desk: Desk, numbers: tuple[str, ...]) -> Iterator[tuple[Cell, ...]]:
    """Yield one row for each check of the weighing scale and each verdict."""
    for number in numbers:
        for entry in desk.journal.entries(stream_of(number)):
            row = _check(entry)
            if row is not None:
                yield (*_who(entry), *row)


def _check(entry: Entry) -> tuple[Cell, ...] | None:
    """Return what an entry checked, or None where it checked nothing."""
    match entry.payload:
        case CheckTaken() as fact:
            verdict = "passed" if fact.passed else "failed"
            return ("weighing scale", verdict, fact.weight_g, fact.reading_g, fact.allowed_g, "")
        case LotJudgedElsewhere(judgement=lot):
            return ("lot, other market", lot.verdict, None, None, None, lot.because)
        case MatchJudged() | LotJudged() as fact:
            name = "match" if isinstance(fact, MatchJudged) else "lot"
            return (name, fact.verdict, None, None, None, fact.because)
        case TrimJudged() as fact:
            return ("trim", fact.verdict, None, _float(fact.mean_g), None, fact.because)
        case ProofJudged() | ProofJudgedFirst() as fact:
            mean, half = _float(fact.mean_g), _float(fact.half_width_g)
            return ("proof", fact.verdict, None, mean, half, fact.because)
        case Released() as fact:
            return ("release", fact.outcome, None, None, None, described(entry))
        case fact if isinstance(fact, IN_CHECKS):
            words = getattr(fact, "because", "") or getattr(fact, "words", "") or described(entry)
            return (fact.kind, _said(fact), None, None, None, words)
        case _:
            return None


def _said(fact: object) -> str:
    """Return the one word of a check that has no verdict of its own name."""
    told = (getattr(fact, name, "") for name in ("verdict", "signal", "role", "kinds"))
    found = next((one for one in told if one), "")
    return ", ".join(found) if isinstance(found, tuple) else str(found)


def _who(entry: Entry) -> tuple[Cell, ...]:
    """Return the first columns: which job, when, who, where."""
    job = entry.stream.rpartition("/")[2]
    return (job, _utc(entry.at), entry.zone, entry.person, entry.bench)


def _utc(at: datetime | None) -> Cell:
    """Return a time as ISO 8601 in UTC with its mark; None where there is none."""
    if at is None:
        return None
    return at.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _float(value: float | None) -> Decimal | None:
    """Return a computed figure as a decimal of the digits that identify it."""
    return None if value is None else Decimal(repr(float(value)))
