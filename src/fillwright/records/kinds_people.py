"""Kinds of entry about people: who may do what, and what was answered in the practice course."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

__all__ = ["ComplaintPractised", "PersonAllowed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonAllowed:
    """It was said what a person may do; what is set for nobody is free to all.

    Parameters
    ----------
    initials : str
        Whose.
    turns : bool
        Turn the wheel, in Set up, Trim and Run.
    settles : bool
        Settle held containers.
    releases : bool
        Release or close a lot, and change this list.
    """

    kind: ClassVar[str] = "person allowed"
    version: ClassVar[int] = 1
    initials: str
    turns: bool
    settles: bool
    releases: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplaintPractised:
    """In a practice job, a complaint about one container was answered from the record.

    Parameters
    ----------
    container : int
        The one that the complaint is about.
    first, last : int
        Which ones the person called suspect.
    was_weighed : bool
        Whether the person said that it had been weighed.
    then : str
        What the person would do first.
    is_right : bool
        Whether all three agree with the record.
    because : str
        What the record says.
    """

    kind: ClassVar[str] = "complaint practised"
    version: ClassVar[int] = 1
    container: int
    first: int
    last: int
    was_weighed: bool
    then: Literal["hold-and-look", "replace-and-forget", "turn-the-wheel"]
    is_right: bool
    because: str
