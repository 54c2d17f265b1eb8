"""What became of containers, as the papers say it: by their holds, and all of them counted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Literal, TypeAlias

__all__ = ["Fate", "FateLine", "HeldLine", "OutcomeLine", "RelabelledLine"]

Fate: TypeAlias = Literal[
    "released",
    "settled",
    "topped up",
    "re-labelled",
    "held",
    "emptied back",
    "scrapped",
    "kept",
    "not released",
    "waiting",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class FateLine:
    """What became of containers: which, and how many; each container is in one of a lot's."""

    fate: Fate
    numbers: str
    containers: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomeLine:
    """What was said of held containers.

    Parameters
    ----------
    at, person
        When, and who; of several things said alike the first.
    until : datetime or None
        When the last of them was said; None where it is the first.
    numbers : str
        Which.
    containers : int
        How many.
    outcome, more, reason : str
        What became of them, what is said beside it, and why.
    struck : str
        Why and by whom it was struck out; empty while it stands.
    """

    at: datetime
    person: str
    numbers: str
    containers: int
    outcome: str
    reason: str = ""
    more: str = ""
    struck: str = ""
    until: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldLine:
    """Containers that were held for one reason, with all that was said of them since.

    Parameters
    ----------
    numbers, trays : str
        Which, and the numbers of their trays; empty where there is no tray.
    containers : int
        How many.
    reason : str
        Why.
    outcomes : tuple of OutcomeLine
        What was said of them, in order.
    still : str
        Which are held still; empty where none is.
    still_containers : int
        How many of them are.
    """

    numbers: str
    containers: int
    reason: str
    trays: str = ""
    outcomes: tuple[OutcomeLine, ...] = ()
    still: str = ""
    still_containers: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class RelabelledLine:
    """A lot of its own that came of a new label.

    Parameters
    ----------
    lot_code, numbers : str
        Its code, and which containers are in it.
    containers : int
        How many.
    nominal, least_label_unit, mean : Decimal
        Declared quantity, least and average content, in `unit`.
    unit, rules, edition : str
        Of the label, and the rule set with its edition.
    because : str
        Why they may carry it.
    """

    lot_code: str
    numbers: str
    containers: int
    nominal: Decimal
    least_label_unit: Decimal
    mean: Decimal
    unit: str
    rules: str
    edition: str
    because: str
