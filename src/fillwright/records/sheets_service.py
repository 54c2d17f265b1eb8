"""What the papers of service need: a strip and rebuild, and the shelf of seals."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fillwright.records.sheets import FactLine

__all__ = ["SealLine", "ShelfLine", "ShelfListSheet", "SparesLine", "StepLine", "StripRecordSheet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepLine:
    """A step of strip, clean or rebuild, or a try of its test that was not good.

    Parameters
    ----------
    procedure, words : str
        What it is a part of, and what was to be done.
    at, person : datetime and str, or None and empty
        When and by whom; None where it was not done.
    evidence : str
        What was read or counted, and where the photo is kept.
    is_good : bool
        False for a test that had to be repeated.
    """

    procedure: str
    words: str
    at: datetime | None
    person: str
    evidence: str = ""
    is_good: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class SealLine:
    """A seal as it was found on the bench, and what became of it."""

    at: datetime
    person: str
    position: str
    what: str
    state: str
    action: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StripRecordSheet:
    """The record of a strip, clean and rebuild.

    Parameters
    ----------
    job, machine, product : str
        After which job, of which machine, with which product.
    profile : str
        The machine profile that gave the order; empty where it was done by the manual.
    verdict : str
        Whether every seal and ring was accounted for, in words; empty while it is open.
    is_sound : bool or None
        Whether nothing was missing; None while it is open.
    held : str
        Containers held for a missing piece, in words; empty where none are.
    steps : tuple of StepLine
        In the order of the profile, tries of a test before the good one.
    seals : tuple of SealLine
        In the order in which they were looked at.
    made_at, zone, program
        As on the batch record.
    is_invented : bool
        Whether it is of the demo.
    """

    job: str
    machine: str
    product: str
    profile: str
    verdict: str
    is_sound: bool | None
    held: str
    steps: tuple[StepLine, ...]
    seals: tuple[SealLine, ...]
    made_at: datetime
    zone: str
    program: str
    is_invented: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfLine:
    """A lot of seals on the shelf."""

    seal_lot: str
    what: str
    pieces: int
    cured_on: str
    until: str
    words: str
    is_usable: bool
    certificate: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SparesLine:
    """A seal position: how long it lasts there, what to do, what to keep."""

    machine: str
    position: str
    life: str
    advice: str
    spares: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfListSheet:
    """What lies on the shelf, what to change next, and what to keep.

    Parameters
    ----------
    lots : tuple of ShelfLine
        Lots of seals; the first to run out of date first.
    spares : tuple of SparesLine
        By machine and position.
    reckoned : tuple of FactLine
        What the advice was reckoned with.
    sources : tuple of str
        Where shelf dates come from.
    made_at, zone, program
        As on the batch record.
    is_invented : bool
        Whether any of it is of the demo.
    """

    lots: tuple[ShelfLine, ...]
    spares: tuple[SparesLine, ...]
    reckoned: tuple[FactLine, ...]
    sources: tuple[str, ...]
    made_at: datetime
    zone: str
    program: str
    is_invented: bool = False
