"""The machine of a job as its record has it, made to fill: the truth behind the demo bench.

What the job reckons with and what the simulated machine does come from one description, so that
strokes by the watch, the edge of the recharge and the map agree with it while nothing is wrong.
What strokes taught the job is left out: a machine does not change because somebody timed it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

import numpy as np
from numpy.random import Generator

from fillwright.jobs.act import Act, Expects
from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import density_at
from fillwright.jobs.match.flowing import curve_of, thickness_at
from fillwright.jobs.setup import recharge_edge as rechargeedge
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.setup.edge_fit import turns_at
from fillwright.jobs.setup.rig import (
    Rig,
    cavity_pa,
    conductance_at,
    described,
    drive_of,
    outward_of,
    product_read_c,
    rig_as_told,
    rig_of,
    suction_of,
    swept_at,
)
from fillwright.jobs.setup.settings import back_marks
from fillwright.jobs.setup.stroke_plan import plan_of, recharge_plan
from fillwright.jobs.words import plain
from fillwright.records.entities import JobFacts, Machine, Stage
from fillwright.records.fold import JobState
from fillwright.records.units import (
    kelvin_from_c,
    m3_from_ml,
    m_from_mm,
    n_per_m_from_mn_per_m,
)
from fillwright.scale.simulated import Filler, SimulatedBench, bench_from
from fillwright.scale.simulated.filler import twin_bench
from fillwright.science.air import AirPassage
from fillwright.science.stroke import GRAVITY
from fillwright.science.twin_bench import TwinBench
from fillwright.science.twin_strokes import WetEnd
from fillwright.science.wet_tables import thickness_tables

__all__ = [
    "Standing",
    "bench_for",
    "come_up",
    "made",
    "readings_of",
    "stand_by",
    "standing_of",
    "twin_as_told",
]

_DROP_SHARE: Final = 0.6
_HOPPER_AREA: Final = 0.04


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A machine as it stands, without what anybody believes of it.

    Parameters
    ----------
    rig : Rig
        The machine and its product by their descriptions alone.
    fill_needle, recharge_needle : float
        What the flow controls pass [m³/(s·Pa)].
    warm_c : float
        The product.
    hopper_ml : float
        What the hopper holds between full and low.
    """

    rig: Rig
    fill_needle: float
    recharge_needle: float
    warm_c: float
    hopper_ml: float


def standing_of(
    desk: Desk, state: JobState, *, recharge_turns: Decimal | None = None
) -> Standing | None:
    """Return how the machine of a job stands; None where it is not described.

    Parameters
    ----------
    desk : Desk
        Knows the machine.
    state : JobState
        The job.
    recharge_turns : Decimal, optional
        Where the recharge control stands. Where left out, both stand where Set up says, or as
        they were told to stand when strokes were timed; while the edge of the recharge is
        looked for, the recharge takes what was timed.
    """
    facts = state.known
    machine = described(desk, facts)
    believed, told = rig_of(desk, state), rig_as_told(machine, facts)
    if believed is None or told is None:
        return None
    read_c = product_read_c(state)
    warm_c = facts.product.product_c if read_c is None else read_c
    true = replace(told, density_g_per_ml=float(density_at(facts.product, warm_c)))
    timed = state.start.timed
    plan = plan_of(believed) if timed is None else timed
    turns = plan.recharge_turns if recharge_turns is None else recharge_turns
    needle = conductance_at(true.air.recharge, float(turns))
    tried_s = _tried_s(state)
    if tried_s is not None and recharge_turns is None:
        needle = _needle_for(swept_at(true, facts.cylinder, state.setting_marks), tried_s)
    return Standing(
        rig=true,
        fill_needle=conductance_at(true.air.fill, float(plan.fill_turns)),
        recharge_needle=needle,
        warm_c=float(warm_c),
        hopper_ml=_hopper_ml(machine),
    )


def twin_as_told(facts: JobFacts, dose_sd: float) -> TwinBench:
    """Return the machine of a job as it is first set up; an invented one if not described."""
    rig = rig_as_told(facts.machine, facts)
    if rig is None:
        return twin_bench(facts, dose_sd)
    plan = plan_of(rig)
    standing = Standing(
        rig=rig,
        fill_needle=conductance_at(rig.air.fill, float(plan.fill_turns)),
        recharge_needle=conductance_at(rig.air.recharge, float(plan.recharge_turns)),
        warm_c=rig.flow.at_c,
        hopper_ml=_hopper_ml(facts.machine),
    )
    return made(standing, facts, dose_sd)


def made(standing: Standing, facts: JobFacts, dose_sd: float) -> TwinBench:
    """Return a machine that stands so, as a twin; `dose_sd` is a share of a dose."""
    rig = standing.rig
    flow = rig.flow
    curve = curve_of(flow, times=thickness_at(flow, standing.warm_c))
    nozzle = m_from_mm(rig.nozzle.bore_mm)
    tension = n_per_m_from_mn_per_m(flow.tension_mn_per_m)
    _, consistency, index = (float(figure) for figure in curve.figures)
    back = rig.air.recharge
    fall = m_from_mm(rig.full_head_mm - rig.low_head_mm)
    area = m3_from_ml(standing.hopper_ml) / fall if fall > 0 else 0.0
    return TwinBench(
        wet=WetEnd(
            piston_area=rig.piston_area,
            stroke=rig.stroke,
            drive=drive_of(rig, standing.fill_needle, rig.air.fill),
            recharge_needle=AirPassage(
                conductance=standing.recharge_needle, critical_ratio=float(back.critical_ratio)
            ),
            suction=thickness_tables(suction_of(rig), curve, rig.density),
            discharge=thickness_tables(outward_of(rig), curve, rig.density),
            density=rig.density,
            head=m_from_mm(rig.low_head_mm + rig.full_head_mm) / 2.0,
            rise=m_from_mm(rig.rise_mm),
            cavity_pressure=cavity_pa(rig),
            dwell=0.0,
        ),
        consistency=consistency,
        index=index,
        yield_stress=float(curve.figures[0]),
        temperature=kelvin_from_c(standing.warm_c),
        thinning=flow.thinning_k,
        expansion=float(facts.product.expansion_per_k),
        noise=dose_sd,
        readability=float(facts.scale.readability_g / facts.aim_g),
        drop_mass=_DROP_SHARE * math.pi * nozzle * tension / GRAVITY,
        nozzle_bore=nozzle,
        gooseneck=_behind_the_valve(rig),
        hopper_area=area or _HOPPER_AREA,
    )


