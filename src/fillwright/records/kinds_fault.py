"""Kinds of entry about a fault: it was opened, answered, a repair was tried, it was closed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar, Literal

__all__ = [
    "FaultAnswered",
    "FaultCaseCounted",
    "FaultClosed",
    "FaultLearningSet",
    "FaultOpened",
    "RepairTried",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultOpened:
    """Somebody saw that something is wrong.

    Parameters
    ----------
    sign : str
        Key of what was seen; empty where a finding alone was stated.
    findings : tuple of str
        Findings that were seen besides.
    signature : dict of str to float
        P(doses | class) of the run, up to a common factor; empty where the doses say nothing.
    doses : int
        How many doses it was taken from.
    after_container : int
        Last container that was filled before.
    """

    kind: ClassVar[str] = "fault opened"
    version: ClassVar[int] = 1
    sign: str
    findings: tuple[str, ...] = ()
    signature: dict[str, float] = field(default_factory=dict)
    doses: int = 0
    after_container: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultAnswered:
    """A check was made, or could not be made now.

    Parameters
    ----------
    check : str
        Key of the check.
    present, absent : tuple of str
        Findings that were there, and that were not.
    was_possible : bool
        False where the check could not be made.
    """

    kind: ClassVar[str] = "fault answer given"
    version: ClassVar[int] = 1
    check: str
    present: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    was_possible: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class RepairTried:
    """A repair was made, or could not be made now."""

    kind: ClassVar[str] = "repair tried"
    version: ClassVar[int] = 1
    repair: str
    outcome: Literal["cured", "not-cured", "not-possible"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultClosed:
    """The search ended: cured by a named repair whose re-test passed, handed over, or left."""

    kind: ClassVar[str] = "fault closed"
    version: ClassVar[int] = 1
    outcome: Literal["cured", "handed-over", "left"]
    cause: str = ""
    repair: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultCaseCounted:
    """A closed case was taken out of what the records teach, or put back, with a reason."""

    kind: ClassVar[str] = "fault case counted"
    version: ClassVar[int] = 1
    job: str
    case: int
    counts: bool
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultLearningSet:
    """The search was set to learned or to shipped figures."""

    kind: ClassVar[str] = "fault learning set"
    version: ClassVar[int] = 1
    uses_records: bool
