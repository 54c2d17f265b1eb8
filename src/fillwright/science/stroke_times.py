"""Times of a stroke with the air's own dynamics: two air pressures, piston place, void.

The product flows as its flow table says at each moment; mass of the piston and stretch of the
liquid are left out. All cases run side by side, each with steps of its own length.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.science.drive import Drive
from fillwright.science.flow_table import FlowTable
from fillwright.science.given_many import all_from_zero
from fillwright.science.stroke_lanes import lanes_at_start, run

__all__ = [
    "FINE",
    "LONGEST",
    "ROUGH",
    "Recharged",
    "StrokeTimes",
    "discharge_times",
    "recharge_times",
]

Numbers = float | NDArray[np.float64]

FINE: Final = 0.004
LONGEST: Final = 3600.0
"""A stroke that is not done by then is given up. [s]"""
ROUGH: Final = 0.04


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokeTimes:
    """How strokes went.

    Attributes
    ----------
    time : ndarray, shape (n,)
        From the turn of the air valve to the stop; infinite where it never gets there. [s]
    delay : ndarray, shape (n,)
        Until the first hundredth of the stroke is done. [s]
    jump : ndarray, shape (n,)
        Until a void at the beginning has closed; zero without one. [s]
    swept : ndarray, shape (n,)
        Share of the stroke that was done. [1]
    """

    time: NDArray[np.float64]
    delay: NDArray[np.float64]
    jump: NDArray[np.float64]
    swept: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Recharged:
    """How recharges went.

    Attributes
    ----------
    time : ndarray, shape (n,)
        From the turn of the air valve to the rear stop; infinite where it stands still. [s]
    delay : ndarray, shape (n,)
        Until the first hundredth of the stroke is done. [s]
    fill_fraction : ndarray, shape (n,)
        Share of the cylinder that is full of product after the dwell. [1]
    void : ndarray, shape (n,)
        What is left empty after the dwell. [m³]
    """

    time: NDArray[np.float64]
    delay: NDArray[np.float64]
    fill_fraction: NDArray[np.float64]
    void: NDArray[np.float64]


def discharge_times(
    drive: Drive,
    *,
    piston_area: Numbers,
    stroke: Numbers,
    table: FlowTable,
    head: Numbers = 0.0,
    void: Numbers = 0.0,
    tolerance: float = FINE,
    longest: float = LONGEST,
) -> StrokeTimes:
    """Return how long the product takes out of the cylinder.

    Parameters
    ----------
    drive : Drive
        The air drive with its fill needle; cap side at ambient, rod side at supply.
    piston_area : float or ndarray
        Area of the product piston. [m²]
    stroke : float or ndarray
        Drawn stroke. [m]
    table : FlowTable
        Losses from the cylinder to the nozzle, one case or one for each stroke.
    head : float or ndarray
        Static pressure that the product has to be lifted by; negative where it falls. [Pa]
    void : float or ndarray
        Volume left empty by the recharge, closed before any product is pushed. [m³]
    tolerance : float
        How far a state may move in one step, as a share of itself. [1]
    longest : float
        Time after which a stroke is given up as one that stands still. [s]

    Returns
    -------
    StrokeTimes
        One entry for each stroke.

    Raises
    ------
    BadInput
        If an area or stroke is not above zero, or a void is negative or more than the stroke.
    """
    lanes = lanes_at_start(drive, piston_area, stroke, table, forward=True)
    hollow = np.broadcast_to(all_from_zero(void, "void"), lanes.area.shape).copy()
    if (hollow > lanes.area * lanes.stroke * (1.0 + 1e-9)).any():
        raise BadInput(
            f"void is {1e6 * hollow.max():g} mL, more than the stroke sweeps.",
            field="void",
            given=float(hollow.max()),
            allowed="up to area times stroke",
            code="inconsistent",
        )
    lanes = replace(lanes, head=np.broadcast_to(-np.asarray(head), lanes.area.shape).copy())
    lanes.void = hollow
    track = run(lanes, tolerance, opens=False, longest=longest)
    return StrokeTimes(time=track.time, delay=track.delay, jump=track.jump, swept=track.swept)


def recharge_times(
    drive: Drive,
    *,
    piston_area: Numbers,
    stroke: Numbers,
    table: FlowTable,
    head: Numbers = 0.0,
    cavity_pressure: Numbers,
    dwell: Numbers = 0.0,
    tolerance: float = FINE,
    longest: float = LONGEST,
) -> Recharged:
    """Return how long the recharge takes, and how full the cylinder is after it.

    Parameters
    ----------
    drive : Drive
        The air drive with its recharge needle; rod side at ambient, cap side at supply.
    piston_area : float or ndarray
        Area of the product piston. [m²]
    stroke : float or ndarray
        Drawn stroke. [m]
    table : FlowTable
        Losses from the hopper to the cylinder, one case or one for each stroke.
    head : float or ndarray
        Static pressure of the product standing above the cylinder. [Pa]
    cavity_pressure : float or ndarray
        Absolute pressure at which a void opens in the product. [Pa]
    dwell : float or ndarray
        Rest at the rear stop before the valve turns. [s]
    tolerance : float
        How far a state may move in one step, as a share of itself. [1]
    longest : float
        Time after which a stroke is given up as one that stands still. [s]

    Returns
    -------
    Recharged
        One entry for each stroke.

    Raises
    ------
    BadInput
        If an area or stroke is not above zero.

    Notes
    -----
    Where the product cannot follow, it comes at its greatest flow and the rest is void; in
    the dwell it goes on coming.
    """
    lanes = lanes_at_start(drive, piston_area, stroke, table, forward=False)
    shape = lanes.area.shape
    static = np.broadcast_to(np.asarray(head, dtype=np.float64), shape).copy()
    holds = np.broadcast_to(drive.ambient - np.asarray(cavity_pressure), shape)
    lanes = replace(
        lanes,
        head=static,
        pin=holds * lanes.area * lanes.growth,
        refill=lanes.table.flow(holds + static),
    )
    refill, full = lanes.refill.copy(), lanes.area * lanes.stroke
    track = run(lanes, tolerance, opens=True, longest=longest)
    rest = np.broadcast_to(all_from_zero(dwell, "dwell"), shape)
    void = np.where(np.isfinite(track.time), np.maximum(track.void - refill * rest, 0.0), np.nan)
    return Recharged(
        time=track.time, delay=track.delay, fill_fraction=1.0 - void / full, void=void
    )
