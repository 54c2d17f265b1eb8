"""Kinds of entry about money: what things cost, and what a job lost beside the weighings.

Past-tense facts in the stream of the site, so that a closed job can still be told of.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

__all__ = ["ContainerPrice", "LossesNoted", "PricesKept", "ProductPrice"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductPrice:
    """What a kilogram of a product costs."""

    product: str
    cost_per_kg: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerPrice:
    """What a container costs with its lid and label."""

    container: str
    cost_each: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class PricesKept:
    """What things cost was said, or said anew; None where nobody said.

    Parameters
    ----------
    money : str
        What the site calls its money; printed beside every sum.
    work_cost_per_h : Decimal or None
        An hour of one person.
    cleaner_per_litre : Decimal or None
        A litre of cleaner, ready to use.
    air_cost_per_m3 : Decimal or None
        A cubic metre of free air.
    products : tuple of ProductPrice
        By product.
    containers : tuple of ContainerPrice
        By container.
    """

    kind: ClassVar[str] = "prices kept"
    version: ClassVar[int] = 1
    money: str = ""
    work_cost_per_h: Decimal | None = None
    cleaner_per_litre: Decimal | None = None
    air_cost_per_m3: Decimal | None = None
    products: tuple[ProductPrice, ...] = ()
    containers: tuple[ContainerPrice, ...] = ()

    def of_product(self, name: str) -> Decimal | None:
        """Return what a kilogram of a product costs, or None."""
        return next((p.cost_per_kg for p in self.products if p.product == name), None)

    def of_container(self, name: str) -> Decimal | None:
        """Return what a container costs, or None."""
        return next((c.cost_each for c in self.containers if c.container == name), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class LossesNoted:
    """What a job used and lost that no weighing shows; None where nobody said.

    Parameters
    ----------
    job : str
        Number of the job.
    flushed_kg : Decimal or None
        Product pushed through to purge; the weighed purges when None.
    hopper_kg : Decimal or None
        Product left in hopper and wet end that was not used again.
    cleaner_l : Decimal or None
        Cleaner used.
    work_min : Decimal or None
        Work that the bench did not see: carrying, labelling, washing up.
    is_purge_back : bool
        True where the purge went back into the hopper or the drum.
    is_trim_back : bool
        True where the trim shots went back.
    """

    kind: ClassVar[str] = "losses noted"
    version: ClassVar[int] = 1
    job: str
    flushed_kg: Decimal | None = None
    hopper_kg: Decimal | None = None
    cleaner_l: Decimal | None = None
    work_min: Decimal | None = None
    is_purge_back: bool = False
    is_trim_back: bool = False