def bench_for(
    desk: Desk,
    state: JobState,
    chance: Generator,
    monotonic: Callable[[], float],
    *,
    wait: Callable[[float], object] | None = None,
) -> SimulatedBench:
    """Return a simulated bench whose machine is that of the job's record.

    Parameters
    ----------
    desk : Desk
        Knows the machine.
    state : JobState
        The job.
    chance : Generator
        Draws how this machine differs from its plate, and is its chance from then on.
    monotonic, wait : callable
        As `bench_from` takes them.

    Returns
    -------
    SimulatedBench
        With an invented inside where the machine is not described.
    """
    standing = standing_of(desk, state)
    bench = bench_from(
        state.known, chance, monotonic, wait=wait, filler=_filler(standing) if standing else None
    )
    stand_by(desk, state, bench)
    return bench


def stand_by(
    desk: Desk, state: JobState, bench: SimulatedBench, *, recharge_turns: Decimal | None = None
) -> None:
    """Set the simulated machine as the job says it stands: wheel, flow controls, product."""
    marks = state.setting_marks
    if marks is not None and float(marks) != bench.machine.setting_marks:
        if state.is_from_above:
            bench.machine.turn_to(marks)
        else:
            come_up(bench, state, marks)
    standing = standing_of(desk, state, recharge_turns=recharge_turns)
    if standing is not None:
        bench.machine.stand(standing, state.known, _filler(standing))


def come_up(bench: SimulatedBench, state: JobState, marks: Decimal) -> None:
    """Turn the simulated wheel as the pages order it: to a setting from below, past its play."""
    below = max(marks - back_marks(state.known, None), Decimal(0))
    bench.machine.turn_to(marks, via=below)


def readings_of(desk: Desk, state: JobState, act: Act, bench: SimulatedBench) -> tuple[str, ...]:
    """Return what gauge, thermometer and watch show for an act that asks for one of them."""
    if act.stage is not Stage.SET_UP or act.expects is not Expects.READING:
        return ()
    if act.what == "timed":
        return _one_recharge(desk, state, bench)
    now = setup.look(desk, state).now
    match None if now is None else now.key:
        case "air":
            return (f"The air gauge reads {bench.machine.gauge_bar_g:.1f} bar.",)
        case "product":
            return (f"The thermometer reads {plain(state.known.product.product_c)} °C.",)
        case "strokes":
            stand_by(desk, state, bench)
            return (f"The watch shows {bench.machine.ten_strokes():.1f} s for ten strokes.",)
        case _:
            return ()


def _one_recharge(desk: Desk, state: JobState, bench: SimulatedBench) -> tuple[str, ...]:
    """Return what the watch shows for one recharge with its control as the page says."""
    rig, wanted_s = rig_of(desk, state), rechargeedge.look(desk, state).next_s
    if rig is None or wanted_s is None:
        return ()
    stand_by(desk, state, bench, recharge_turns=turns_at(rig, wanted_s))
    bench.machine.fill()
    seen = bench.machine.seen
    return () if seen is None else (f"The watch shows {seen.recharge_s:.2f} s for one recharge.",)


def _filler(standing: Standing) -> Filler:
    """Return what makes the inside of a machine that stands so."""
    return lambda facts, dose_sd: made(standing, facts, dose_sd)


def _tried_s(state: JobState) -> float | None:
    """Return the recharge time that is being tried; None once the edge is found or left."""
    start = state.start
    went_on = state.shots or state.trim or state.proof_plan or state.run
    if not start.groups or start.edge is not None or went_on:
        return None
    return float(start.groups[-1].recharge_s)


def _needle_for(rig: Rig, time_s: float) -> float:
    """Return the opening at which a recharge takes so long by the watch."""
    plan = recharge_plan(rig)
    known = np.isfinite(plan.times)
    order = np.argsort(plan.times[known])
    times, needles = np.log(plan.times[known][order]), np.log(plan.needles[known][order])
    return math.exp(float(np.interp(math.log(time_s), times, needles)))


def _hopper_ml(machine: Machine) -> float:
    """Return what the hopper in use holds between full and low."""
    return float(machine.hoppers[0].usable_ml) if machine.hoppers else 0.0


def _behind_the_valve(rig: Rig) -> float:
    """Return the volume from the product valve to the tip [m³]."""
    valves = [at for at, piece in enumerate(rig.outward) if piece.kind.startswith("valve")]
    behind = outward_of(rig)[valves[-1] + 1 if valves else 0 :]
    areas = [math.pi / 4.0 * np.square(np.asarray(one.bore, dtype=np.float64)) for one in behind]
    lengths = [np.asarray(one.length, dtype=np.float64) for one in behind]
    return float(sum(area * long for area, long in zip(areas, lengths, strict=True)))
