"""The case file of a search, and the call sheet that is read out or printed.

A case is read by the fault data of whoever reads it, with the site's own where there are any;
what only the sender's data have is shown in the words that came with the case.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, find_job
from fillwright.jobs.fault.case_photos import case_photos
from fillwright.jobs.fault.look import CaseLook, look_at, look_with
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

__all__ = [
    "call_sheet",
    "case_file",
    "done_lines",
    "look_into",
    "own_names",
    "sheet_of",
    "sign_of",
]

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


def case_file(desk: Desk, number: str, *, with_photos: bool = True) -> CaseFile:
    """Return the latest search of a job as the file that is sent.

    Parameters
    ----------
    desk : Desk
        Where the job is.
    number : str
        Job number.
    with_photos : bool
        False where nobody looks at the photos.

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
            names=own_names(desk.faults.book, case),
            photos=case_photos(desk, state, case.number) if with_photos else (),
        )


def own_names(book: FaultBook, case: FaultCase) -> tuple[Fact, ...]:
    """Return what a search names otherwise than the data of the program, in the words of here."""
    shipped = fault_book()
    keys = [case.opened.sign, *case.opened.findings]
    for _, answer in case.answers:
        keys += [answer.check, *answer.present, *answer.absent]
    keys += [tried.repair for _, tried in case.repairs]
    keys += [] if case.closed is None else [case.closed.repair, case.closed.cause]
    told = {key: _words(book, key) for key in keys if key}
    return tuple(
        Fact(name=in_words(key), words=in_words(words))
        for key, words in told.items()
        if words and words != _words(shipped, key)
    )[:200]


def _words(book: FaultBook, key: str) -> str:
    """Return what fault data call a sign, finding, check, repair or cause; empty for none."""
    if key in book.signs:
        return book.signs[key].words
    if key in book.findings:
        return book.findings[key].text
    if key in book.checks:
        return f"Check {book.checks[key].number}: {book.checks[key].name}"
    found = book.repairs.get(key) or book.causes.get(key)
    return "" if found is None else found.name


def done_lines(
    book: FaultBook, case: FaultCase, names: Mapping[str, str] | None = None
) -> tuple[DoneLine, ...]:
    """Return what was done, in the order in which it was done.

    Parameters
    ----------
    book : FaultBook
        Of whoever reads it.
    case : FaultCase
        The search.
    names : mapping of str to str, optional
        Words that came with it, by key; they go before those of the book.
    """
    named = dict(names or {})

    def called(key: str) -> str:
        return named.get(key) or _words(book, key) or key

    rows = []
    for at, fact in case.answers:
        name = called(fact.check)
        seen = [called(one) for one in fact.present]
        seen += [f"not: {called(one)}" for one in fact.absent]
        words = "; ".join(seen) if fact.was_possible else "could not be checked"
        rows.append(DoneLine(at=at, name=name, words=words))
    for at, tried in case.repairs:
        outcome = tried.outcome.replace("-", " ")
        rows.append(DoneLine(at=at, name=called(tried.repair), words=outcome))
    return tuple(sorted(rows, key=lambda row: row.at))


def sign_of(book: FaultBook, sent: CaseFile) -> str:
    """Return what was seen, in words; what only the sender's data have by what came with it."""
    named = sent.named()
    keys = dict.fromkeys((sent.sign, *sent.findings))
    words = (named.get(key) or _words(book, key) or key for key in keys if key)
    return ", ".join(words)


def look_into(sent: CaseFile, *, asked: str = "", book: FaultBook | None = None) -> CaseLook:
    """Return what the technician sees of a case that was sent.

    Parameters
    ----------
    sent : CaseFile
        The case.
    asked : str
        Number or key of a check that is asked for.
    book : FaultBook, optional
        Fault data to read it by; those of the program when left out.
    """
    used = fault_book() if book is None else book
    who = next((fact.words for fact in sent.machine if fact.name == "machine"), "")
    seen = look_with(
        used,
        net_of(used),
        sent.searched(),
        figures="Shipped figures." if book is None else "Figures of this site's fault data.",
        who=f"{who}, job {sent.job}" if who else f"Job {sent.job}",
        asked=asked,
    )
    return replace(seen, sign=sign_of(used, sent))


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
    sent = case_file(desk, number, with_photos=False)
    invented = state.known.is_invented
    return sheet_of(
        sent, look, zone=desk.clock.zone(), is_invented=invented, book=desk.faults.book
    )


def sheet_of(
    sent: CaseFile,
    look: CaseLook,
    *,
    zone: str,
    is_invented: bool = False,
    book: FaultBook | None = None,
) -> CallSheet:
    """Return the call sheet of a case, in the words of the program's data or of a site's own."""
    book = fault_book() if book is None else book
    case = sent.searched()
    lines = done_lines(book, case, sent.named())
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
