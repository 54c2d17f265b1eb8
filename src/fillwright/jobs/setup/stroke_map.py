"""The map of a product on a machine: where it fills, stalls, splashes and drips as it warms.

Recharge by the watch, from the air-dynamic stroke; nozzles from the map of the science. Today
is a point in both, and a cold morning is told in words.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.jobs.act import Act
from fillwright.jobs.desk import Desk
from fillwright.jobs.match.flowing import curve_of, thickness_at
from fillwright.jobs.setup.rig import (
    Rig,
    cavity_pa,
    conductance_at,
    described,
    drive_of,
    outward_of,
    product_read_c,
    rig_of,
    suction_of,
)
from fillwright.jobs.setup.stroke_plan import StrokesPlanned, plan_of, turns_open
from fillwright.jobs.why import Fact, Why
from fillwright.records.entities import Stage
from fillwright.records.fold import JobState
from fillwright.records.mapplot import NozzleMap, RechargeMap
from fillwright.records.units import m_from_mm, n_per_m_from_mn_per_m
from fillwright.science.air import AirPassage
from fillwright.science.stroke_map import stroke_map
from fillwright.science.stroke_plan import FULL, edge_opening
from fillwright.science.stroke_times import recharge_times
from fillwright.science.wet_tables import thickness_tables

__all__ = ["COLDER_K", "MapLook", "look"]

COLDER_K: Final = 8.0
"""A cold morning: so many degrees below today (a judgement of ours)."""
_COLDEST: Final = -14.0
_WARMEST: Final = 10.0
_ROWS: Final = 9
_OPENINGS: Final = 10
_SLOWER: Final = 1.1
_TOLERANCE: Final = 0.02
_LONGEST: Final = 120.0
_BORES: Final = 9
_LEAST_WAIT: Final = 1e-3
_SOURCE: Final = (
    "air-dynamic recharge; splash after Mundo, Sommerfeld and Tropea (1995), drip by the "
    "capillary length (from memory)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MapLook:
    """What the map page shows.

    Parameters
    ----------
    act : Act
        The order of the page.
    machine : str
        Name of the machine.
    is_described : bool
        False where it has to be described first.
    recharge : RechargeMap or None
        Recharge time against temperature.
    nozzle : NozzleMap or None
        Nozzle bore against temperature.
    cold : tuple of str
        What happens on a cold morning, in sentences.
    why : Why or None
        What was taken for granted.
    """

    act: Act
    machine: str
    is_described: bool
    recharge: RechargeMap | None
    nozzle: NozzleMap | None
    cold: tuple[str, ...]
    why: Why | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Maps:
    """Both maps, and how the recharge goes at today's setting at each temperature."""

    recharge: RechargeMap
    nozzle: NozzleMap
    now_share: tuple[float, ...]
    now_times_s: tuple[float, ...]
    fill_times_s: tuple[float, ...]


def look(desk: Desk, state: JobState) -> MapLook:
    """Return the map of a job's product on its machine."""
    rig = rig_of(desk, state)
    machine = described(desk, state.known)
    if rig is None:
        return MapLook(
            act=Act(
                stage=Stage.SET_UP,
                what="next",
                order=f"Describe {machine.name} first.",
                why="The map follows from its air cylinder and its wet path.",
                main="Describe it",
            ),
            machine=machine.name,
            is_described=False,
            recharge=None,
            nozzle=None,
            cold=(),
            why=None,
        )
    plan = plan_of(rig)
    read = product_read_c(state)
    now_c = rig.flow.at_c if read is None else float(read)
    timed = state.start.timed
    turns = plan.recharge_turns if timed is None else timed.recharge_turns
    bores = tuple(sorted({float(nozzle.bore_mm) for nozzle in machine.nozzles}))
    maps = _maps(rig, now_c, float(turns), bores)
    return MapLook(
        act=_act(plan, maps),
        machine=machine.name,
        is_described=True,
        recharge=maps.recharge,
        nozzle=maps.nozzle,
        cold=_cold(plan, maps),
        why=_why(rig),
    )


