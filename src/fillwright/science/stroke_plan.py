"""Where to set a machine to begin: recharge and fill as quick as they may be, by the watch.

Speeds come from the limits at steady speed, times from the air's own dynamics: volume over
speed is wrong by a fifth, because the exhaust side must first empty.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.science.air import AMBIENT, AirPassage
from fillwright.science.drive import AIR, Drive, steady_speed
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.flow_table import FlowTable
from fillwright.science.given import above_zero
from fillwright.science.stroke import GRAVITY
from fillwright.science.stroke_times import discharge_times, recharge_times
from fillwright.science.wet_tables import path_table
from fillwright.science.wetpath import Piece, pressure_loss

__all__ = [
    "FULL",
    "MARGIN",
    "SPEED_MOST",
    "FillPlan",
    "RechargePlan",
    "edge_opening",
    "plan_fill",
    "plan_recharge",
]

MARGIN: Final = 1.5
"""A recharge is planned this many times slower than the edge (a judgement of ours). [1]"""
SPEED_MOST: Final = 0.2
"""A product piston is planned no faster than this (a judgement of ours). [m/s]"""
VELOCITY_MOST: Final = 1.5
"""Product leaves a nozzle no faster than this (a judgement of ours). [m/s]"""
FULL: Final = 0.9995
"""A cylinder that is this full counts as full. [1]"""
CALM: Final = 0.5
"""Below this a fill is not slowed for a splash: containers are no dry plates (judgement). [m/s]"""
_SPLASH: Final = 57.7
_OFF_SPLASH: Final = 0.8
_OPENINGS: Final = 20
_FEWEST: Final = 0.02
_SHORT: Final = 0.985
_TOLERANCE: Final = 0.02
_LONGEST: Final = 300.0
_STEPS: Final = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class RechargePlan:
    """The recharge to begin with.

    Attributes
    ----------
    feeds : bool
        False where suction cannot bring the product at all.
    matters : bool
        True where the drive can outrun the product, so that there is an edge.
    edge : float or None
        Shortest recharge by the watch that still fills; None where the drive is the slower. [s]
    time : float
        Recharge to aim at, by the watch. [s]
    needle : float
        Opening that gives it. [m³/(s·Pa)]
    flow_max : float
        Greatest flow from the hopper. [m³/s]
    needles : ndarray, shape (n,)
        Openings of the needle, nearly shut first. [m³/(s·Pa)]
    times : ndarray, shape (n,)
        Recharge times by the watch at each. [s]
    fill_fractions : ndarray, shape (n,)
        How full the cylinder is after each. [1]
    """

    feeds: bool
    matters: bool
    edge: float | None
    time: float
    needle: float
    flow_max: float
    needles: NDArray[np.float64]
    times: NDArray[np.float64]
    fill_fractions: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class FillPlan:
    """The fill to begin with.

    Attributes
    ----------
    time : float
        Fill by the watch; infinite where it stalls. [s]
    needle : float
        Opening that gives it. [m³/(s·Pa)]
    speed : float
        Steady speed of the piston. [m/s]
    velocity : float
        Velocity at the nozzle at that speed. [m/s]
    held_by : str
        ``"needle"``, ``"product"``, ``"supply"`` or ``"stalled"``.
    reserve : float
        Product pressure that stalls the drive over that of this fill. [1]
    pressure : float
        Product pressure over ambient at steady speed. [Pa]
    """

    time: float
    needle: float
    speed: float
    velocity: float
    held_by: str
    reserve: float
    pressure: float


def plan_recharge(
    table: FlowTable,
    *,
    drive: Drive,
    piston_area: float,
    stroke: float,
    needle_most: float,
    head_pressure: float,
    cavity_pressure: float,
    dwell: float = 0.0,
) -> RechargePlan:
    """Return the recharge to begin with.

    Parameters
    ----------
    table : FlowTable
        Losses from the hopper to the cylinder, one case.
    drive : Drive
        The air drive; its needle is chosen here.
    piston_area : float
        Area of the product piston. [m²]
    stroke : float
        Drawn stroke. [m]
    needle_most : float
        Conductance of the needle when fully open. [m³/(s·Pa)]
    head_pressure : float
        Static pressure of the product above the cylinder. [Pa]
    cavity_pressure : float
        Pressure at which a void opens, absolute. [Pa]
    dwell : float
        Rest at the rear stop before the valve turns. [s]

    Returns
    -------
    RechargePlan
        With the whole curve of how full the cylinder is against the watch.

    Raises
    ------
    BadInput
        If a size is not above zero.
    """
    above_zero(needle_most, "needle_most")
    openings = needle_most * np.geomspace(_FEWEST, 1.0, _OPENINGS)
    drawn = recharge_times(
        _with_needle(drive, openings),
        piston_area=piston_area,
        stroke=stroke,
        table=table.take(np.zeros(_OPENINGS, dtype=np.intp)),
        head=head_pressure,
        cavity_pressure=cavity_pressure,
        dwell=dwell,
        tolerance=_TOLERANCE,
        longest=_LONGEST,
    )
    share = np.where(np.isfinite(drawn.time), drawn.fill_fraction, 0.0)
    flow = float(table.flow(np.array([AMBIENT + head_pressure - cavity_pressure]))[0])
    full = np.flatnonzero(share >= FULL)
    if flow <= 0.0 or not full.size:
        return RechargePlan(
            feeds=False,
            matters=True,
            edge=None,
            time=float("inf"),
            needle=float(openings[0]),
            flow_max=flow,
            needles=openings,
            times=drawn.time,
            fill_fractions=share,
        )
    last = int(full[-1])
    matters = last < _OPENINGS - 1
    edge_at = float(openings[last])
    if matters:
        edge_at = edge_opening(share, openings)
    swift = SPEED_MOST * float(drive.cap_area) / AIR
    chosen = min(edge_at / MARGIN if matters else edge_at, swift)
    chosen = max(chosen, float(openings[0]))
    return RechargePlan(
        feeds=True,
        matters=matters,
        edge=_at(edge_at, openings, drawn.time) if matters else None,
        time=_at(chosen, openings, drawn.time),
        needle=chosen,
        flow_max=flow,
        needles=openings,
        times=drawn.time,
        fill_fractions=share,
    )


def edge_opening(share: NDArray[np.float64], needles: NDArray[np.float64]) -> float:
    """Return the opening of the recharge needle at which the cylinder just fills.

    Parameters
    ----------
    share : ndarray, shape (n,)
        How full the cylinder is at each opening. [1]
    needles : ndarray, shape (n,)
        Openings, nearly shut first. [m³/(s·Pa)]

    Returns
    -------
    float
        The widest opening where none is too wide. [m³/(s·Pa)]

    Notes
    -----
    Past the edge the product comes at its greatest flow while the piston runs as fast as its
    needle lets it: the share that fills goes as one over the opening. The first opening that
    is clearly short tells it best; nearer to full, the steps of the stroke blur it.
    """
    short = np.flatnonzero(share < _SHORT)
    if not short.size:
        return float(needles[-1])
    first = int(short[0])
    return max(float(share[first] * needles[first]), float(needles[0]))


def plan_fill(
    outward: tuple[Piece, ...],
    *,
    curve: FlowCurve,
    density: float,
    surface_tension: float,
    drive: Drive,
    piston_area: float,
    stroke: float,
    needle_most: float,
    rise: float = 0.0,
    velocity_most: float = VELOCITY_MOST,
    is_timed: bool = True,
    table: FlowTable | None = None,
) -> FillPlan:
    """Return the fill to begin with: the quickest that is not likely to splash.

    Parameters
    ----------
    outward : tuple of Piece
        From the cylinder to the nozzle, which is last.
    curve : FlowCurve
        The product.
    density : float
        Its density. [kg/m³]
    surface_tension : float
        Its surface tension. [N/m]
    drive : Drive
        The air drive; its needle is chosen here.
    piston_area : float
        Area of the product piston. [m²]
    stroke : float
        Drawn stroke. [m]
    needle_most : float
        Conductance of the needle when fully open. [m³/(s·Pa)]
    rise : float
        Tip of the nozzle above the cylinder; negative where it is below. [m]
    velocity_most : float
        Velocity that the nozzle is not to pass. [m/s]
    is_timed : bool
        False where the stroke is timed elsewhere, at another opening.
    table : FlowTable, optional
        Losses from the cylinder through the nozzle, where they are known already.

    Returns
    -------
    FillPlan
        Its time is that of a watch; infinite where it was not timed.

    Raises
    ------
    BadInput
        If a size is not above zero.

    Notes
    -----
    Splash on a dry bottom: √We·Re^0.25 above 57.7 (Mundo, Sommerfeld and Tropea, Int. J.
    Multiphase Flow 21, 151, 1995, from memory); four fifths of it are taken, but no less than
    half a metre a second: the correlation is one of drops on a plate.
    """
    bore = float(np.asarray(outward[-1].bore))
    exit_area = np.pi / 4.0 * bore**2
    quick = min(above_zero(velocity_most, "velocity_most"), SPEED_MOST * piston_area / exit_area)
    velocity = _without_splash(outward[-1], quick, curve, density, surface_tension)
    wanted = velocity * exit_area / piston_area
    needle = min(max(wanted * float(drive.rod_area) / AIR, _FEWEST * needle_most), needle_most)
    chosen = _with_needle(drive, np.array([needle]))
    lift = density * GRAVITY * rise
    lost = path_table(outward, curve, density) if table is None else table
    steady = steady_speed(chosen, piston_area, lambda flow: lost.loss(flow) + lift)
    time = float("inf")
    if is_timed:
        time = float(
            discharge_times(
                chosen,
                piston_area=piston_area,
                stroke=stroke,
                table=lost,
                head=lift,
                tolerance=_TOLERANCE,
                longest=_LONGEST,
            ).time[0]
        )
    speed, load = float(steady.speed[0]), float(steady.load[0])
    most = float(np.asarray(drive.pressure_to_stall(piston_area)))
    return FillPlan(
        time=time,
        needle=needle,
        speed=speed,
        velocity=speed * piston_area / exit_area,
        held_by=str(steady.held_by[0]),
        reserve=most / load if load > 0.0 else float("inf"),
        pressure=load,
    )


def _without_splash(
    nozzle: Piece, quick: float, curve: FlowCurve, density: float, surface_tension: float
) -> float:
    """Return the greatest velocity up to `quick` without a likely splash, or a calm one."""
    bore = float(np.asarray(nozzle.bore))
    speeds = quick * np.linspace(1.0 / _STEPS, 1.0, _STEPS)
    flow = speeds * np.pi / 4.0 * bore**2
    numbers = pressure_loss((nozzle,), flow, curve, density).reynolds[0]
    weber = density * speeds**2 * bore / surface_tension
    calm = np.sqrt(weber) * numbers**0.25 <= _OFF_SPLASH * _SPLASH
    least = min(CALM, quick)
    return max(float(speeds[np.flatnonzero(calm)[-1]]), least) if calm.any() else least


def _at(opening: float, openings: NDArray[np.float64], times: NDArray[np.float64]) -> float:
    """Return the time at an opening between those that were run."""
    known = np.isfinite(times)
    return float(np.exp(np.interp(np.log(opening), np.log(openings[known]), np.log(times[known]))))


def _with_needle(drive: Drive, conductance: NDArray[np.float64]) -> Drive:
    """Return the drive with other openings of its needle."""
    passage = AirPassage(conductance=conductance, critical_ratio=drive.meter_out.critical_ratio)
    return replace(drive, meter_out=passage)
