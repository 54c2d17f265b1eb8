"""The strokes that a machine should make with a product, by the watch.

Flow controls at whole quarter turns, times from the air-dynamic stroke at those very turns.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from typing import Final

import numpy as np

from fillwright.jobs.match.flowing import curve_of, flow_at
from fillwright.jobs.setup.rig import (
    Rig,
    cavity_pa,
    conductance_at,
    drive_of,
    outward_of,
    suction_of,
    swept_at,
    turns_for,
)
from fillwright.jobs.words import plain
from fillwright.records.entities import Cylinder
from fillwright.records.units import m_from_mm, n_per_m_from_mn_per_m, pa_from_bar
from fillwright.science.flow_table import FlowTable
from fillwright.science.stroke_plan import FillPlan, RechargePlan, plan_fill, plan_recharge
from fillwright.science.stroke_times import discharge_times, recharge_times
from fillwright.science.wet_tables import path_table

__all__ = [
    "STROKES",
    "StrokesPlanned",
    "plan_of",
    "plan_swept",
    "recharge_plan",
    "seconds",
    "turns_open",
]

STROKES: Final = 10
_KEPT: Final = 512
"""Plans kept, each some kilobytes: more than a site has of products on machines at once."""
_VELOCITY: Final = 1.5
_FOAMY_VELOCITY: Final = 0.6
# Metres a second at the nozzle, the second for a product that foams: judgements of ours.


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokesPlanned:
    """The strokes to begin with, at whole quarter turns of the flow controls.

    Parameters
    ----------
    fill_turns, recharge_turns : Decimal
        Flow controls, turns open from shut.
    fill_s, recharge_s : float
        Times by the watch at those.
    ten_s : float
        Ten whole strokes, the turns of the valve with them.
    edge_s : float or None
        Shortest recharge that fills; None where the drive is the slower.
    fastest_s : float
        Recharge with the control fully open.
    feeds, matters, stalls : bool
        Whether suction brings the product, whether the recharge has an edge, whether the
        drive cannot push it.
    held_by : str
        What holds the fill.
    reserve_ratio : float
        Product pressure that stalls the drive over that of the fill.
    velocity_words : str
        How fast the product leaves the nozzle.
    stall_bar_g : float
        Product pressure when the nozzle is blocked.
    """

    fill_turns: Decimal
    recharge_turns: Decimal
    fill_s: float
    recharge_s: float
    ten_s: float
    edge_s: float | None
    fastest_s: float
    feeds: bool
    matters: bool
    stalls: bool
    held_by: str
    reserve_ratio: float
    velocity_words: str
    stall_bar_g: float


@lru_cache(maxsize=_KEPT)
def plan_of(rig: Rig) -> StrokesPlanned:
    """Return the strokes to begin with; worked out once for each rig."""
    outward = path_table(outward_of(rig), curve_of(rig.flow), rig.density)
    back, out = _recharge(rig), _fill(rig, outward)
    fill_turns = turns_for(rig.air.fill, out.needle / rig.fill_needle_factor)
    back_turns = turns_for(rig.air.recharge, back.needle / rig.recharge_needle_factor)
    fill_s = _fill_time(rig, float(fill_turns), outward) if out.held_by != "stalled" else math.inf
    known = np.isfinite(back.times)
    at = conductance_at(rig.air.recharge, float(back_turns)) * rig.recharge_needle_factor
    back_s = math.inf
    if back.feeds:
        inside = np.interp(np.log(at), np.log(back.needles[known]), np.log(back.times[known]))
        back_s = float(np.exp(inside))
    idle_s = 2.0 * float(rig.air.valve_s)
    drive = drive_of(rig, out.needle, rig.air.fill)
    stall = float(np.asarray(drive.pressure_to_stall(rig.piston_area)))
    return StrokesPlanned(
        fill_turns=fill_turns,
        recharge_turns=back_turns,
        fill_s=fill_s,
        recharge_s=back_s,
        ten_s=STROKES * (fill_s + back_s + idle_s),
        edge_s=back.edge,
        fastest_s=float(back.times[known].min()) if known.any() else math.inf,
        feeds=back.feeds,
        matters=back.matters,
        stalls=out.held_by == "stalled",
        held_by=out.held_by,
        reserve_ratio=out.reserve,
        velocity_words=f"{out.velocity:.2g} m/s",
        stall_bar_g=stall / pa_from_bar(1),
    )


def plan_swept(
    rig: Rig, cylinder: Cylinder, marks: Decimal, read_c: float | None
) -> StrokesPlanned:
    """Return the strokes to begin with, their times those of the wheel where it stands.

    Flow controls are those for the aim; the wheel begins below it, and a watch sees its stroke.

    Parameters
    ----------
    rig : Rig
        The machine as it is for the aim.
    cylinder : Cylinder
        The one that is fitted.
    marks : Decimal
        Where the wheel stands.
    read_c : float or None
        Temperature of the product, where it was read.
    """
    # Read as it was expected, it flows as it was reckoned with: nothing to work out anew.
    return _swept(rig, cylinder, marks, None if read_c == rig.flow.at_c else read_c)


@lru_cache(maxsize=_KEPT)
def _swept(rig: Rig, cylinder: Cylinder, marks: Decimal, read_c: float | None) -> StrokesPlanned:
    """Return those strokes, once for each wheel and temperature."""
    plan = plan_of(rig)
    if not plan.feeds or plan.stalls:
        return plan
    here = swept_at(rig, cylinder, marks)
    if read_c is not None:
        here = replace(here, flow=flow_at(here.flow, read_c))
    outward = path_table(outward_of(here), curve_of(here.flow), here.density)
    fill_s = _fill_time(here, float(plan.fill_turns), outward)
    back_s = _recharge_time(here, float(plan.recharge_turns))
    ten_s = STROKES * (fill_s + back_s + 2.0 * float(rig.air.valve_s))
    return replace(plan, fill_s=fill_s, recharge_s=back_s, ten_s=ten_s)


def recharge_plan(rig: Rig) -> RechargePlan:
    """Return the whole curve of how full the cylinder is against the watch."""
    return _recharge(rig)


@lru_cache(maxsize=_KEPT)
def _recharge(rig: Rig) -> RechargePlan:
    """Plan the recharge with the hopper at its low mark: then it fills with a full one too."""
    air = rig.air
    widest = conductance_at(air.recharge, float(air.recharge.points[-1].open_turns))
    return plan_recharge(
        path_table(suction_of(rig), curve_of(rig.flow), rig.density),
        drive=drive_of(rig, widest, air.recharge),
        piston_area=rig.piston_area,
        stroke=rig.stroke,
        needle_most=widest * rig.recharge_needle_factor,
        head_pressure=rig.low_head_pressure,
        cavity_pressure=cavity_pa(rig),
    )


def _fill(rig: Rig, outward: FlowTable) -> FillPlan:
    """Plan the fill: as quick as does not splash."""
    air = rig.air
    widest = conductance_at(air.fill, float(air.fill.points[-1].open_turns))
    return plan_fill(
        outward_of(rig),
        curve=curve_of(rig.flow),
        density=rig.density,
        surface_tension=n_per_m_from_mn_per_m(rig.flow.tension_mn_per_m),
        drive=drive_of(rig, widest, air.fill),
        piston_area=rig.piston_area,
        stroke=rig.stroke,
        needle_most=widest * rig.fill_needle_factor,
        rise=m_from_mm(rig.rise_mm),
        velocity_most=_FOAMY_VELOCITY if rig.is_foamy else _VELOCITY,
        is_timed=False,
        table=outward,
    )


def _fill_time(rig: Rig, turns: float, outward: FlowTable) -> float:
    """Return the time of a fill with its control so many turns open [s]."""
    needle = conductance_at(rig.air.fill, turns) * rig.fill_needle_factor
    run = discharge_times(
        drive_of(rig, needle, rig.air.fill),
        piston_area=rig.piston_area,
        stroke=rig.stroke,
        table=outward,
        head=rig.rise_pressure,
        tolerance=0.02,
        longest=300.0,
    )
    return float(run.time[0])


def _recharge_time(rig: Rig, turns: float) -> float:
    """Return the time of a recharge with its control so many turns open [s]."""
    needle = conductance_at(rig.air.recharge, turns) * rig.recharge_needle_factor
    run = recharge_times(
        drive_of(rig, needle, rig.air.recharge),
        piston_area=rig.piston_area,
        stroke=rig.stroke,
        table=path_table(suction_of(rig), curve_of(rig.flow), rig.density),
        head=rig.low_head_pressure,
        cavity_pressure=cavity_pa(rig),
        tolerance=0.02,
        longest=300.0,
    )
    return float(run.time[0])


def turns_open(turns: Decimal) -> str:
    """Return how far a flow control stands open, in words."""
    return f"{plain(turns)} turn{'' if turns == 1 else 's'} open"


def seconds(time_s: float) -> str:
    """Return a time as a watch shows it."""
    return f"{time_s:.1f} s"
