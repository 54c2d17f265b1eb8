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
from fillwright.jobs.words import described
from fillwright.records.book import SITE, stream_of
from fillwright.records.entries import (
    CheckTaken,
    Entry,
    LotJudged,
    MatchJudged,
    ProofJudged,
    Released,
    StepDone,
    StripTicked,
    StruckOut,
    TrimJudged,
    WeighingTaken,
)
from fillwright.records.fold import JobState
from fillwright.records.table import Cell, Table

__all__ = ["TABLES", "WEIGHED", "table_of"]

TABLES: Final = ("weighings", "jobs", "checks", "service")
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
    "entry id",
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
    "held",
    "trim",
    "proof",
    "proved within (%)",
    "lot verdict",
    "lot mean (label unit)",
    "release",
    "released (UTC)",
)
_CHECKS: Final = (*_WHO, "check", "verdict", "weight (g)", "reading (g)", "allowed (g)", "because")
_SERVICE: Final = (*_WHO, "kind", "what", "entry id")
_SERVICE_FACTS: Final = (StepDone, StripTicked)


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
    match name:
        case "weighings":
            return Table(name=name, headers=WEIGHED, rows=_weighings(desk, numbers))
        case "jobs":
            return Table(name=name, headers=_JOBS, rows=_jobs(desk, numbers))
        case "checks":
            return Table(name=name, headers=_CHECKS, rows=_checks(desk, numbers))
        case _:
            streams = [stream_of(one) for one in numbers]
            if number is None:
                streams.append(SITE)
            return Table(name=name, headers=_SERVICE, rows=_service(desk, streams))


def _weighings(desk: Desk, numbers: tuple[str, ...]) -> Iterator[tuple[Cell, ...]]:
    """Yield one row for each weighing, struck out or not."""
    for number in numbers:
        stream = stream_of(number)
        struck = {
            entry.payload.entry_id: entry.payload.reason
            for entry in desk.journal.entries(stream)
            if isinstance(entry.payload, StruckOut)
        }
        lot_code = find_job(desk, number).known.lot_code
        for entry in desk.journal.entries(stream):
            fact = entry.payload
            if isinstance(fact, WeighingTaken):
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
                    struck.get(entry.id, ""),
                    fact.source,
                    entry.id,
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
        sum(span.last - span.first + 1 for span in state.open_spans),
        "" if state.trim is None else state.trim.verdict,
        "" if proof is None else proof.verdict,
        None if proof is None else _float(proof.half_width_pct),
        "" if lot is None else lot.verdict,
        None if lot is None else _float(lot.mean),
        "" if state.released is None else state.released.outcome,
        _utc(state.released_at),
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
        case MatchJudged() as fact:
            return ("match", fact.verdict, None, None, None, fact.because)
        case TrimJudged() as fact:
            return ("trim", fact.verdict, None, _float(fact.mean_g), None, fact.because)
        case ProofJudged() as fact:
            mean, half = _float(fact.mean_g), _float(fact.half_width_g)
            return ("proof", fact.verdict, None, mean, half, fact.because)
        case LotJudged() as fact:
            return ("lot", fact.verdict, None, None, None, fact.because)
        case Released() as fact:
            return ("release", fact.outcome, None, None, None, described(entry))
        case _:
            return None


def _service(desk: Desk, streams: list[str]) -> Iterator[tuple[Cell, ...]]:
    """Yield one row for each step of setting up, stripping and mending on record."""
    for stream in streams:
        for entry in desk.journal.entries(stream):
            if isinstance(entry.payload, _SERVICE_FACTS):
                yield (*_who(entry), entry.payload.kind, _step(entry), entry.id)


def _step(entry: Entry) -> str:
    """Return what was done, with its outcome, in words."""
    told = (getattr(entry.payload, name, "") for name in ("step", "outcome", "reading", "reason"))
    return ", ".join(str(words) for words in told if words) or described(entry)


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
