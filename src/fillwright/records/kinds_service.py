"""Kinds of entry that stripping and rebuilding a machine makes, and its seals."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

__all__ = ["MachinePhotoKept", "SealSeen", "SealsShelved", "StripBegan", "StripTicked"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StripBegan:
    """A guided strip was begun, by a profile of the machine."""

    kind: ClassVar[str] = "strip begun"
    version: ClassVar[int] = 1
    profile: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StripTicked:
    """A step of strip, clean or rebuild was done, or its test must be repeated.

    Parameters
    ----------
    step : str
        Its name in the profile.
    outcome : str
        ``"done"``, or ``"again"`` where a test did not come out good.
    reading, photo : str
        The evidence: what was read or counted; where the photo is kept.
    isolated : bool
        True where the person ticked with it that the air is off and vented.
    air_on : bool
        True where the air came on: what was ticked of it before no longer holds.
    """

    kind: ClassVar[str] = "strip step ticked"
    version: ClassVar[int] = 1
    step: str
    outcome: Literal["done", "again"] = "done"
    reading: str = ""
    photo: str = ""
    isolated: bool = False
    air_on: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MachinePhotoKept:
    """A photo of the machine was kept in a file beside the journal, named by its hash.

    Parameters
    ----------
    place : str
        Where it was taken: ``"strip"`` or ``"fault"``.
    of : str
        The step in the profile, or the number of the search for a fault.
    sha256 : str
        Hash of the bytes of the photo, in hexadecimal digits.
    media_type : str
        Told from the bytes: JPEG, PNG or WebP.
    size_bytes : int
        How large it is.
    """

    kind: ClassVar[str] = "machine photo kept"
    version: ClassVar[int] = 1
    place: Literal["strip", "fault"]
    of: str
    sha256: str
    media_type: str
    size_bytes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SealSeen:
    """A seal was looked at on the bench, and kept or replaced.

    Parameters
    ----------
    job, machine, product : str
        In which job, on which machine, after which product.
    position, material, size : str
        Where it sits and what it is.
    state : str
        What was seen; ``"piece-missing"`` where a piece is torn off or missing.
    action : str
        ``"kept"`` or ``"replaced"``.
    reason : str
        Why it was replaced: it failed, it was due, or the machine was open anyway.
    life_cycles : int
        Cycles that it had run, as far as the journal goes.
    seal_lot : str
        Lot of the new one, as on its bag.
    """

    kind: ClassVar[str] = "seal seen"
    version: ClassVar[int] = 1
    job: str
    machine: str
    product: str
    position: str
    material: str
    size: str
    state: Literal["good", "worn", "damaged", "piece-missing"]
    action: Literal["kept", "replaced"]
    reason: Literal["", "failed", "due", "opened-anyway"] = ""
    life_cycles: int = 0
    seal_lot: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SealsShelved:
    """A lot of seals was put on the shelf, or its count was corrected.

    Parameters
    ----------
    seal_lot, material, size : str
        As on the bag.
    pieces : int
        How many there are now.
    cured_on : str
        Date of cure on the bag, year-month-day.
    certificate : str
        Reference and date of its food-contact certificate; kept, not judged.
    """

    kind: ClassVar[str] = "seals shelved"
    version: ClassVar[int] = 1
    seal_lot: str
    material: str
    size: str
    pieces: int
    cured_on: str
    certificate: str = ""
