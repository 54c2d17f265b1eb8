"""How the product of a job flows: from what was described of it, corrected by its own strokes.

A product that is known only by what it runs like gets a middle figure and a wide spread.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from fillwright.jobs.desk import Desk
from fillwright.jobs.match.product_flow import told_flow
from fillwright.records.entities import Product
from fillwright.records.units import kelvin_from_c, kpa_from_pa
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.product import water_vapour_pressure

__all__ = [
    "MODEL_RELEASE_KPA",
    "Flow",
    "curve_of",
    "flow_as_told",
    "flow_at",
    "flow_of",
    "thickness_at",
]

MODEL_RELEASE_KPA: Final = 20.0
"""Pressure at which air comes out, until the recharge edge of the product was found."""
_HIGHEST_C: Final = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Flow:
    """How a product flows at one temperature, and how that changes.

    Parameters
    ----------
    yield_pa : float
        Stress below which nothing flows.
    consistency_pa_s : float
        Viscosity where `flow_index` is 1, else the consistency at a shear rate of 1 1/s.
    flow_index : float
        1 for a viscosity that does not depend on the rate.
    at_c : float
        Temperature at which all this holds.
    thinning_k : float
        How fast it thins as it warms: ln of the thickness goes as this over the kelvins.
    thickness_spread : float
        How far the thickness may be off, as a logarithm.
    tension_mn_per_m : float
        Surface tension.
    vapour_kpa, release_kpa : float
        Pressures at which the product boils, and at which its air comes out.
    is_edge_known : bool
        True where the release pressure was found on this machine.
    words : str
        Where the figures are from.
    """

    yield_pa: float
    consistency_pa_s: float
    flow_index: float
    at_c: float
    thinning_k: float
    thickness_spread: float
    tension_mn_per_m: float
    vapour_kpa: float
    release_kpa: float
    is_edge_known: bool
    words: str


def flow_of(desk: Desk, product: Product, machine: str) -> Flow:
    """Return how a product flows at the temperature it is filled at, as far as is known.

    Parameters
    ----------
    desk : Desk
        Knows what strokes on this machine have taught.
    product : Product
        The product.
    machine : str
        Name of the machine.
    """
    site = desk.book.site()
    told = flow_as_told(product)
    times, spread, words = 1.0, told.thickness_spread, told.words
    timed = site.strokes.get((product.name, machine))
    if timed is not None:
        times, spread = timed.thickness_factor, min(spread, timed.thickness_spread)
        words += "; corrected by timed strokes on this machine"
    edge = site.edges.get((product.name, machine))
    release = told.release_kpa
    if edge is not None:
        # Where no recharge was too fast, the guess stands unless it is above the bound.
        release = min(release, edge.high_kpa) if edge.is_bound else edge.release_kpa
        words += "; edge of the recharge found on this machine"
    return replace(
        told,
        yield_pa=told.yield_pa * times,
        consistency_pa_s=told.consistency_pa_s * times,
        thickness_spread=spread,
        release_kpa=release,
        is_edge_known=edge is not None and not edge.is_bound,
        words=words,
    )


def flow_as_told(product: Product) -> Flow:
    """Return how a product flows by what was told of it alone, whatever strokes have taught."""
    told = told_flow(product)
    warm = min(max(product.product_c, Decimal(0)), Decimal(_HIGHEST_C))
    water_kpa = kpa_from_pa(float(water_vapour_pressure(float(warm))))
    return Flow(
        yield_pa=told.yield_pa,
        consistency_pa_s=told.consistency_pa_s,
        flow_index=told.flow_index,
        at_c=float(product.product_c),
        thinning_k=told.thinning_k,
        thickness_spread=told.thickness_spread,
        tension_mn_per_m=told.tension_mn_per_m,
        vapour_kpa=max(water_kpa, told.vapour_kpa or 0.0),
        release_kpa=told.release_kpa,
        is_edge_known=False,
        words=told.words,
    )


def curve_of(flow: Flow, *, times: float = 1.0) -> FlowCurve:
    """Return the flow curve of a product that is so many times as thick."""
    return FlowCurve(
        yield_stress=flow.yield_pa * times,
        consistency=flow.consistency_pa_s * times,
        index=flow.flow_index,
    )


def flow_at(flow: Flow, product_c: float) -> Flow:
    """Return how a product flows at another temperature."""
    times = thickness_at(flow, product_c)
    return replace(
        flow,
        yield_pa=flow.yield_pa * times,
        consistency_pa_s=flow.consistency_pa_s * times,
        at_c=product_c,
    )


def thickness_at(flow: Flow, product_c: float) -> float:
    """Return how many times as thick a product is at another temperature."""
    away = 1.0 / kelvin_from_c(product_c) - 1.0 / kelvin_from_c(flow.at_c)
    return math.exp(flow.thinning_k * away)
