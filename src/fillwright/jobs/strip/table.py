"""The service table: all that was done to machine, seals and faults, one row a fact.

Every kind of entry that is no weighing, no verdict and no description has its row here, a kind
that is new too; what has no column of its own stands in `details`.
"""

from __future__ import annotations

from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from dataclasses import fields, is_dataclass
from decimal import Decimal
from typing import Final

from fillwright.jobs.desk import Desk
from fillwright.jobs.words import described
from fillwright.records.book import SITE, stream_of
from fillwright.records.entries import (
    CheckTaken,
    ColumnsChosen,
    ContainerKept,
    Entry,
    FactsChanged,
    FaultAnswered,
    FaultCaseCounted,
    FaultClosed,
    FaultOpened,
    JobOpened,
    LotJudged,
    LotJudgedElsewhere,
    MachineKept,
    MatchJudged,
    PersonListed,
    PrimingJudged,
    ProductKept,
    ProofJudged,
    ProofJudgedFirst,
    RechargeEdgeJudged,
    Released,
    RepairTried,
    ScaleKept,
    SignalRaised,
    SignatureSeen,
    SiteSettingsChanged,
    StrokesTimed,
    StruckOut,
    TrimJudged,
    WeighingTaken,
)
from fillwright.records.table import Cell

__all__ = ["IN_CHECKS", "NOT_SERVICE", "SERVED", "service_rows"]

IN_CHECKS: Final = (
    CheckTaken,
    LotJudged,
    LotJudgedElsewhere,
    MatchJudged,
    PrimingJudged,
    ProofJudged,
    ProofJudgedFirst,
    RechargeEdgeJudged,
    Released,
    SignalRaised,
    SignatureSeen,
    StrokesTimed,
    TrimJudged,
)
"""Kinds whose rows stand in the table of checks and verdicts."""
NOT_SERVICE: Final = (
    *IN_CHECKS,
    WeighingTaken,
    StruckOut,
    JobOpened,
    FactsChanged,
    ColumnsChosen,
    ContainerKept,
    MachineKept,
    PersonListed,
    ProductKept,
    ScaleKept,
    SiteSettingsChanged,
)
"""Kinds that other tables hold, and descriptions of things, which the journal gives whole."""
SERVED: Final = (
    "kind",
    "what",
    "machine",
    "product",
    "part or step",
    "state",
    "outcome",
    "reading",
    "reason",
    "cycles",
    "seal lot",
    "case",
    "details",
    "entry id",
)
_OF_A_CASE: Final = (FaultOpened, FaultAnswered, RepairTried, FaultClosed)
_PARTS: Final = ("step", "position", "check", "repair", "sign", "part", "cause", "stage")
_OUTCOMES: Final = ("outcome", "action", "verdict")
_REASONS: Final = ("reason", "because", "note")
_COLUMNS: Final = (
    ("machine",),
    ("product",),
    _PARTS,
    ("state",),
    _OUTCOMES,
    ("reading",),
    _REASONS,
    ("seal_lot",),
)
"""Fields that have a column; of several the first that says anything."""
_ELSEWHERE: Final = frozenset({"job", "case", "life_cycles"})
_LONGEST: Final = 2000


def service_rows(
    desk: Desk, numbers: tuple[str, ...], *, is_one: bool
) -> Iterator[tuple[Entry, str, tuple[Cell, ...]]]:
    """Yield the rows of the service table.

    Parameters
    ----------
    desk : Desk
        Where the journal is.
    numbers : tuple of str
        The jobs.
    is_one : bool
        True where one job alone is meant: of the site's own facts those that name it.

    Yields
    ------
    tuple of Entry, str and tuple
        The entry, the job that it belongs to (``"site"`` where it is none), and its cells.
    """
    for number in numbers:
        case = 0
        for entry in desk.journal.entries(stream_of(number)):
            case += isinstance(entry.payload, FaultOpened)
            if not isinstance(entry.payload, NOT_SERVICE):
                yield entry, number, _cells(entry, case)
    for entry in desk.journal.entries(SITE):
        if isinstance(entry.payload, NOT_SERVICE):
            continue
        job = getattr(entry.payload, "job", "")
        if not is_one or job in numbers:
            yield entry, job or SITE, _cells(entry, 0)


def _cells(entry: Entry, case: int) -> tuple[Cell, ...]:
    """Return the cells of a fact."""
    fact = entry.payload
    number = fact.case if isinstance(fact, FaultCaseCounted) else case
    picked = [_pick(fact, names) for names in _COLUMNS]
    told = [text for _, text in picked]
    return (
        fact.kind,
        _what(entry),
        *told[:-1],
        getattr(fact, "life_cycles", None),
        told[-1],
        number if isinstance(fact, (*_OF_A_CASE, FaultCaseCounted)) else None,
        _details(fact, _ELSEWHERE.union(name for name, _ in picked)),
        entry.id,
    )


def _what(entry: Entry) -> str:
    """Return what was done, with its outcome, in words."""
    names = ("step", "outcome", "reading", "reason")
    told = [getattr(entry.payload, name, "") for name in names]
    words = [str(one) for one in told if isinstance(one, str | int | Decimal) and one]
    return ", ".join(words) or described(entry)


def _pick(fact: object, names: tuple[str, ...]) -> tuple[str, str]:
    """Return the first of some fields that is a text and says anything, with its name."""
    for name in names:
        told = getattr(fact, name, "")
        if isinstance(told, str) and told:
            return name, str(told)
    return "", ""


def _details(fact: object, told: AbstractSet[str]) -> str:
    """Return every field that has no column of its own, as name and value."""
    found = []
    for part in fields(fact) if is_dataclass(fact) else ():
        value = getattr(fact, part.name)
        if part.name not in told and value not in (None, "", (), {}):
            found.append(f"{part.name.replace('_', ' ')}: {_plain(value)}")
    return "; ".join(found)[:_LONGEST]


def _plain(value: object) -> str:
    """Return a value in plain letters."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, tuple | list):
        return ", ".join(map(_plain, value))
    if isinstance(value, dict):
        return ", ".join(f"{key} {_plain(one)}" for key, one in value.items())
    if is_dataclass(value):
        told = ((one.name, getattr(value, one.name)) for one in fields(value))
        return ", ".join(
            f"{name} {_plain(one)}" for name, one in told if one not in (None, "", ())
        )
    return str(value)
