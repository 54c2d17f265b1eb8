"""Kinds of entry about machines in the field: the register, visits, enquiries, trial fills, cases.

The register and what belongs to it stand in the stream ``field``; every case has a stream of
its own, ``case/7``, in which its answers and repairs are the kinds of any search for a fault.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar, Literal

from fillwright.records.entities import Container, Product

__all__ = [
    "CaseBegan",
    "CaseEnded",
    "CaseReceived",
    "CaseReplied",
    "EnquiryTaken",
    "FieldMachineKept",
    "FieldSeal",
    "FieldVisitStruck",
    "FieldVisited",
    "TrialFilled",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldSeal:
    """A seal of a machine in the field: where it sits, what it is, and since when."""

    place: str
    what: str
    fitted_on: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldMachineKept:
    """A machine in the field was put on the register, or its line was changed.

    Parameters
    ----------
    machine : int
        Its number on the register, from 1.
    serial : str
        As on its plate.
    owner : str
        Who has it, in the technician's own words; may be empty.
    configuration : str
        What is fitted: cylinder, nozzle, valve, hopper, in words.
    profile : str
        Name of the description that Match takes for it; empty where there is none.
    seals : tuple of FieldSeal
        What is fitted.
    is_retired : bool
        True once it is looked after no more.
    """

    kind: ClassVar[str] = "field machine kept"
    version: ClassVar[int] = 1
    machine: int
    serial: str
    owner: str = ""
    configuration: str = ""
    profile: str = ""
    seals: tuple[FieldSeal, ...] = ()
    is_retired: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldVisited:
    """A machine in the field was visited.

    Parameters
    ----------
    machine : int
        Number on the register.
    visited_on : str
        Day, as 2031-03-05.
    done : str
        What was found and done.
    seals : tuple of FieldSeal
        Seals that were put in.
    next_on : str
        Day of the next visit, as 2031-09-05; empty where none was fixed.
    """

    kind: ClassVar[str] = "field machine visited"
    version: ClassVar[int] = 1
    machine: int
    visited_on: str
    done: str
    seals: tuple[FieldSeal, ...] = ()
    next_on: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldVisitStruck:
    """A visit that was told wrong was struck out; it stays on record and counts nowhere.

    Parameters
    ----------
    visit_id : str
        Id of the entry that told it.
    reason : str
        Why, in words.
    """

    kind: ClassVar[str] = "field visit struck out"
    version: ClassVar[int] = 1
    visit_id: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EnquiryTaken:
    """Somebody asked whether a product can be filled; held against all machines.

    Parameters
    ----------
    enquiry : int
        Its number, from 1.
    who : str
        Who asked, in the technician's own words.
    product : Product
        What is to be filled, as far as it was told.
    container : Container
        What into.
    dose_ml : Decimal
        How much.
    rate_per_min : Decimal or None
        How many a minute are wanted.
    note : str
        Anything else.
    """

    kind: ClassVar[str] = "enquiry taken"
    version: ClassVar[int] = 1
    enquiry: int
    who: str
    product: Product
    container: Container
    dose_ml: Decimal
    rate_per_min: Decimal | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialFilled:
    """A few shots were filled on a machine to try it, outside of any job.

    Parameters
    ----------
    trial : int
        Its number, from 1.
    machine : int
        Number on the register; 0 for a machine of the bench.
    machine_name : str
        What it is called.
    filled_with : str
        ``"water"`` or ``"product"``.
    product : str
        Name of the product; empty for water.
    fitted : str
        Cylinder and nozzle, in words.
    setting : str
        Pointer, air and speeds as they stood, in words.
    asked_g : Decimal or None
        Weight that was asked for.
    nets_g : tuple of Decimal
        What each shot weighed, net, as the scale showed it.
    enquiry : int
        The enquiry that it belongs to; 0 for none.
    note : str
        Drips, splashes, foam, air; what was seen.
    """

    kind: ClassVar[str] = "trial filled"
    version: ClassVar[int] = 1
    trial: int
    machine: int
    machine_name: str
    filled_with: Literal["water", "product"]
    product: str
    fitted: str
    setting: str
    asked_g: Decimal | None
    nets_g: tuple[Decimal, ...]
    enquiry: int = 0
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseBegan:
    """A search for a fault was begun on a machine without a job.

    Parameters
    ----------
    machine : int
        Number on the register; 0 for a machine of the bench.
    machine_name : str
        What it is called.
    is_flammable : bool
        True where what stands in it can burn.
    """

    kind: ClassVar[str] = "case begun"
    version: ClassVar[int] = 1
    machine: int
    machine_name: str
    is_flammable: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseReceived:
    """A case that an owner sent was taken in as a file.

    Parameters
    ----------
    content : str
        The file, letter by letter, as it was checked; nothing in it is ever run.
    file_name : str
        What the file was called; a word to read, never a path to open.
    digest : str
        SHA-256 of the file, so that the same file is known again.
    machine : int
        Number on the register that it belongs to; 0 where none was chosen.
    """

    kind: ClassVar[str] = "case received"
    version: ClassVar[int] = 1
    content: str
    file_name: str
    digest: str
    machine: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseReplied:
    """An answer to a received case was written: what to do next, for its owner.

    Parameters
    ----------
    check : str
        Key of the check to make; empty for none.
    repair : str
        Key of the repair to make; empty for none.
    words : str
        The answer in words.
    """

    kind: ClassVar[str] = "case replied"
    version: ClassVar[int] = 1
    check: str
    repair: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseEnded:
    """A received case was closed.

    Parameters
    ----------
    came_to : str
        ``"cured"``, ``"visit"`` where somebody goes there, or ``"left"``.
    words : str
        How it ended.
    """

    kind: ClassVar[str] = "case ended"
    version: ClassVar[int] = 1
    came_to: Literal["cured", "visit", "left"]
    words: str = ""
