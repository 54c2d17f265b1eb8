"""What a trace finds, for page, paper and programs: from a jar to its lots, and back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from fillwright.records.sheets import FactLine
from fillwright.records.sheets_held import FateLine

__all__ = [
    "ComplaintSheet",
    "FateLine",
    "FromLine",
    "JarsLine",
    "LetterSheet",
    "LotTrace",
    "PersonLine",
    "TraceSheet",
    "TracedAs",
]

TracedAs = Literal["lot", "relabelled", "batch", "drum", "container", "lid"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FromLine:
    """Containers `first` to `last` came from one carton or drum; no code where there is a hole."""

    what: Literal["container", "lid", "drum"]
    code: str
    batch: str
    first: int
    last: int
    at: datetime | None
    person: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonLine:
    """Somebody who has entries in the job, from when to when."""

    initials: str
    name: str
    entries: int
    first_at: datetime
    last_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class LotTrace:
    """Everything that the record holds of one lot.

    Parameters
    ----------
    job, lot_code, product, container, machine : str
        What it is.
    word : str
        What a container is called.
    filled : int
        Last one filled.
    opened_at, closed_at : datetime or None
        First entry, and the release.
    fates : tuple of FateLine
        What became of all containers; each is in exactly one.
    filled_from : tuple of FromLine
        Cartons, lids and drums by containers.
    parts : tuple of FactLine
        Cylinder, nozzle, seals by place with their lots.
    people : tuple of PersonLine
        Who has entries.
    weighed : int
        Weights that count.
    weighings : str
        Weights in a sentence.
    checks : tuple of str
        Checks of the weighing scale.
    looks : tuple of str
        Looks at first containers, changes, people.
    kept : tuple of str
        Samples that are kept.
    holes : tuple of str
        What is not on record, and where.
    clock : tuple of str
        Where the clock went backwards.
    complaints : tuple of str
        Complaints about it, each in a sentence.
    """

    job: str
    lot_code: str
    product: str
    container: str
    machine: str
    word: str
    filled: int
    opened_at: datetime | None
    closed_at: datetime | None
    fates: tuple[FateLine, ...]
    filled_from: tuple[FromLine, ...]
    parts: tuple[FactLine, ...]
    people: tuple[PersonLine, ...]
    weighed: int
    weighings: str
    checks: tuple[str, ...]
    looks: tuple[str, ...]
    kept: tuple[str, ...]
    holes: tuple[str, ...]
    clock: tuple[str, ...]
    complaints: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class JarsLine:
    """Containers of one lot that a code concerns.

    Parameters
    ----------
    job, lot_code, product, word : str
        Of which lot.
    numbers, trays : str
        Which containers, and on which trays they stood.
    containers : int
        How many.
    fates : tuple of FateLine
        What became of these.
    """

    job: str
    lot_code: str
    product: str
    word: str
    numbers: str
    trays: str
    containers: int
    fates: tuple[FateLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceSheet:
    """What a code leads to: the lots, all containers concerned, and the holes.

    Parameters
    ----------
    code : str
        The code, as it is on record.
    traced_as : tuple of str
        What it is the code of.
    jars : tuple of JarsLine
        All containers concerned, lot by lot.
    lots : tuple of LotTrace
        Those lots whole.
    holes : tuple of str
        Where the record cannot say whether more are concerned.
    made_at, zone, program, is_invented
        As on the other papers.
    """

    code: str
    traced_as: tuple[TracedAs, ...]
    jars: tuple[JarsLine, ...]
    lots: tuple[LotTrace, ...]
    holes: tuple[str, ...]
    made_at: datetime
    zone: str
    program: str
    is_invented: bool = False

    @property
    def name(self) -> str:
        """Return what the paper is called on each page."""
        return f"Recall sheet, {self.code}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplaintSheet:
    """What the record can say about one container, with a letter to adapt.

    Parameters
    ----------
    job, lot_code, product : str
        Of which lot.
    jar : str
        Which one, in words.
    facts : tuple of FactLine
        What is on record around it.
    can_say, cannot_say : tuple of str
        What follows, with its uncertainty, and what does not.
    letter : tuple of str
        The letter, a paragraph each.
    number : int or None
        Number of the container; None where nobody knows it.
    complaint : int or None
        Number of the complaint; None where it was only looked up.
    made_at, zone, program, is_invented
        As on the other papers.
    """

    job: str
    lot_code: str
    product: str
    jar: str
    facts: tuple[FactLine, ...]
    can_say: tuple[str, ...]
    cannot_say: tuple[str, ...]
    letter: tuple[str, ...]
    made_at: datetime
    zone: str
    program: str
    number: int | None = None
    complaint: int | None = None
    is_invented: bool = False

    @property
    def name(self) -> str:
        """Return what the paper is called on each page."""
        which = "" if self.complaint is None else f" {self.complaint}"
        return f"Complaint{which}, lot {self.lot_code}"


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterSheet:
    """The letter that answers a complaint, alone on its page.

    Parameters
    ----------
    sheet : ComplaintSheet
        The complaint; its letter is printed.
    maker : str
        Who writes, as the site settings have it.
    made_at, zone
        As on the other papers.
    """

    sheet: ComplaintSheet
    maker: str
    made_at: datetime
    zone: str

    @property
    def is_invented(self) -> bool:
        """Return True where the data of the lot are invented."""
        return self.sheet.is_invented

    @property
    def name(self) -> str:
        """Return what the paper is called on each page."""
        return f"Letter, {self.sheet.name[0].lower()}{self.sheet.name[1:]}"
