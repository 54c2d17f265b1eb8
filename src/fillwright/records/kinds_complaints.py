"""Kinds of entry about complaints: one taken, what was found, closed, opened again.

They stand in the stream ``complaints``, so that a closed lot can still be complained of.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar, Literal

__all__ = [
    "ComplainedOf",
    "ComplaintAnswered",
    "ComplaintClosed",
    "ComplaintReopened",
    "ComplaintTaken",
    "Finding",
]

ComplainedOf = Literal["short", "leaked", "dried", "other"]
Finding = Literal["short", "leaked", "dried", "in-order", "cannot-say"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplaintTaken:
    """Somebody complained about a container of a lot.

    Parameters
    ----------
    complaint : int
        Its number, from 1.
    job, lot_code : str
        Of which lot.
    about : str
        What is said to be wrong.
    told_words : str
        What the customer says.
    told_on : str
        The day on which it was told, as 2031-03-05.
    container : int or None
        Number of the container, where it is known.
    tray : int or None
        Tray that it stood on, where that is known.
    found_g : Decimal or None
        What is left in it, net, where somebody weighed it.
    customer : str
        Who complains, in the maker's own words; may be empty.
    """

    kind: ClassVar[str] = "complaint taken"
    version: ClassVar[int] = 1
    complaint: int
    job: str
    lot_code: str
    about: ComplainedOf
    told_words: str
    told_on: str
    container: int | None = None
    tray: int | None = None
    found_g: Decimal | None = None
    customer: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplaintAnswered:
    """What was found about a complaint, and what that rests on; a later one replaces it."""

    kind: ClassVar[str] = "complaint answered"
    version: ClassVar[int] = 1
    complaint: int
    finding: Finding
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplaintClosed:
    """A complaint was closed, with what was done for the customer."""

    kind: ClassVar[str] = "complaint closed"
    version: ClassVar[int] = 1
    complaint: int
    done: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplaintReopened:
    """A closed complaint was opened again."""

    kind: ClassVar[str] = "complaint reopened"
    version: ClassVar[int] = 1
    complaint: int
    reason: str
