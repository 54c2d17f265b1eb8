"""The register of machines in the field and the cases beside jobs, folded from their entries."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import lru_cache

from fillwright.errors import BadInput
from fillwright.records.case_file import CaseFile, case_from_bytes
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
    FieldVisited,
    FieldVisitStruck,
    RepairTried,
    TrialFilled,
)
from fillwright.records.faultcase import FaultCase, take_fault
from fillwright.records.kinds_field import FieldSeal

__all__ = [
    "CASES",
    "FIELD",
    "CaseState",
    "FieldMachine",
    "FieldState",
    "ToldVisit",
    "fold_case",
    "fold_field",
]

FIELD = "field"
"""Stream of the register."""
CASES = "case/"
"""What the streams of cases begin with."""


@dataclass(slots=True)
class ToldVisit:
    """A visit as it was told: by whom, when, and why it was struck out; empty where it counts."""

    id: str
    at: datetime
    person: str
    fact: FieldVisited
    struck: str = ""
    struck_by: str = ""


@dataclass(slots=True)
class FieldMachine:
    """A machine of the register.

    Parameters
    ----------
    line : FieldMachineKept
        As it was kept last.
    seals : tuple of FieldSeal
        What is fitted now: what a visit put in replaces what stood at its place, and a line
        whose seals were changed says all of them anew.
    told : list of ToldVisit
        Every visit, struck out or not; the one told last stands last.
    """

    line: FieldMachineKept
    seals: tuple[FieldSeal, ...] = ()
    told: list[ToldVisit] = field(default_factory=list)
    _news: list[FieldMachineKept | ToldVisit] = field(default_factory=list)

    @property
    def name(self) -> str:
        """Return what the pages call it."""
        return f"{self.line.serial}, {self.line.owner}" if self.line.owner else self.line.serial

    @property
    def visits(self) -> list[ToldVisit]:
        """Return the visits that count."""
        return [one for one in self.told if not one.struck]

    @property
    def next_on(self) -> str:
        """Return the day of the next visit by the latest one; empty where none is fixed."""
        visits = [one.fact for one in self.visits]
        last = max((visit.visited_on for visit in visits), default="")
        told = [visit.next_on for visit in visits if visit.visited_on == last]
        return told[-1] if told else ""

    def keep(self, line: FieldMachineKept) -> None:
        """Take its line as it was kept now."""
        self._news.append(line)
        self._fit(line)

    def take_visit(self, visit: ToldVisit) -> None:
        """Take a visit; one that was told late does not undo what was fitted after it."""
        self.told.append(visit)
        self._news.append(visit)
        self._put_in(visit.fact)

    def strike(self, visit: ToldVisit, reason: str, person: str) -> None:
        """Strike a visit out: what is fitted is worked out anew without it."""
        visit.struck, visit.struck_by = reason, person
        first = next(one for one in self._news if isinstance(one, FieldMachineKept))
        self.line, self.seals = first, first.seals
        for one in self._news:
            if isinstance(one, FieldMachineKept):
                self._fit(one)
            elif not one.struck:
                self._put_in(one.fact)

    def _fit(self, line: FieldMachineKept) -> None:
        """Take a line; only one whose seals were changed says what is fitted."""
        if line.seals != self.line.seals:
            self.seals = line.seals
        self.line = line

    def _put_in(self, visit: FieldVisited) -> None:
        """Take what a visit put in."""
        found = {seal.place.casefold(): seal for seal in self.seals}
        for seal in visit.seals:
            new = replace(seal, fitted_on=seal.fitted_on or visit.visited_on)
            old = found.get(seal.place.casefold())
            if old is None or old.fitted_on <= new.fitted_on:
                found[seal.place.casefold()] = new
        self.seals = tuple(found.values())


@dataclass(slots=True)
class FieldState:
    """The register, and what was tried and asked."""

    revision: int = 0
    machines: dict[int, FieldMachine] = field(default_factory=dict)
    enquiries: dict[int, tuple[datetime, str, EnquiryTaken]] = field(default_factory=dict)
    trials: dict[int, tuple[datetime, str, TrialFilled]] = field(default_factory=dict)

    def apply(self, entry: Entry) -> None:
        """Take one more entry of the register."""
        self.revision = entry.revision
        match entry.payload:
            case FieldMachineKept(machine=number) as line:
                if number not in self.machines:
                    self.machines[number] = FieldMachine(line=line, seals=line.seals)
                self.machines[number].keep(line)
            case FieldVisited(machine=number) as visit if number in self.machines:
                told = ToldVisit(entry.id, entry.at, entry.person, visit)
                self.machines[number].take_visit(told)
            case FieldVisitStruck() as fact:
                self._strike(fact, entry.person)
            case EnquiryTaken(enquiry=number) as enquiry:
                self.enquiries[number] = (entry.at, entry.person, enquiry)
            case TrialFilled(trial=number) as trial:
                self.trials[number] = (entry.at, entry.person, trial)
            case _:
                pass

    def visit(self, visit_id: str) -> ToldVisit | None:
        """Return a visit by the id of its entry."""
        told = (one for machine in self.machines.values() for one in machine.told)
        return next((one for one in told if one.id == visit_id), None)

    def _strike(self, fact: FieldVisitStruck, person: str) -> None:
        """Strike a visit out where it was told."""
        visit = self.visit(fact.visit_id)
        if visit is not None and not visit.struck:
            self.machines[visit.fact.machine].strike(visit, fact.reason, person)


@dataclass(slots=True)
class CaseState:
    """A case beside the jobs: one's own search, or one that was sent.

    Parameters
    ----------
    number : int
        Place among the cases, from 1.
    revision : int
        Number of its entries.
    at : datetime or None
        When it began here.
    begun : CaseBegan or None
        The machine of one's own search.
    received : CaseReceived or None
        The file of one that was sent.
    sent : CaseFile or None
        What the file holds; None where it can no longer be read.
    search : FaultCase or None
        The search: for one that was sent, its own answers and then those from here.
    replies : list
        Answers that were written, with who and when.
    ended : CaseEnded or None
        How a received case ended.
    """

    number: int
    revision: int = 0
    at: datetime | None = None
    begun: CaseBegan | None = None
    received: CaseReceived | None = None
    sent: CaseFile | None = None
    search: FaultCase | None = None
    replies: list[tuple[datetime, str, CaseReplied]] = field(default_factory=list)
    ended: CaseEnded | None = None

    @property
    def machine(self) -> int:
        """Return the number of its machine on the register; 0 for none."""
        whose = self.begun or self.received
        return 0 if whose is None else whose.machine

    @property
    def is_open(self) -> bool:
        """Return True while it is neither closed nor ended."""
        closed = self.search is not None and self.search.closed is not None
        return self.ended is None and not (closed and self.received is None)

    def apply(self, entry: Entry) -> None:
        """Take one more entry of this case."""
        self.revision = entry.revision
        self.at = self.at or entry.at
        match entry.payload:
            case CaseBegan() as begun:
                self.begun = begun
            case CaseReceived() as received:
                self.received = received
                self.sent = _sent(received.content)
                self.search = None if self.sent is None else self.sent.searched()
            case CaseReplied() as reply:
                self.replies.append((entry.at, entry.person, reply))
            case CaseEnded() as ended:
                self.ended = ended
            case FaultOpened() | FaultAnswered() | RepairTried() | FaultClosed() as fact:
                searches = [] if self.search is None else [self.search]
                take_fault(searches, fact, entry.at)
                self.search = searches[-1] if searches else None
            case _:
                pass


@lru_cache(maxsize=256)
def _sent(content: str) -> CaseFile | None:
    """Return what a kept file holds, read once; None where its form is read no more."""
    try:
        return case_from_bytes(content.encode("utf-8"))
    except BadInput:
        return None


def fold_field(entries: Iterable[Entry]) -> FieldState:
    """Return the register after `entries`."""
    state = FieldState()
    for entry in entries:
        state.apply(entry)
    return state


def fold_case(number: int, entries: Iterable[Entry]) -> CaseState:
    """Return a case after `entries`."""
    state = CaseState(number=number)
    for entry in entries:
        state.apply(entry)
    return state
