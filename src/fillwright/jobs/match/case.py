"""What the science of a match needs, put together from a job, its machine and its product."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from typing import Final

from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import density_at, dose_ml
from fillwright.jobs.match.flowing import curve_of
from fillwright.jobs.match.product_flow import preset_of, told_flow
from fillwright.jobs.setup.rig import (
    Rig,
    conductance_at,
    described,
    drive_of,
    outward_of,
    rig_of,
    suction_of,
)
from fillwright.jobs.setup.stroke_plan import StrokesPlanned, plan_of
from fillwright.records.entities import Machine
from fillwright.records.entities import Product as StoredProduct
from fillwright.records.fold import JobState
from fillwright.records.machine_parts import NOZZLE_KINDS
from fillwright.records.units import (
    kg_per_m3_from_g_per_ml,
    m3_from_ml,
    m_from_mm,
    n_per_m_from_mn_per_m,
    pa_from_bar,
    pa_from_kpa,
    share_from_pct,
)
from fillwright.science.drive import Drive
from fillwright.science.match import judge_match
from fillwright.science.match_types import (
    Case,
    Hopper,
    Match,
    Nozzle,
    Product,
    ProductCylinder,
    Ranges,
)

__all__ = ["Matched", "matched"]

_KEPT: Final = 512
"""Answers kept, each some tens of kilobytes at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Matched:
    """What was computed for a job on its machine as it is fitted.

    Parameters
    ----------
    match : Match
        Verdict, reasons, figures to expect.
    machine : Machine
        The machine as it is described now.
    plan : StrokesPlanned
        The strokes that Set up will begin with.
    suction_names : tuple of str
        Pieces of the suction path by name.
    """

    match: Match
    machine: Machine
    plan: StrokesPlanned
    suction_names: tuple[str, ...]


def matched(desk: Desk, state: JobState) -> Matched | None:
    """Return what is computed for a job; None where its machine is not described."""
    rig = rig_of(desk, state)
    if rig is None:
        return None
    facts = state.known
    return _matched(
        _Asked(
            product=facts.product,
            dose_ml=dose_ml(facts),
            mouth_mm=facts.container.mouth_mm,
            brim_ml=facts.container.brim_ml,
            capacity_ml=facts.cylinder.capacity_ml,
            claim_pct=facts.claim_pct,
            machine=described(desk, facts),
            rig=rig,
        )
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """All that a match depends on, and nothing else: jobs that are alike share the answer."""

    product: StoredProduct
    dose_ml: Decimal
    mouth_mm: Decimal
    brim_ml: Decimal
    capacity_ml: Decimal
    claim_pct: Decimal
    machine: Machine
    rig: Rig


@lru_cache(maxsize=_KEPT)
def _matched(asked: _Asked) -> Matched:
    """Return what is computed, once for all jobs that ask the same."""
    plan = plan_of(asked.rig)
    return Matched(
        match=judge_match(_case(asked, plan)),
        machine=asked.machine,
        plan=plan,
        suction_names=tuple(piece.name for piece in asked.rig.suction),
    )


def _case(asked: _Asked, plan: StrokesPlanned) -> Case:
    """Return the case of the science: the parts that are fitted, and nothing else."""
    product, machine, rig = asked.product, asked.machine, asked.rig
    told, flow = told_flow(product), rig.flow
    release = max(flow.release_kpa, 1.0)
    wide = replace(
        Ranges(),
        viscosity=math.exp(flow.thickness_spread),
        surface_tension=math.exp(told.tension_spread),
        release_pressure=1.1 if flow.is_edge_known else Ranges().release_pressure,
    )
    nozzle = rig.nozzle
    return Case(
        product=Product(
            curve=curve_of(flow),
            density=kg_per_m3_from_g_per_ml(density_at(product, product.product_c)),
            surface_tension=n_per_m_from_mn_per_m(flow.tension_mn_per_m),
            vapour_pressure=pa_from_kpa(flow.vapour_kpa),
            release_pressure=pa_from_kpa(release),
            temperature=float(product.product_c),
            is_foaming=preset_of(product).foams,
        ),
        dose=m3_from_ml(asked.dose_ml),
        neck_bore=m_from_mm(asked.mouth_mm),
        brimful=m3_from_ml(asked.brim_ml),
        cylinders=(
            ProductCylinder(
                name=f"{asked.capacity_ml.normalize():f} mL",
                volume=m3_from_ml(asked.capacity_ml),
                bore=m_from_mm(rig.cylinder_bore_mm),
            ),
        ),
        nozzles=(
            Nozzle(
                name=f"{nozzle.outside_mm.normalize():f} mm nozzle",
                bore=m_from_mm(min(nozzle.bore_mm, nozzle.outside_mm)),
                outside=m_from_mm(nozzle.outside_mm),
                cuts_off=nozzle.kind in NOZZLE_KINDS and nozzle.kind != "plain",
            ),
        ),
        hoppers=tuple(
            Hopper(
                name=one.name,
                volume=m3_from_ml(one.usable_ml),
                outlet_bore=m_from_mm(one.outlet_mm),
                head=m_from_mm(one.low_above_mm),
            )
            for one in machine.hoppers[:1]
        ),
        suction=suction_of(rig),
        outward=outward_of(rig),
        drive=_drive(rig, plan),
        rating=_rating(machine),
        particle=None if product.particle_mm is None else m_from_mm(product.particle_mm),
        claim=share_from_pct(asked.claim_pct),
        rise=m_from_mm(rig.rise_mm),
        valve_time=float(rig.air.valve_s),
        recharge_least=plan.recharge_s if math.isfinite(plan.recharge_s) else 0.0,
        ranges=wide,
    )


def _drive(rig: Rig, plan: StrokesPlanned) -> Drive:
    """Return the air drive with the needle of the fill as Set up will begin with it."""
    turned = conductance_at(rig.air.fill, float(plan.fill_turns)) * rig.fill_needle_factor
    return drive_of(rig, turned, rig.air.fill)


def _rating(machine: Machine) -> float | None:
    """Return the least pressure that the wet path is rated for [Pa], where it is known."""
    outward = [p.rated_bar_g for p in machine.outward if p.rated_bar_g is not None]
    if machine.plate is not None and machine.plate.wet_bar_g is not None:
        outward.append(machine.plate.wet_bar_g)
    # The suction side is shut off by the valve while the drive pushes.
    return pa_from_bar(min(outward)) if outward else None
