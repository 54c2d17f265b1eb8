"""A search for a fault on a machine without a job: the same science, a case of its own stream.

Answers to a case that an owner sent are kept here too, behind those that came with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from fillwright.errors import BadInput, Conflict
from fillwright.jobs.act import CAUTIONS, Caution
from fillwright.jobs.desk import Desk, Press
from fillwright.jobs.fault.case import done_lines, sign_of
from fillwright.jobs.fault.facts import (
    answer_fact,
    closing_fact,
    repair_facts,
    sign_fact,
    walk_facts,
)
from fillwright.jobs.fault.learn import figures_of
from fillwright.jobs.fault.look import CaseLook, look_with
from fillwright.jobs.field.register import case_of, machine_of, register
from fillwright.records.codec import draft
from fillwright.records.entries import CaseBegan, Payload
from fillwright.records.faultcase import FaultCase
from fillwright.records.fieldfold import CASES, CaseState
from fillwright.records.sheets_fault import DoneLine

__all__ = [
    "Begun",
    "answer",
    "begin",
    "cautions",
    "close",
    "done",
    "keep_in_case",
    "look",
    "next_case",
    "searched",
    "sign_again",
    "title",
    "tried",
    "walked",
]

_CLOSED: Final = "Case {} is closed. Begin another search where something is wrong again."


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """What a search without a job begins with; `machine` is 0 for one of the bench."""

    machine: int
    bench_machine: str
    sign: str
    findings: tuple[str, ...] = ()
    is_flammable: bool = False


def cautions(case: CaseState | None) -> tuple[Caution, ...]:
    """Return the cautions that stand above a search without a job."""
    found = [Caution(words=CAUTIONS[key].words) for key in ("starts", "ports")]
    if case is None or case.begun is None or case.begun.is_flammable:
        # Where nobody can say what stands in the machine it is taken as one that burns.
        found.append(CAUTIONS["flammable"])
    return tuple(found)


def title(case: CaseState) -> str:
    """Return what a case is of, in a few words."""
    if case.begun is not None:
        return case.begun.machine_name
    if case.sent is not None:
        named = next((fact.words for fact in case.sent.machine if fact.name == "machine"), "")
        return f"{named}, job {case.sent.job}" if named else f"Job {case.sent.job}"
    return case.received.file_name if case.received is not None else ""


def begin(desk: Desk, begun: Begun, press: Press) -> int:
    """Begin a search on a machine without a job.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    begun : Begun
        Which machine, and what was seen.
    press : Press
        Who pressed.

    Returns
    -------
    int
        Number of the case.

    Raises
    ------
    BadInput
        If no machine or no sign was picked.
    """
    seen = sign_fact(desk.faults.book, begun.sign, begun.findings)
    with desk.book.lock:
        if begun.machine:
            # The owner stays on this bench: the name goes out on papers and files.
            name = machine_of(register(desk), begun.machine).line.serial
        elif begun.bench_machine in desk.book.site().machines:
            name = begun.bench_machine
        else:
            message = "Pick the machine: one of the register, or one of the bench."
            given = begun.bench_machine[:60]
            raise BadInput(message, field="machine", given=given, code="missing")
        fact = CaseBegan(machine=begun.machine, machine_name=name, is_flammable=begun.is_flammable)
        number = next_case(desk)
        keep_in_case(desk, CaseState(number=number), [fact, seen], press)
        return number


def look(desk: Desk, case: CaseState, *, asked: str = "", walks: bool = False) -> CaseLook | None:
    """Return what the page shows of a search; None where there is none to show."""
    if case.search is None:
        return None
    figures = figures_of(desk)
    seen = look_with(
        desk.faults.book,
        figures.net,
        case.search,
        minutes=figures.minutes,
        figures=figures.words,
        who=f"{title(case)}, case {case.number}",
        asked=asked,
        walks=walks,
        is_flammable=case.begun is not None and case.begun.is_flammable,
    )
    return seen if case.sent is None else replace(seen, sign=sign_of(desk.faults.book, case.sent))


def done(desk: Desk, case: CaseState) -> tuple[DoneLine, ...]:
    """Return what was done in a case, in order."""
    names = None if case.sent is None else case.sent.named()
    return () if case.search is None else done_lines(desk.faults.book, case.search, names)


def sign_again(desk: Desk, number: int, sign: str, findings: Sequence[str], press: Press) -> None:
    """Go on with another sign; the search so far is left."""
    seen = sign_fact(desk.faults.book, sign, findings)
    with desk.book.lock:
        case = _own(desk, number)
        keep_in_case(desk, case, [closing_fact("left", "another sign was picked"), seen], press)


def answer(desk: Desk, number: int, check: str, finding: str, said: str, press: Press) -> None:
    """Keep the answer to a check."""
    with desk.book.lock:
        case, _ = searched(desk, number)
        keep_in_case(desk, case, [answer_fact(desk.faults.book, check, finding, said)], press)


def walked(
    desk: Desk, number: int, checks: Sequence[str], seen: Sequence[str], press: Press
) -> None:
    """Keep a walk round the machine."""
    with desk.book.lock:
        case, _ = searched(desk, number)
        keep_in_case(desk, case, walk_facts(desk.faults.book, checks, seen), press)


def tried(desk: Desk, number: int, repair: str, outcome: str, press: Press) -> None:
    """Keep a repair; a cure closes the search."""
    with desk.book.lock:
        case, search = searched(desk, number)
        keep_in_case(desk, case, repair_facts(desk.faults.book, search, repair, outcome), press)


def close(desk: Desk, number: int, outcome: str, words: str, press: Press) -> None:
    """Hand a search over, or leave it."""
    with desk.book.lock:
        case, _ = searched(desk, number)
        keep_in_case(desk, case, [closing_fact(outcome, words)], press)


def next_case(desk: Desk) -> int:
    """Return the number of the next case."""
    used = [int(name.removeprefix(CASES)) for name in desk.journal.streams(CASES)]
    return max(used, default=0) + 1


def _own(desk: Desk, number: int) -> CaseState:
    """Return an open search of one's own."""
    case = case_of(desk, number)
    if case.begun is None or not case.is_open:
        raise BadInput(_CLOSED.format(number), field="case", given=number, code="inconsistent")
    return case


def searched(desk: Desk, number: int) -> tuple[CaseState, FaultCase]:
    """Return an open case and its search, which is open too."""
    case = case_of(desk, number)
    if not case.is_open or case.search is None or case.search.closed is not None:
        raise BadInput(_CLOSED.format(number), field="case", given=number, code="inconsistent")
    return case, case.search


def keep_in_case(desk: Desk, case: CaseState, facts: Sequence[Payload], press: Press) -> None:
    """Append facts to a case in one transaction, on the state that they were decided on.

    Raises
    ------
    Conflict
        If the case moved on since `press` was made.
    """
    if press.seen is not None and case.revision and press.seen != case.revision:
        message = f"Somebody else went on with case {case.number}. Look again, then press."
        raise Conflict(message)
    at, zone = desk.clock.now(), desk.clock.zone()
    stream = f"{CASES}{case.number}"
    desk.journal.append(
        [
            draft(fact, stream=stream, at=at, zone=zone, person=press.person, bench=desk.bench)
            for fact in facts
        ],
        seen=case.revision,
    )
