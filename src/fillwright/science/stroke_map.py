"""The map of a product on a machine: what fills, stalls, splashes and drips, and where.

Viscosity against recharge time and nozzle. The limits know only the viscosity, speed and fill
time only viscosity and nozzle, so a map of many cells needs few strokes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.science.drive import Drive, HeldBy, steady_speed
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.flow_table import FlowTable, flow_table
from fillwright.science.given_many import all_above_zero
from fillwright.science.stroke import GRAVITY, RELEASE_PRESSURE, fill_fraction, recharge_limit
from fillwright.science.stroke_times import discharge_times
from fillwright.science.wet_tables import path_table
from fillwright.science.wetpath import Piece, pressure_loss

__all__ = ["StrokeMap", "stroke_map"]

_POINTS: Final = 160
_TOLERANCE: Final = 0.02
_BLOCK: Final = 4_000
_SPLASH: Final = 57.7
_HOLDS: Final = 3.682
_LONGEST: Final = 600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokeMap:
    """The map, by viscosity (v), recharge time (t) and nozzle (b).

    Attributes
    ----------
    flow_max : ndarray, shape (v,)
        Greatest flow from the hopper. [m³/s]
    fill_fraction : ndarray, shape (v, t)
        Share of the cylinder that is full. [1]
    speed : ndarray, shape (v, b)
        Steady speed of the fill. [m/s]
    fill_time : ndarray, shape (v, b)
        Fill by the watch; infinite where it stalls. [s]
    exit_velocity : ndarray, shape (v, b)
        Velocity at the nozzle at steady speed. [m/s]
    fills : ndarray of bool, shape (v, t)
        True where the recharge fills the cylinder.
    stalls : ndarray of bool, shape (v, b)
        True where the piston does not move.
    splashes : ndarray of bool, shape (v, b)
        True where a splash on a dry bottom is likely; advice, containers vary.
    drips : ndarray of bool, shape (v, b)
        True where an open nozzle does not hold the product.
    """

    flow_max: NDArray[np.float64]
    fill_fraction: NDArray[np.float64]
    speed: NDArray[np.float64]
    fill_time: NDArray[np.float64]
    exit_velocity: NDArray[np.float64]
    fills: NDArray[np.bool_]
    stalls: NDArray[np.bool_]
    splashes: NDArray[np.bool_]
    drips: NDArray[np.bool_]

    def suits(self) -> NDArray[np.bool_]:
        """Return where all is well, for every cell.

        Returns
        -------
        ndarray of bool, shape (v, t, b)
            True where it fills and neither stalls, splashes nor drips.
        """
        clean = ~(self.stalls | self.splashes | self.drips)
        return np.asarray(self.fills[:, :, np.newaxis] & clean[:, np.newaxis, :])


def stroke_map(
    curve: FlowCurve,
    *,
    thickness: NDArray[np.float64],
    times: NDArray[np.float64],
    bores: NDArray[np.float64],
    density: float,
    suction: tuple[Piece, ...],
    outward: tuple[Piece, ...],
    nozzle_length: float,
    drive: Drive,
    piston_area: float,
    stroke: float,
    head: float = 0.25,
    release_pressure: float = RELEASE_PRESSURE,
    surface_tension: float = 0.03,
    dwell: float = 0.0,
) -> StrokeMap:
    """Return what a machine does with a product over viscosity, recharge time and nozzle.

    Parameters
    ----------
    curve : FlowCurve
        The product at reference.
    thickness : ndarray, shape (v,)
        How many times as thick as at reference. [1]
    times : ndarray, shape (t,)
        Recharge times at steady speed. [s]
    bores : ndarray, shape (b,)
        Bores of the nozzle. [m]
    density : float
        Density of the product. [kg/m³]
    suction : tuple of Piece
        From the hopper to the cylinder.
    outward : tuple of Piece
        From the cylinder to the nozzle, which comes behind it.
    nozzle_length : float
        Length of the nozzle. [m]
    drive : Drive
        The air drive with its fill needle.
    piston_area : float
        Area of the product piston. [m²]
    stroke : float
        Drawn stroke. [m]
    head : float
        Product above the cylinder's axis. [m]
    release_pressure : float
        Pressure at which air comes out. [Pa]
    surface_tension : float
        Surface tension of the product. [N/m]
    dwell : float
        Rest before the valve turns. [s]

    Returns
    -------
    StrokeMap
        Fill times with the air's dynamics, within a hundredth of a fine run.

    Raises
    ------
    BadInput
        If a thickness, time or bore is not above zero.

    Notes
    -----
    Splash on a dry bottom: √We·Re^0.25 above 57.7 (Mundo, Sommerfeld and Tropea, Int. J.
    Multiphase Flow 21, 151, 1995, from memory). Drip: bore over 3.682 √(σ/ρg) and too little
    yield stress for a plug (from memory).
    """
    times_as = all_above_zero(thickness, "thickness")
    waits = all_above_zero(times, "times")
    wide = all_above_zero(bores, "bores")
    start, consistency, index = (float(figure) for figure in curve.figures)
    many = times_as[:, np.newaxis]
    thin_to_thick = FlowCurve(
        yield_stress=start * many, consistency=consistency * many, index=index
    )
    swept = piston_area * stroke
    limit = recharge_limit(
        path_table(suction, thin_to_thick, density, points=_POINTS),
        swept=swept,
        head_pressure=density * GRAVITY * head,
        release_pressure=release_pressure,
    )
    share = fill_fraction(
        limit.flow_max[:, np.newaxis], swept=swept, time=waits[np.newaxis, :], dwell=dwell
    )
    shape = (len(times_as), len(wide))
    each, nozzle = np.repeat(times_as, len(wide)), np.tile(wide, len(times_as))
    speed, time, stalls = (np.empty(len(each)) for _ in range(3))
    numbers = np.empty(len(each))
    for begin in range(0, len(each), _BLOCK):
        part = slice(begin, begin + _BLOCK)
        thick, bore = each[part, np.newaxis], nozzle[part, np.newaxis]
        one = FlowCurve(yield_stress=start * thick, consistency=consistency * thick, index=index)
        last = Piece(bore=bore, length=nozzle_length)
        table = _outward_table(outward, last, thin_to_thick, one, density, each[part], times_as)
        steady = steady_speed(drive, piston_area, table.loss)
        run = discharge_times(
            drive,
            piston_area=piston_area,
            stroke=stroke,
            table=table,
            tolerance=_TOLERANCE,
            longest=_LONGEST,
        )
        speed[part], time[part] = steady.speed, run.time
        stalls[part] = steady.held_by == HeldBy.STALLED.value
        flow = piston_area * steady.speed[:, np.newaxis]
        numbers[part] = pressure_loss((last,), flow, one, density).reynolds[0, :, 0]
    velocity = piston_area * speed / (np.pi / 4.0 * nozzle**2)
    weber = density * velocity**2 * nozzle / surface_tension
    loose = nozzle > _HOLDS * np.sqrt(surface_tension / (density * GRAVITY))
    plug = start * each >= density * GRAVITY * nozzle / 4.0
    return StrokeMap(
        flow_max=limit.flow_max,
        fill_fraction=share,
        speed=speed.reshape(shape),
        fill_time=time.reshape(shape),
        exit_velocity=velocity.reshape(shape),
        fills=share >= 1.0,
        stalls=stalls.reshape(shape).astype(bool),
        splashes=(np.sqrt(weber) * numbers**0.25 > _SPLASH).reshape(shape),
        drips=(loose & ~plug).reshape(shape),
    )


def _outward_table(
    outward: tuple[Piece, ...],
    last: Piece,
    rows: FlowCurve,
    each: FlowCurve,
    density: float,
    thickness: NDArray[np.float64],
    known: NDArray[np.float64],
) -> FlowTable:
    """Return the table of path and nozzle; the path is worked out once for each thickness."""
    where = np.searchsorted(known, thickness) if np.all(np.diff(known) > 0.0) else None

    def loss(flow: NDArray[np.float64]) -> NDArray[np.float64]:
        nozzle = pressure_loss((last,), flow, each, density).total
        if where is None:
            return nozzle + pressure_loss(outward, flow, each, density, leaves=False).total
        common = pressure_loss(outward, flow, rows, density, leaves=False).total
        return np.asarray(nozzle + common[where])

    return flow_table(loss, points=_POINTS)
