"""Machines in the field as tables: register, visits, enquiries, trial fills, cases."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import UTC
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.fault.case import done_lines
from fillwright.jobs.field.register import cases_of_field, register
from fillwright.records.case_file import CaseFile
from fillwright.records.entries import (
    CaseBegan,
    CaseEnded,
    CaseReceived,
    CaseReplied,
    EnquiryTaken,
    Entry,
    FaultAnswered,
    FaultClosed,
    FaultOpened,
    FieldMachineKept,
    Payload,
    RepairTried,
    TrialFilled,
)
from fillwright.records.fieldfold import CASES, FIELD, CaseState
from fillwright.records.kinds_field import FieldSeal
from fillwright.records.table import Cell, Table

__all__ = ["FIELD_TABLES", "field_table"]

_CAME: Final = "came with the case"
_Rows = Iterator[tuple[Cell, ...]]
_WHO: Final = ("time (UTC)", "bench zone", "person", "bench", "entry id")
_REGISTER: Final = (
    "machine",
    "serial",
    "owner",
    "configuration",
    "profile",
    "retired",
    "seals fitted",
    "visits",
    "next visit",
    *_WHO,
)
_VISITS: Final = (
    "machine",
    "serial",
    "owner",
    "visited on",
    "done",
    "seals fitted",
    "next visit",
    "struck out",
    *_WHO,
)
_ENQUIRIES: Final = (
    "enquiry",
    "who asked",
    "product",
    "container",
    "dose (mL)",
    "wanted (1/min)",
    "note",
    *_WHO,
)
_TRIALS: Final = (
    "trial",
    "machine",
    "machine name",
    "filled with",
    "product",
    "fitted",
    "setting",
    "asked (g)",
    "shot",
    "net (g)",
    "enquiry",
    "note",
    *_WHO,
)
_CASES: Final = (
    "case",
    "machine",
    "machine name",
    "job there",
    "kind",
    "what",
    "told",
    "outcome",
    *_WHO,
)


def field_table(desk: Desk, name: str, job: str | None) -> Table:
    """Return a table of what belongs to no job.

    Parameters
    ----------
    desk : Desk
        Where the journal is.
    name : str
        One of `FIELD_TABLES`.
    job : str or None
        The job that was asked for; there is none of these tables of one job.

    Raises
    ------
    BadInput
        If a job was asked for.
    """
    if job is not None:
        message = f"The table {name!r} belongs to no job. Take it whole, without a job number."
        raise BadInput(message, field="job", given=job, code="inconsistent")
    headers, rows = FIELD_TABLES[name]
    return Table(name=name, headers=headers, rows=rows(desk))


def _who(entry: Entry) -> tuple[Cell, ...]:
    """Return when, who and where."""
    return (_utc(entry.at.astimezone(UTC).isoformat(timespec="milliseconds")), *_by(entry))


def _utc(text: str) -> str:
    """Return a time in UTC with the zone's letter."""
    return text.replace("+00:00", "Z")


def _by(entry: Entry) -> tuple[Cell, ...]:
    """Return zone, person, bench and id of an entry."""
    return (entry.zone, entry.person, entry.bench, entry.id)


def _seals(seals: tuple[FieldSeal, ...]) -> str:
    """Return seals with their places."""
    return "; ".join(
        f"{seal.place}: {seal.what}{f', {seal.fitted_on}' if seal.fitted_on else ''}"
        for seal in seals
    )


def _machines(desk: Desk) -> _Rows:
    """Yield one row a machine, as its latest entry says it, with the seals fitted now."""
    latest = {
        entry.payload.machine: entry
        for entry in desk.journal.entries(FIELD)
        if isinstance(entry.payload, FieldMachineKept)
    }
    for number, machine in register(desk).machines.items():
        line = machine.line
        yield (
            number,
            line.serial,
            line.owner,
            line.configuration,
            line.profile,
            "yes" if line.is_retired else "no",
            _seals(machine.seals),
            len(machine.visits),
            machine.next_on,
            *_who(latest[number]),
        )


def _visits(desk: Desk) -> _Rows:
    """Yield one row a visit, struck out or not."""
    machines = register(desk).machines
    visits = {one.id: one for machine in machines.values() for one in machine.told}
    for entry in desk.journal.entries(FIELD):
        told = visits.get(entry.id)
        if told is None:
            continue
        fact, line = told.fact, machines[told.fact.machine].line
        yield (
            fact.machine,
            line.serial,
            line.owner,
            fact.visited_on,
            fact.done,
            _seals(fact.seals),
            fact.next_on,
            told.struck,
            *_who(entry),
        )


