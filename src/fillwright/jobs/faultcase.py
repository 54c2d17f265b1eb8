"""The case file of a search, and the call sheet that is read out or printed."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, find_job
from fillwright.jobs.faultlook import CaseLook, look_at, look_with
from fillwright.jobs.words import plain
from fillwright.knowledge.faults_load import fault_book
from fillwright.knowledge.faults_types import FaultBook
from fillwright.records.case_file import (
    CaseAnswer,
    CaseClosed,
    CaseFile,
    CaseRepair,
    Fact,
    in_words,
)
from fillwright.records.faultcase import FaultCase
from fillwright.records.fold import JobState
from fillwright.records.sheets import FactLine
from fillwright.records.sheets_fault import CallSheet, DoneLine
from fillwright.science.faults import net_of

__all__ = ["call_sheet", "case_file", "done_lines", "look_into", "sheet_of"]

_DOSES: Final = 120


def _latest(state: JobState) -> FaultCase:
    """Return the latest search of a job, open or closed."""
    if not state.faults:
        message = f"No fault was looked for in job {state.number}. Say what you see first."
        raise BadInput(message, field="job", given=state.number, code="missing")
    return state.faults[-1]


def _machine_facts(state: JobState) -> list[Fact]:
    """Return what a technician asks about the machine first."""
    facts = state.known
    rows = [
        ("machine", facts.machine.name),
        ("cylinder", f"{plain(facts.cylinder.capacity_ml)} mL"),
        ("nozzle bore", f"{plain(facts.nozzle.bore_mm)} mm"),
    ]
    if state.setting_marks is not None:
        rows.append(("pointer, as recorded", f"{plain(state.setting_marks)} marks"))
    return [Fact(name=name, words=in_words(words)) for name, words in rows]


def _job_facts(state: JobState) -> list[Fact]:
    """Return what a technician asks about the job first."""
    facts = state.known
    rows = [
        ("product", facts.product.name),
        ("container", facts.container.name),
        ("aim", f"{plain(facts.aim_g)} g"),
        ("filled so far", str(state.filled_to)),
    ]
    rows += [
        (f"set up: {name}", step.reading) for name, step in state.steps.items() if step.reading
    ]
    return [Fact(name=in_words(name), words=in_words(words)) for name, words in rows][:60]


def case_file(desk: Desk, number: str) -> CaseFile:
    """Return the latest search of a job as the file that is sent.

    Raises
    ------
    BadInput
        If there is no such job, or no fault was looked for in it.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        case = _latest(state)
        doses = [w.fact for w in state.weighings if w.fact.purpose == "dose" and w.counts]
        return CaseFile(
            program=in_words(desk.program),
            job=in_words(number),
            case=case.number,
            opened_at=case.at,
            sign=case.opened.sign,
            findings=case.opened.findings,
            signature=case.opened.signature,
            machine=tuple(_machine_facts(state)),
            facts=tuple(_job_facts(state)),
            doses_g=tuple(Decimal(dose.value) for dose in doses[-_DOSES:] if dose.unit == "g"),
            answers=tuple(
                CaseAnswer(
                    at=at,
                    check=fact.check,
                    present=fact.present,
                    absent=fact.absent,
                    was_possible=fact.was_possible,
                )
                for at, fact in case.answers
            ),
            repairs=tuple(
                CaseRepair(at=at, repair=fact.repair, outcome=fact.outcome)
                for at, fact in case.repairs
            ),
            closed=None
            if case.closed is None or case.closed_at is None
            else CaseClosed(
                at=case.closed_at,
                outcome=case.closed.outcome,
                cause=case.closed.cause,
                repair=case.closed.repair,
                note=in_words(case.closed.note),
            ),
        )


def done_lines(book: FaultBook, case: FaultCase) -> tuple[DoneLine, ...]:
    """Return what was done, in the order in which it was done."""
    rows = []
    for at, fact in case.answers:
        check = book.checks.get(fact.check)
        name = fact.check if check is None else f"Check {check.number}: {check.name}"
        seen = [_text(book, one) for one in fact.present]
        seen += [f"not: {_text(book, one)}" for one in fact.absent]
        words = "; ".join(seen) if fact.was_possible else "could not be checked"
        rows.append(DoneLine(at=at, name=name, words=words))
    for at, tried in case.repairs:
        repair = book.repairs.get(tried.repair)
        name = tried.repair if repair is None else repair.name
        rows.append(DoneLine(at=at, name=name, words=tried.outcome.replace("-", " ")))
    return tuple(sorted(rows, key=lambda row: row.at))


def _text(book: FaultBook, finding: str) -> str:
    """Return a finding in words, or its key where it is not known here."""
    return book.findings[finding].text if finding in book.findings else finding


def look_into(sent: CaseFile, *, asked: str = "") -> CaseLook:
    """Return what the technician sees of a case that was sent, by the shipped figures."""
    book = fault_book()
    who = next((fact.words for fact in sent.machine if fact.name == "machine"), "")
    return look_with(
        book,
        net_of(book),
        sent.searched(),
        figures="Shipped figures.",
        who=f"{who}, job {sent.job}" if who else f"Job {sent.job}",
        asked=asked,
    )


def call_sheet(desk: Desk, number: str) -> CallSheet:
    """Return the call sheet of the latest search of a job.

    Raises
    ------
    BadInput
        If there is no such job, or no fault was looked for in it.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        case = _latest(state)
        look = look_at(desk, state, case)
    sent = case_file(desk, number)
    invented = state.known.is_invented
    return sheet_of(sent, look, zone=desk.clock.zone(), is_invented=invented)


def sheet_of(sent: CaseFile, look: CaseLook, *, zone: str, is_invented: bool = False) -> CallSheet:
    """Return the call sheet of a case."""
    book = fault_book()
    case = sent.searched()
    lines = done_lines(book, case)
    return CallSheet(
        job=sent.job,
        sign=look.sign,
        phone=look.phone,
        facts=tuple(
            FactLine(name=fact.name, words=fact.words) for fact in (*sent.machine, *sent.facts)
        ),
        done=lines,
        causes=tuple((one.name, one.word) for one in look.causes),
        ruled_out=look.ruled_out,
        step=look.step.order,
        why=look.step.why,
        doses_g=sent.doses_g[-20:],
        made_at=lines[-1].at if lines else sent.opened_at,
        zone=zone,
        program=sent.program,
        is_invented=is_invented,
    )