@lru_cache(maxsize=32)
def _maps(rig: Rig, now_c: float, turns: float, owned: tuple[float, ...]) -> _Maps:
    """Work both maps out, once for each rig."""
    temps = now_c + np.linspace(_COLDEST, _WARMEST, _ROWS)
    temps = np.sort(np.append(temps, [now_c, now_c - COLDER_K]))
    temps = np.unique(np.round(np.maximum(temps, 0.0), 2))
    times = np.array([thickness_at(rig.flow, temp) for temp in temps])
    control = rig.air.recharge
    widest = conductance_at(control, float(control.points[-1].open_turns))
    now = conductance_at(control, turns)
    openings = np.append(widest * np.geomspace(0.02, 1.0, _OPENINGS), now)
    openings = openings * rig.recharge_needle_factor
    share, watch = _recharges(rig, times, openings)
    edges = _edges(share[:, :-1], watch[:, :-1], openings[:-1])
    drive = np.where(np.isfinite(watch[:, :-1]), watch[:, :-1], math.inf).min(axis=1)
    here = int(np.argmin(np.abs(temps - now_c)))
    longest = _round_up(2.2 * max(float(watch[here, -1]), _least(edges)))
    nozzle, fills = _nozzles(rig, temps, times, owned, plan_of(rig))
    nozzle = replace(nozzle, now_c=now_c)
    return _Maps(
        recharge=RechargeMap(
            temps_c=tuple(map(float, temps)),
            edges_s=tuple(map(float, edges)),
            drive_s=tuple(map(float, drive)),
            now_s=float(watch[here, -1]),
            now_c=now_c,
            thickness_factors=tuple(map(float, times)),
            longest_s=longest,
            is_full=bool(share[here, -1] >= FULL),
        ),
        nozzle=nozzle,
        now_share=tuple(map(float, share[:, -1])),
        now_times_s=tuple(map(float, watch[:, -1])),
        fill_times_s=fills,
    )


