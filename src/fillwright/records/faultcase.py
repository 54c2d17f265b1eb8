"""A search for a fault as its entries say it stands."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import TypeAlias

from fillwright.records.kinds_fault import (
    FaultAnswered,
    FaultClosed,
    FaultOpened,
    RepairTried,
)

__all__ = ["FaultCase", "FaultFact", "take_fault"]

FaultFact: TypeAlias = FaultOpened | FaultAnswered | RepairTried | FaultClosed


@dataclass(slots=True)
class FaultCase:
    """One search.

    Parameters
    ----------
    number : int
        Place among the searches of the job, from 1.
    opened : FaultOpened
        What was seen.
    at : datetime
        When.
    answers : list
        Checks in the order in which they were answered, with their times.
    repairs : list
        Repairs in the order in which they were tried, with their times.
    closed : FaultClosed or None
        How it ended.
    closed_at : datetime or None
        When.
    """

    number: int
    opened: FaultOpened
    at: datetime
    answers: list[tuple[datetime, FaultAnswered]] = field(default_factory=list)
    repairs: list[tuple[datetime, RepairTried]] = field(default_factory=list)
    closed: FaultClosed | None = None
    closed_at: datetime | None = None

    @property
    def present(self) -> frozenset[str]:
        """Return the findings that were there; the latest answer counts."""
        return frozenset(name for name, there in self._answered().items() if there)

    @property
    def absent(self) -> frozenset[str]:
        """Return the findings that were not there; the latest answer counts."""
        return frozenset(name for name, there in self._answered().items() if not there)

    @property
    def skipped(self) -> tuple[str, ...]:
        """Return checks and repairs that could not be made."""
        checks = [fact.check for _, fact in self.answers if not fact.was_possible]
        repairs = [fact.repair for _, fact in self.repairs if fact.outcome == "not-possible"]
        return (*checks, *repairs)

    @property
    def uncured(self) -> tuple[str, ...]:
        """Return the repairs that were made without a cure."""
        return tuple(fact.repair for _, fact in self.repairs if fact.outcome == "not-cured")

    def _answered(self) -> dict[str, bool]:
        """Return each finding that was answered."""
        found = dict.fromkeys(self.opened.findings, True)
        for _, fact in self.answers:
            found.update(dict.fromkeys(fact.present, True))
            found.update(dict.fromkeys(fact.absent, False))
        return found


def take_fault(cases: list[FaultCase], fact: FaultFact, at: datetime) -> None:
    """Take one more entry about a fault; an answer without a search is left out."""
    if isinstance(fact, FaultOpened):
        cases.append(FaultCase(number=len(cases) + 1, opened=fact, at=at))
    elif cases and cases[-1].closed is None:
        match fact:
            case FaultAnswered():
                cases[-1].answers.append((at, fact))
            case RepairTried():
                cases[-1].repairs.append((at, fact))
            case FaultClosed():
                cases[-1].closed, cases[-1].closed_at = fact, at
