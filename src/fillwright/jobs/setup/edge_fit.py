"""The arithmetic of the recharge edge for a job: which times to try, and what the shots say."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from typing import Final

import numpy as np

from fillwright.errors import BadInput, OutsideModel
from fillwright.jobs.match.flowing import curve_of
from fillwright.jobs.setup.rig import (
    Rig,
    cavity_pa,
    conductance_at,
    drive_of,
    product_read_c,
    suction_of,
    turns_for,
)
from fillwright.jobs.setup.stroke_plan import plan_of, recharge_plan
from fillwright.records.entries import RechargeEdgeJudged
from fillwright.records.fold import JobState
from fillwright.records.units import (
    g_from_kg,
    kg_from_g,
    kpa_from_pa,
    m3_from_ml,
    ml_from_m3,
    pa_from_kpa,
)
from fillwright.science.drive import AIR
from fillwright.science.recharge_knee import KneeShot, recharge_knee
from fillwright.science.stroke import recharge_limit
from fillwright.science.wet_tables import path_table

__all__ = ["edge_found", "matters", "times_to_set", "turns_at"]

_FREE_AIR_KPA: Final = 40.0
_BY_EDGE: Final = (1.7, 1.2, 0.9, 0.75)
_BY_DRIVE: Final = (2.2, 1.6, 1.2, 1.0)
_THICK_AS_TAKEN: Final = (
    "The product is as thick as it was taken: an error in that goes into this pressure, and the "
    "edge is right all the same at this temperature."
)
_ASSUMPTIONS: Final = (_THICK_AS_TAKEN, "The slowest of the times filled the cylinder.")


def matters(rig: Rig) -> bool:
    """Return whether the product may be the slower one in the recharge.

    Asked of the thick end of what is known, and of a product with air in it.
    """
    if rig.flow.is_edge_known:
        return plan_of(rig).matters
    thick = curve_of(rig.flow, times=math.exp(rig.flow.thickness_spread))
    table = path_table(suction_of(rig), thick, rig.density, points=120)
    flow = recharge_limit(
        table,
        swept=m3_from_ml(rig.dose_ml),
        head_pressure=rig.low_head_pressure,
        release_pressure=max(cavity_pa(rig), pa_from_kpa(_FREE_AIR_KPA)),
    ).flow_max[0]
    control = rig.air.recharge
    widest = conductance_at(control, float(control.points[-1].open_turns))
    drive = drive_of(rig, widest, control)
    quickest = widest * rig.recharge_needle_factor * AIR / float(drive.cap_area)
    return bool(flow < quickest * rig.piston_area)


def times_to_set(rig: Rig) -> tuple[float, ...]:
    """Return the four recharge times to try, slowest first."""
    plan = plan_of(rig)
    if plan.edge_s is not None:
        return tuple(max(share * plan.edge_s, plan.fastest_s) for share in _BY_EDGE)
    return tuple(share * plan.fastest_s for share in _BY_DRIVE)


def turns_at(rig: Rig, time_s: float) -> Decimal:
    """Return about how many turns open a recharge of a time wants its control."""
    plan = recharge_plan(rig)
    known = np.isfinite(plan.times)
    order = np.argsort(plan.times[known])
    times, needles = plan.times[known][order], plan.needles[known][order]
    needle = math.exp(float(np.interp(math.log(time_s), np.log(times), np.log(needles))))
    return turns_for(rig.air.recharge, needle / rig.recharge_needle_factor)


def edge_found(state: JobState, rig: Rig) -> RechargeEdgeJudged:
    """Return the edge that explains the shots at all recharge times.

    Raises
    ------
    BadInput
        If too few times were tried, or no recharge of this drive explains one of them.
    """
    facts = state.known
    groups = [group for group in state.start.groups if group.kept]
    if state.setting_marks is not None:
        swept_ml = float(state.setting_marks * facts.cylinder.ml_per_mark)
    else:
        swept_ml = rig.dose_ml
    control = rig.air.recharge
    half = conductance_at(control, float(control.points[len(control.points) // 2].open_turns))
    try:
        found = recharge_knee(
            [
                KneeShot(
                    time=float(group.recharge_s),
                    doses=[kg_from_g(shot.fact.net_g) for shot in group.kept],
                )
                for group in groups
            ],
            drive=drive_of(rig, half * rig.recharge_needle_factor, control),
            piston_area=rig.piston_area,
            stroke=m3_from_ml(swept_ml) / rig.piston_area,
            table=path_table(suction_of(rig), curve_of(rig.flow), rig.density),
            head_pressure=(rig.low_head_pressure + rig.full_head_pressure) / 2.0,
        )
    except OutsideModel as error:
        message = (
            f"{error.given} s: this drive makes no recharge of that time. Strike its shots out "
            "and time it again, from the press to the rear stop."
        )
        raise BadInput(message, field="edge", given=error.given, code="outside-model") from error
    except BadInput as error:
        message = f"Too little to say: {error.message}"
        raise BadInput(message, field="edge", given=error.given, code=error.code) from error
    release_kpa = kpa_from_pa(found.release_pressure)
    high_kpa = kpa_from_pa(found.high)
    known = min(rig.flow.release_kpa, high_kpa) if found.is_bound else release_kpa
    after = plan_of(replace(rig, flow=replace(rig.flow, release_kpa=known, is_edge_known=True)))
    return RechargeEdgeJudged(
        job=state.number,
        machine=facts.machine.name,
        product=facts.product.name,
        product_c=product_read_c(state),
        times_s=tuple(group.recharge_s for group in groups),
        shots=sum(len(group.kept) for group in groups),
        release_kpa=release_kpa,
        low_kpa=kpa_from_pa(found.low),
        high_kpa=high_kpa,
        flow_ml_per_s=ml_from_m3(found.flow_max),
        full_dose_g=g_from_kg(found.full_dose),
        full_share=found.fill_fractions,
        is_bound=found.is_bound,
        because=f"{found.because} {_changed(plan_of(rig).edge_s, after.edge_s)}",
        assumptions=_ASSUMPTIONS,
    )


def _changed(before: float | None, after: float | None) -> str:
    """Return what becomes of the shortest recharge that fills."""
    if after is None:
        return "The drive is the slower: any recharge it makes fills."
    was = "none was expected" if before is None else f"{before:.1f} s were expected"
    return f"A recharge fills from {after:.1f} s on; {was}."