def _enquiries(desk: Desk) -> _Rows:
    """Yield one row an enquiry."""
    for entry in desk.journal.entries(FIELD):
        fact = entry.payload
        if isinstance(fact, EnquiryTaken):
            yield (
                fact.enquiry,
                fact.who,
                fact.product.name,
                fact.container.name,
                fact.dose_ml,
                fact.rate_per_min,
                fact.note,
                *_who(entry),
            )


def _trials(desk: Desk) -> _Rows:
    """Yield one row a shot."""
    for entry in desk.journal.entries(FIELD):
        fact = entry.payload
        if not isinstance(fact, TrialFilled):
            continue
        for shot, net_g in enumerate(fact.nets_g, start=1):
            yield (
                fact.trial,
                fact.machine or None,
                fact.machine_name,
                fact.filled_with,
                fact.product,
                fact.fitted,
                fact.setting,
                fact.asked_g,
                shot,
                net_g,
                fact.enquiry or None,
                fact.note,
                *_who(entry),
            )


def _cases(desk: Desk) -> _Rows:
    """Yield one row a fact of a case: how it began, what came with it, each answer, its end."""
    for case in sorted(cases_of_field(desk), key=lambda one: one.number):
        named = _named(case)
        for entry in desk.journal.entries(f"{CASES}{case.number}"):
            for cells in _told(desk, case, entry):
                yield (case.number, *named, *cells, *_who(entry))


def _named(case: CaseState) -> tuple[Cell, ...]:
    """Return machine, its name and the job of a case."""
    name = "" if case.begun is None else case.begun.machine_name
    job = ""
    if case.sent is not None:
        job = case.sent.job
        name = next((fact.words for fact in case.sent.machine if fact.name == "machine"), "")
    return (case.machine or None, name, job)


def _told(desk: Desk, case: CaseState, entry: Entry) -> Iterator[tuple[str, str, str, str]]:
    """Yield kind, what, what was told, and outcome; for a file also what came with it."""
    fact = entry.payload
    match fact:
        case CaseBegan():
            yield fact.kind, "", "may burn" if fact.is_flammable else "", ""
        case CaseReceived():
            photos = 0 if case.sent is None else len(case.sent.photos)
            yield fact.kind, fact.file_name, f"{photos} photos" if photos else "", fact.digest
            if case.sent is not None:
                yield from _came_with(desk, case.sent)
        case CaseReplied():
            yield fact.kind, fact.check or fact.repair, fact.words, ""
        case CaseEnded():
            yield fact.kind, "", fact.words, fact.came_to
        case _:
            yield _searched(fact)


def _came_with(desk: Desk, sent: CaseFile) -> Iterator[tuple[str, str, str, str]]:
    """Yield what an owner had done before he sent a case."""
    yield _CAME, sent.sign, ", ".join(sent.findings), ""
    for line in done_lines(desk.faults.book, sent.searched(), sent.named()):
        yield _CAME, line.name, line.words, ""
    if sent.closed is not None:
        closed = sent.closed
        yield _CAME, closed.cause, closed.note, closed.outcome


def _searched(fact: Payload) -> tuple[str, str, str, str]:
    """Return kind, what, what was told, and outcome of a fact of a search."""
    match fact:
        case FaultOpened():
            return fact.kind, fact.sign, ", ".join(fact.findings), ""
        case FaultAnswered():
            told = [*fact.present, *(f"not {name}" for name in fact.absent)]
            outcome = "" if fact.was_possible else "could not be checked"
            return fact.kind, fact.check, ", ".join(told), outcome
        case RepairTried():
            return fact.kind, fact.repair, "", fact.outcome
        case FaultClosed():
            return fact.kind, fact.cause, fact.note, fact.outcome
        case _:
            return fact.kind, "", "", ""


FIELD_TABLES: Final[Mapping[str, tuple[tuple[str, ...], Callable[[Desk], _Rows]]]] = {
    "register": (_REGISTER, _machines),
    "visits": (_VISITS, _visits),
    "enquiries": (_ENQUIRIES, _enquiries),
    "trials": (_TRIALS, _trials),
    "cases": (_CASES, _cases),
}
"""Headers and rows of each table, by its name."""
