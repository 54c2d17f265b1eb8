"""Kinds of entry of held containers: topped up, emptied, re-labelled, and a settling struck out.

Past-tense facts, typed and versioned; `entries` lists all kinds. Those that are weighed good,
scrapped or released with a reason are `ContainersSettled`.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar, Literal

from fillwright.records.spans import Span

__all__ = [
    "ContainersEmptied",
    "ContainersRelabelled",
    "ContainersToppedUp",
    "EmptiedInto",
    "SettlingStruck",
]

EmptiedInto = Literal["hopper", "drum"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainersToppedUp:
    """Held containers were topped up by hand; each waits for a new weight, and is held until then.

    Parameters
    ----------
    spans : tuple of Span
        Which.
    reason : str
        Why.
    """

    kind: ClassVar[str] = "containers topped up"
    version: ClassVar[int] = 1
    spans: tuple[Span, ...]
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainersEmptied:
    """Held containers were emptied and their product was kept for use.

    Parameters
    ----------
    spans : tuple of Span
        Which.
    reason : str
        Why.
    into : str
        ``"hopper"``, or ``"drum"`` for a drum of its own.
    back_g : Decimal
        Product that came out of them.
    is_weighed : bool
        True where `back_g` was weighed, False where it was reckoned from their own weights and,
        for those that have none, from the aim.
    after_container : int
        Last one filled before; what went into the hopper may be in those filled after it.
    """

    kind: ClassVar[str] = "containers emptied back"
    version: ClassVar[int] = 1
    spans: tuple[Span, ...]
    reason: str
    into: EmptiedInto
    back_g: Decimal
    is_weighed: bool
    after_container: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainersRelabelled:
    """Held containers got another label, and are a lot of their own.

    Parameters
    ----------
    spans : tuple of Span
        Which.
    reason : str
        Why.
    lot_code : str
        Code of the new lot.
    nominal : Decimal
        Declared quantity of the new label, in `unit`.
    unit : str
        ``"g"`` or ``"mL"``.
    rules, edition : str
        Rule set of the new label.
    least_label_unit, mean : Decimal
        Least and average content of them, in `unit`.
    t1_limit : str
        What the rule set would let one of them hold at least; empty where it has no such limit.
    because : str
        Why they may carry the label.
    """

    kind: ClassVar[str] = "containers re-labelled"
    version: ClassVar[int] = 1
    spans: tuple[Span, ...]
    reason: str
    lot_code: str
    nominal: Decimal
    unit: Literal["g", "mL"]
    rules: str
    edition: str
    least_label_unit: Decimal
    mean: Decimal
    t1_limit: str
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SettlingStruck:
    """A settling, or a topping up, was struck out: its containers are held again.

    Parameters
    ----------
    settling_id : str
        Id of the entry that is struck out.
    reason : str
        Why.
    """

    kind: ClassVar[str] = "settling struck out"
    version: ClassVar[int] = 1
    settling_id: str
    reason: str
