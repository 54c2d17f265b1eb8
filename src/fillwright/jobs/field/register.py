"""The register of machines in the field: who has which, what is fitted, what was done there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press
from fillwright.records.codec import draft
from fillwright.records.entries import FieldMachineKept, FieldVisited, FieldVisitStruck, Payload
from fillwright.records.fieldfold import (
    CASES,
    FIELD,
    CaseState,
    FieldMachine,
    FieldState,
    fold_case,
    fold_field,
)
from fillwright.records.kinds_field import FieldSeal
from fillwright.records.localtime import latest_day, local

__all__ = [
    "FieldLine",
    "case_of",
    "cases_of_field",
    "day_or_none",
    "keep_in_field",
    "keep_machine",
    "lines",
    "machine_of",
    "register",
    "seals_from",
    "seals_in_lines",
    "strike_visit",
    "visit",
]

_LONGEST: Final = 400
_MOST_SEALS: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldLine:
    """A machine as the register shows it: what it is, what is open there, what is due."""

    number: int
    machine: FieldMachine
    open_cases: tuple[CaseState, ...]
    is_overdue: bool


def register(desk: Desk) -> FieldState:
    """Return the register as it stands."""
    return fold_field(desk.journal.entries(FIELD))


def lines(desk: Desk) -> tuple[FieldLine, ...]:
    """Return the register as it is shown: what is open or overdue first, retired ones last."""
    cases = [case for case in cases_of_field(desk) if case.is_open]
    today = local(desk.clock.now(), desk.clock.zone()).date().isoformat()
    found = [
        FieldLine(
            number=number,
            machine=machine,
            open_cases=tuple(case for case in cases if case.machine == number),
            is_overdue=bool(machine.next_on) and machine.next_on < today,
        )
        for number, machine in register(desk).machines.items()
    ]
    return tuple(
        sorted(
            found,
            key=lambda line: (
                line.machine.line.is_retired,
                not line.open_cases,
                not line.is_overdue,
                line.number,
            ),
        )
    )


def machine_of(state: FieldState, number: int) -> FieldMachine:
    """Return a machine of the register.

    Raises
    ------
    BadInput
        If none has this number.
    """
    if number not in state.machines:
        message = f"There is no machine {number} on the register. Pick one from the list."
        raise BadInput(message, field="machine", given=number, code="choice")
    return state.machines[number]


def cases_of_field(desk: Desk) -> tuple[CaseState, ...]:
    """Return every case beside the jobs, oldest first."""
    streams = desk.journal.streams(CASES)
    numbers = sorted(int(name.removeprefix(CASES)) for name in streams)
    return tuple(fold_case(one, desk.journal.entries(f"{CASES}{one}")) for one in numbers)


def case_of(desk: Desk, number: int) -> CaseState:
    """Return a case beside the jobs.

    Raises
    ------
    BadInput
        If there is none of this number.
    """
    case = fold_case(number, desk.journal.entries(f"{CASES}{number}"))
    if not case.revision:
        message = f"There is no case {number}. Open the list of cases to see the numbers."
        raise BadInput(message, field="case", given=number, code="choice")
    return case


def keep_machine(desk: Desk, line: FieldMachineKept, press: Press) -> int:
    """Put a machine on the register, or change its line.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    line : FieldMachineKept
        Its line; number 0 for a machine that is new.
    press : Press
        Who pressed.

    Returns
    -------
    int
        Its number.

    Raises
    ------
    BadInput
        If it has no serial number, another one has it, or its description is not kept.
    """
    with desk.book.lock:
        state = register(desk)
        if line.machine:
            machine_of(state, line.machine)
        number = line.machine or max(state.machines, default=0) + 1
        serial = line.serial.strip()
        if not serial:
            message = "Type the serial number as on its plate, or what is painted on it."
            raise BadInput(message, field="serial", given="", code="missing")
        same = [
            other
            for other, machine in state.machines.items()
            if other != number and machine.line.serial.casefold() == serial.casefold()
        ]
        if same:
            message = f"{serial} is machine {same[0]} of the register already. Open that one."
            raise BadInput(message, field="serial", given=serial, code="inconsistent")
        if line.profile and line.profile not in desk.book.site().machines:
            message = f"No machine {line.profile[:60]!r} is described. Pick one from the list."
            raise BadInput(message, field="profile", given=line.profile[:60], code="choice")
        kept = replace(line, machine=number, serial=serial)
        if number not in state.machines or state.machines[number].line != kept:
            keep_in_field(desk, state, [kept], press)
        return number


def visit(desk: Desk, fact: FieldVisited, press: Press) -> None:
    """Keep a visit.

    Raises
    ------
    BadInput
        If there is no such machine, a day is none or lies wrong, or nothing is told.
    """
    with desk.book.lock:
        state = register(desk)
        machine_of(state, fact.machine)
        on = day_or_none(fact.visited_on, "visited_on")
        again = day_or_none(fact.next_on, "next_on")
        today = local(desk.clock.now(), desk.clock.zone()).date()
        if on is None:
            message = "Type the day of the visit, as 2031-03-05."
            raise BadInput(message, field="visited_on", given="", code="missing")
        if on > latest_day(desk.clock.now()):
            message = f"{on} has not come yet. Type the day of the visit, up to {today}."
            raise BadInput(message, field="visited_on", given=str(on), allowed=f"to {today}")
        if again is not None and again <= on:
            message = f"The next visit, {again}, must come after this one, {on}."
            raise BadInput(message, field="next_on", given=str(again), code="inconsistent")
        if not fact.done.strip():
            message = "Say what was found and done, in a few words."
            raise BadInput(message, field="done", given="", code="missing")
        keep_in_field(desk, state, [fact], press)


def strike_visit(desk: Desk, number: int, visit_id: str, reason: str, press: Press) -> None:
    """Strike a visit out that was told wrong; it stays on record and counts nowhere.

    What is fitted, when the next visit is due and what is counted are worked out without it.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : int
        The machine on the register.
    visit_id : str
        Id of the entry that told it.
    reason : str
        Why, in words.
    press : Press
        Who pressed.

    Raises
    ------
    BadInput
        If this machine has no such visit, it is struck out already, or the reason is missing.
    """
    with desk.book.lock:
        state = register(desk)
        machine_of(state, number)
        told = state.visit(visit_id)
        if told is None or told.fact.machine != number:
            message = "This machine has no such visit. Pick one from the list."
            raise BadInput(message, field="entry", given=visit_id[:60], code="choice")
        if told.struck:
            message = f"The visit of {told.fact.visited_on} is struck out already."
            raise BadInput(message, field="entry", given=visit_id[:60], code="inconsistent")
        if not reason.strip():
            message = "Say why the visit is struck out: wrong machine, wrong day, told twice."
            raise BadInput(message, field="reason", given=reason, code="missing")
        fact = FieldVisitStruck(visit_id=visit_id, reason=reason.strip())
        keep_in_field(desk, state, [fact], press)


def keep_in_field(desk: Desk, state: FieldState, facts: Sequence[Payload], press: Press) -> None:
    """Append facts to the register in one transaction, on the state that they were decided on."""
    at, zone = desk.clock.now(), desk.clock.zone()
    desk.journal.append(
        [
            draft(fact, stream=FIELD, at=at, zone=zone, person=press.person, bench=desk.bench)
            for fact in facts
        ],
        seen=state.revision,
    )


def day_or_none(text: str, field: str) -> date | None:
    """Return a day; None where nothing was typed.

    Raises
    ------
    BadInput
        If it is no day.
    """
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        message = f"{text.strip()[:20]!r} is no day. Write it as 2031-03-05."
        raise BadInput(message, field=field, given=text[:20], code="type") from error


def seals_from(text: str, field: str = "seals") -> tuple[FieldSeal, ...]:
    """Return seals from lines as ``piston: FKM ring 60 x 5``, a day behind the last comma if any.

    Raises
    ------
    BadInput
        If a line has no colon, or there are far too many.
    """
    found = []
    for line in text.splitlines():
        if not line.strip():
            continue
        place, colon, what = (part.strip() for part in line.partition(":"))
        if not (place and colon and what) or len(line) > _LONGEST:
            message = f"Write {line.strip()[:40]!r} as place: seal, such as piston: FKM ring."
            raise BadInput(message, field=field, given=line[:40], code="type")
        head, comma, tail = what.rpartition(",")
        try:
            on = date.fromisoformat(tail.strip()).isoformat() if comma else ""
        except ValueError:
            on = ""
        found.append(FieldSeal(place=place, what=head.strip() if on else what, fitted_on=on))
    if len(found) > _MOST_SEALS:
        message = f"A machine has at most {_MOST_SEALS} seals here; these are {len(found)}."
        raise BadInput(message, field=field, given=len(found), allowed=f"to {_MOST_SEALS}")
    return tuple(found)


def seals_in_lines(seals: Sequence[FieldSeal]) -> str:
    """Return seals as they are typed, a line each."""
    return "\n".join(
        f"{seal.place}: {seal.what}" + (f", {seal.fitted_on}" if seal.fitted_on else "")
        for seal in seals
    )