def _recharges(
    rig: Rig, times: NDArray[np.float64], openings: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return how full and how long the recharge is, by thickness and opening."""
    rows, columns = len(times), len(openings)
    table = thickness_tables(suction_of(rig), curve_of(rig.flow), rig.density)(np.log(times))
    lanes = np.repeat(np.arange(rows, dtype=np.intp), columns)
    idle = drive_of(rig, float(openings[0]), rig.air.recharge)
    needles = AirPassage(
        conductance=np.tile(openings, rows), critical_ratio=idle.meter_out.critical_ratio
    )
    drawn = recharge_times(
        replace(idle, meter_out=needles),
        piston_area=rig.piston_area,
        stroke=rig.stroke,
        table=table.take(lanes),
        head=rig.low_head_pressure,
        cavity_pressure=cavity_pa(rig),
        tolerance=_TOLERANCE,
        longest=_LONGEST,
    )
    ends = np.isfinite(drawn.time)
    share = np.where(ends, drawn.fill_fraction, 0.0)
    return share.reshape(rows, columns), drawn.time.reshape(rows, columns)


def _edges(
    share: NDArray[np.float64], watch: NDArray[np.float64], openings: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the shortest recharge that fills, by thickness; infinite where none does."""
    edges = []
    for full, times in zip(share, watch, strict=True):
        ends = np.isfinite(times)
        if not (full >= FULL).any():
            edges.append(math.inf)
            continue
        at = edge_opening(full[ends], openings[ends])
        inside = np.interp(math.log(at), np.log(openings[ends]), np.log(times[ends]))
        edges.append(math.exp(float(inside)))
    return np.array(edges)


def _nozzles(
    rig: Rig,
    temps: NDArray[np.float64],
    times: NDArray[np.float64],
    owned: tuple[float, ...],
    plan: StrokesPlanned,
) -> tuple[NozzleMap, tuple[float, ...]]:
    """Return what nozzles do over the temperatures, and fill times at today's nozzle."""
    now_mm = float(rig.nozzle.bore_mm)
    ends = (0.7 * min(*owned, now_mm), 1.4 * max(*owned, now_mm))
    bores = np.geomspace(*ends, _BORES)
    path = outward_of(rig)
    needle = conductance_at(rig.air.fill, float(plan.fill_turns)) * rig.fill_needle_factor
    # The science wants thickness growing, which is from warm to cold.
    found = stroke_map(
        curve_of(rig.flow),
        thickness=times[::-1],
        times=np.array([1.0]),
        bores=np.array([m_from_mm(bore) for bore in (*bores, now_mm)]),
        density=rig.density,
        suction=suction_of(rig),
        outward=path[:-1],
        nozzle_length=path[-1].length,
        drive=drive_of(rig, needle, rig.air.fill),
        piston_area=rig.piston_area,
        stroke=rig.stroke,
        head=m_from_mm(rig.low_head_mm),
        release_pressure=cavity_pa(rig),
        surface_tension=n_per_m_from_mn_per_m(rig.flow.tension_mn_per_m),
    )
    states = np.where(found.splashes, "splashes", "good")
    states = np.where(found.drips, "drips", states)
    states = np.where(found.stalls, "stalls", states)[::-1]
    picture = NozzleMap(
        temps_c=tuple(map(float, temps)),
        bores_mm=tuple(map(float, bores)),
        states=tuple(tuple(map(str, row[:-1])) for row in states),
        now_mm=now_mm,
        now_c=rig.flow.at_c,
        owned_mm=owned,
    )
    return picture, tuple(map(float, found.fill_time[::-1, -1]))


def _act(plan: StrokesPlanned, maps: _Maps) -> Act:
    """Return the order of the page."""
    picture = maps.recharge
    if not plan.feeds or plan.stalls:
        order, why = "It does not run like this.", "See what Set up says of it."
    elif picture.is_full:
        order = "Today it fills. Leave the recharge alone."
        why = f"It takes {picture.now_s:.1f} s; {_here(picture):.1f} s would do."
    else:
        order = "Today it comes short. Slow the recharge."
        why = f"It takes {picture.now_s:.1f} s; {_needs(_here(picture))}."
    return Act(stage=Stage.SET_UP, what="next", order=order, why=why, main="Back to Set up")


def _needs(edge_s: float) -> str:
    """Return what a full recharge needs."""
    return f"it needs {edge_s:.1f} s" if math.isfinite(edge_s) else "it never fills"


def _here(picture: RechargeMap) -> float:
    """Return the edge at today's temperature."""
    return picture.edges_s[_row(picture.temps_c, picture.now_c)]


def _row(temps_c: tuple[float, ...], temp: float) -> int:
    """Return the row that is nearest to a temperature."""
    return min(range(len(temps_c)), key=lambda place: abs(temps_c[place] - temp))


def _cold(plan: StrokesPlanned, maps: _Maps) -> tuple[str, ...]:
    """Return what happens on a cold morning with today's settings."""
    picture = maps.recharge
    here = _row(picture.temps_c, picture.now_c)
    row = _row(picture.temps_c, picture.now_c - COLDER_K)
    if row == here:
        return ()
    temp = picture.temps_c[row]
    times = picture.thickness_factors[row] / picture.thickness_factors[here]
    colder = f"{picture.now_c - temp:.0f} degrees colder"
    said = [f"At {temp:.0f} °C, {colder}, the product is {times:.2g} times as thick."]
    share, edge = maps.now_share[row], picture.edges_s[row]
    if not math.isfinite(edge):
        said.append("It will not feed at all then: warm it, or put a follower plate on.")
    elif share >= FULL:
        said.append(
            f"The recharge still fills: it takes {maps.now_times_s[row]:.1f} s, and {edge:.1f} s "
            "would do."
        )
    else:
        said.append(
            f"The same {turns_open(plan.recharge_turns)} would leave the cylinder "
            f"{100.0 * (1.0 - share):.0f} % empty, and every jar short by it: {_needs(edge)}. "
            "Slow the recharge, or warm the product first."
        )
    now_s, then_s = maps.fill_times_s[here], maps.fill_times_s[row]
    if not math.isfinite(then_s):
        said.append("The drive cannot push it through this nozzle then: a wider one, or warmth.")
    elif then_s > _SLOWER * now_s:
        said.append(f"A fill takes {then_s:.1f} s instead of {now_s:.1f} s.")
    else:
        said.append("The fill takes no longer: its control holds it, not the product.")
    return tuple(said)


def _why(rig: Rig) -> Why:
    """Return what was taken for granted."""
    flow = rig.flow
    known = "found on this machine" if flow.is_edge_known else "a guess"
    return Why(
        facts=(
            Fact(name="Product", words=flow.words),
            Fact(
                name="Thins as it warms", words=f"ln of thickness goes as {flow.thinning_k:.0f}/T"
            ),
            Fact(name="Air comes out at", words=f"{flow.release_kpa:.0f} kPa, {known}"),
        ),
        assumptions=(
            "Hopper at its low mark, no dwell, air pressure as read.",
            "Splash and drip are advice: containers vary, and a nozzle that cuts off holds.",
            "Yield stress grows as the thickness does.",
        ),
        source=_SOURCE,
    )


def _round_up(value: float) -> float:
    """Return the next round number of seconds."""
    if not math.isfinite(value):
        return _LONGEST
    power = 10.0 ** math.floor(math.log10(max(value, _LEAST_WAIT)))
    return next(
        step * power for step in (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0) if step * power >= value
    )


def _least(edges: NDArray[np.float64]) -> float:
    """Return the shortest of the edges that there are."""
    known = edges[np.isfinite(edges)]
    return float(known.min()) if known.size else 0.0
