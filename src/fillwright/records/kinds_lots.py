"""Kinds of entry around the dose: cartons, drums, people, the look at the first jar, what is kept.

Past-tense facts, typed and versioned; `entries` lists all kinds.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar, Literal

__all__ = [
    "DensityTaken",
    "FirstJarLooked",
    "JarAnswer",
    "LotOf",
    "LotTaken",
    "Occasion",
    "PersonChanged",
    "PhotoKept",
    "SampleKept",
    "TareCarriedOn",
]

LotOf = Literal["container", "lid", "drum"]
Occasion = Literal[
    "start", "container", "lid", "drum", "person", "facts", "pause", "refill", "fault", "strip"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotTaken:
    """A carton of containers or lids, or a drum, was taken into use.

    Parameters
    ----------
    what : str
        Containers, lids, or a drum of product.
    code : str
        Lot code on the carton or the drum; empty where it was not to be read.
    after_container : int
        Last container filled before it; 0 where it was there from the first.
    batch : str
        Batch of the product in the drum.
    note : str
        A note, if any.
    """

    kind: ClassVar[str] = "lot taken into use"
    version: ClassVar[int] = 1
    what: LotOf
    code: str
    after_container: int
    batch: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DensityTaken:
    """The density of a drum was taken; it holds for what is filled after a container.

    Parameters
    ----------
    after_container : int
        Last container filled before.
    density_g_per_ml, density_c : Decimal
        Density, and the temperature at which it holds.
    is_apparent : bool
        True when it was weighed in air and not corrected for buoyancy.
    aim_g : Decimal
        What a weight should read from then on, so that the label holds as before.
    """

    kind: ClassVar[str] = "density taken"
    version: ClassVar[int] = 1
    after_container: int
    density_g_per_ml: Decimal
    density_c: Decimal
    is_apparent: bool
    aim_g: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class TareCarriedOn:
    """No empties of a new carton were weighed: its tare is taken to be that of the one before."""

    kind: ClassVar[str] = "tare carried on"
    version: ClassVar[int] = 1
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonChanged:
    """Somebody else took over at the machine."""

    kind: ClassVar[str] = "person changed"
    version: ClassVar[int] = 1
    after_container: int
    before: str
    now: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JarAnswer:
    """One thing that was looked at; `reason` says what is wrong where it is not right."""

    key: str
    is_right: bool
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstJarLooked:
    """The first container at a start, after a change or a stop was looked at, or it was skipped.

    Parameters
    ----------
    container : int
        The one in hand.
    occasion : str
        The start, what was changed, or why the run had stopped.
    answers : tuple of JarAnswer
        What was looked at; empty where the look was skipped.
    skipped : str
        Why it was skipped; empty where it was not.
    photo_place : str
        Where a photo of it is kept, in words.
    """

    kind: ClassVar[str] = "first container looked at"
    version: ClassVar[int] = 1
    container: int
    occasion: Occasion
    answers: tuple[JarAnswer, ...] = ()
    skipped: str = ""
    photo_place: str = ""

    @property
    def is_right(self) -> bool:
        """Return True when everything was looked at and found right."""
        return bool(self.answers) and all(answer.is_right for answer in self.answers)


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoKept:
    """A photo of a container was kept in a file beside the journal, named by its hash.

    Parameters
    ----------
    container : int
        Which one.
    sha256 : str
        Hash of the bytes of the photo, in hexadecimal digits.
    media_type : str
        Told from the bytes: JPEG, PNG or WebP.
    size_bytes : int
        How large it is.
    """

    kind: ClassVar[str] = "photo kept"
    version: ClassVar[int] = 1
    container: int
    sha256: str
    media_type: str
    size_bytes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleKept:
    """Containers of the lot were put aside to be kept.

    Parameters
    ----------
    containers : tuple of int
        Which.
    place : str
        Where they stand.
    until : str
        Until when, year-month-day; empty where nobody said.
    """

    kind: ClassVar[str] = "sample kept"
    version: ClassVar[int] = 1
    containers: tuple[int, ...]
    place: str
    until: str = ""
