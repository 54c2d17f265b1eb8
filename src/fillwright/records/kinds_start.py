"""Kinds of entry that starting a machine makes: timed strokes, and the edge of the recharge."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

__all__ = ["RechargeEdgeJudged", "RechargeTimed", "StrokesTimed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokesTimed:
    """Strokes were timed by the watch; with what the model made of it then.

    Parameters
    ----------
    job, machine, product : str
        In which job, on which machine, with which product.
    product_c, air_bar_g : Decimal or None
        As they were read in Set up.
    fill_turns, recharge_turns : Decimal
        How far the flow controls stood open.
    fill_s, recharge_s, ten_s : Decimal or None
        What was timed: one fill, one recharge, ten whole strokes.
    expected_fill_s, expected_recharge_s : float
        What the model had said.
    fitted_fill_s, fitted_recharge_s : float
        What it says once corrected.
    fill_needle_factor, recharge_needle_factor : float
        How much wider each flow control is than its table.
    thickness_factor : float
        How many times as thick the product is as was taken.
    fill_needle_spread, recharge_needle_spread, thickness_spread : float
        How far each may still be off.
    because : str
        What was changed, in words.
    assumptions : tuple of str
        What was taken for granted.
    """

    kind: ClassVar[str] = "strokes timed"
    version: ClassVar[int] = 1
    job: str
    machine: str
    product: str
    product_c: Decimal | None
    air_bar_g: Decimal | None
    fill_turns: Decimal
    recharge_turns: Decimal
    fill_s: Decimal | None
    recharge_s: Decimal | None
    ten_s: Decimal | None
    expected_fill_s: float
    expected_recharge_s: float
    fitted_fill_s: float
    fitted_recharge_s: float
    fill_needle_factor: float
    recharge_needle_factor: float
    thickness_factor: float
    fill_needle_spread: float
    recharge_needle_spread: float
    thickness_spread: float
    because: str
    assumptions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RechargeTimed:
    """The recharge was set to a time by the watch; shots weighed from here on belong to it."""

    kind: ClassVar[str] = "recharge timed"
    version: ClassVar[int] = 1
    recharge_s: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class RechargeEdgeJudged:
    """The edge of a full recharge was found from shots at several recharge times.

    Parameters
    ----------
    job, machine, product : str
        In which job, on which machine, with which product.
    product_c : Decimal or None
        Temperature of the product, as it was read in Set up.
    times_s : tuple of Decimal
        The recharge times.
    shots : int
        Shots weighed over all of them.
    release_kpa, low_kpa, high_kpa : float
        Pressure at which air comes out, with its 95 % interval.
    flow_ml_per_s : float
        Greatest flow from the hopper.
    full_dose_g : float
        Dose of a full cylinder.
    full_share : tuple of float
        How full the cylinder was at each time.
    is_bound : bool
        True where no recharge was too fast, so that only a bound is known.
    because : str
        The answer in one sentence.
    assumptions : tuple of str
        What was taken for granted.
    """

    kind: ClassVar[str] = "recharge edge judged"
    version: ClassVar[int] = 1
    job: str
    machine: str
    product: str
    product_c: Decimal | None
    times_s: tuple[Decimal, ...]
    shots: int
    release_kpa: float
    low_kpa: float
    high_kpa: float
    flow_ml_per_s: float
    full_dose_g: float
    full_share: tuple[float, ...]
    is_bound: bool
    because: str
    assumptions: tuple[str, ...] = ()
