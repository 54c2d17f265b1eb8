"""Kinds of entry of cleaning: that a machine was cleaned, and what a product leaves in it.

Past-tense facts, typed and versioned; `entries` lists all kinds.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar, Literal

__all__ = ["CleanDone", "CleanKind", "ProductTraits", "ResidueCheck"]

CleanKind = Literal["flush-through", "wet-end-clean", "full-strip"]
ResidueCheck = Literal["rinse-clear", "rinse-test-good", "swab-good", "swab-bad", "not-checked"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CleanDone:
    """A machine was cleaned.

    Parameters
    ----------
    machine : str
        Which one.
    after_job, after_product : str
        What it was cleaned of; empty where it had filled nothing.
    before_job : str
        What it was cleaned for; empty where that was not known.
    clean, wanted : str
        What was done, and what the times of changing over ask for; `wanted` may be empty.
    agent, agent_batch : str
        Cleaner and its batch, as on the can.
    residue : str
        What was looked at for residue, and how it came out.
    reading : str
        What was read, such as a test strip's figure.
    discarded_l : Decimal or None
        Product and rinse water that went away.
    next_due_on : str
        When it is due again though nothing is filled; year-month-day, or empty.
    because : str
        Why less was done than is wanted, or residue was not checked; empty otherwise.
    """

    kind: ClassVar[str] = "clean done"
    version: ClassVar[int] = 1
    machine: str
    after_job: str
    after_product: str
    before_job: str
    clean: CleanKind
    wanted: str
    agent: str
    agent_batch: str
    residue: ResidueCheck
    reading: str = ""
    discarded_l: Decimal | None = None
    next_due_on: str = ""
    because: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductTraits:
    """What of a product the cleaning after it depends on, in the site's own words.

    Parameters
    ----------
    product : str
        Its name.
    allergen, colour, scent, base : str
        Words of the times of changing over; ``"none"`` where there is none.
    """

    kind: ClassVar[str] = "product traits kept"
    version: ClassVar[int] = 1
    product: str
    allergen: str
    colour: str
    scent: str
    base: str
