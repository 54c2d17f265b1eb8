"""What flows: the fastest full recharge, the fill and what holds it, the fastest clean fill.

Each figure comes from whole arrays, one row for every end of an input's range; the nearest
thing that would do is found backwards, all rules being monotone in one variable.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.science.drive import Drive, HeldBy, steady_speed
from fillwright.science.flow_table import FlowTable
from fillwright.science.match_lanes import Rows
from fillwright.science.match_types import Case, Hopper, Nozzle, Product, ProductCylinder
from fillwright.science.stroke import GRAVITY, RechargeLimit, recharge_limit
from fillwright.science.stroke_times import discharge_times
from fillwright.science.wet_tables import path_table
from fillwright.science.wetpath import Piece, pressure_loss

__all__ = [
    "FOAM_WEBER",
    "LEAST_GAUGE",
    "Discharged",
    "Recharges",
    "clean_flow",
    "discharges",
    "fastest_recharge",
    "losses",
    "recharges",
    "scale_for",
    "through",
    "with_outlet",
]

FOAM_WEBER: Final = 50.0
"""Above this Weber number a product that foams does so (judgement). [1]"""
LEAST_GAUGE: Final = 5e5
"""Air that a match must get along with, over the air around. [Pa]"""
_SPLASH: Final = 57.7
_POINTS: Final = 200
_CLEAN_GRIDS, _CLEAN_EACH = 6, 17
_LEAST_FLOW, _MOST_FLOW = 1e-9, 3e-2
_TOLERANCE: Final = 0.04
_LONGEST: Final = 600.0
_MOST_SCALE: Final = 8.0
_GRIDS: Final = 3
_EACH: Final = 33


@dataclass(frozen=True, slots=True, kw_only=True)
class Recharges:
    """The recharge in every row.

    Attributes
    ----------
    fastest : ndarray
        Shortest time that still fills, at steady speed; infinite where it will not feed. [s]
    flow_max : ndarray
        Flow at which a void opens. [m³/s]
    feeds : bool
        Whether it feeds as given.
    limiting : str
        What limits it as given: a ``Limiting``.
    worst_piece : int
        Piece of the path with the greatest share of the loss, from 0.
    """

    fastest: NDArray[np.float64]
    flow_max: NDArray[np.float64]
    feeds: bool
    limiting: str
    worst_piece: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Discharged:
    """The fill in every row.

    Attributes
    ----------
    time : ndarray
        Time of one stroke by the watch; infinite where it stalls. [s]
    reserve : ndarray
        Product pressure that stalls the drive over that at its steady speed; zero where it
        stalls. [1]
    pressure : ndarray
        Product pressure at steady speed, over the air around. [Pa]
    speed : ndarray
        Steady speed of the piston. [m/s]
    held_by : str
        What holds the speed as given: a ``HeldBy``.
    stall_pressure : ndarray
        Pressure that the drive can make in the product. [Pa]
    """

    time: NDArray[np.float64]
    reserve: NDArray[np.float64]
    pressure: NDArray[np.float64]
    speed: NDArray[np.float64]
    held_by: str
    stall_pressure: NDArray[np.float64]


def with_outlet(path: tuple[Piece, ...], hopper: Hopper | None) -> tuple[Piece, ...]:
    """Return the suction path with the outlet of a hopper as the bore of its first piece."""
    if hopper is None or not path:
        return path
    return (replace(path[0], bore=hopper.outlet_bore), *path[1:])


def through(path: tuple[Piece, ...], nozzle: Nozzle) -> tuple[Piece, ...]:
    """Return the outward path with a nozzle's bore as that of its last piece."""
    return (*path[:-1], replace(path[-1], bore=nozzle.bore))


def recharges(
    product: Product,
    rows: Rows,
    path: tuple[Piece, ...],
    *,
    swept: NDArray[np.float64],
    head: float,
) -> Recharges:
    """Return the fastest recharge that still fills, in every row.

    Parameters
    ----------
    product : Product
        What is filled.
    rows : Rows
        Inputs and their ends.
    path : tuple of Piece
        From the hopper to the cylinder.
    swept : ndarray
        Volume of one stroke. [m³]
    head : float
        Product above the cylinder's axis. [m]

    Returns
    -------
    Recharges
        One entry a row.
    """
    found = _limit(product, rows, path, swept, head)
    flow = float(found.flow_max[0])
    lost = pressure_loss(path, flow, product.curve, product.density).by_piece
    return Recharges(
        fastest=found.fastest,
        flow_max=found.flow_max,
        feeds=flow > 0.0,
        limiting=str(found.limiting[0]),
        worst_piece=int(np.argmax(lost.reshape(len(path)))),
    )


def losses(product: Product, rows: Rows, path: tuple[Piece, ...]) -> FlowTable:
    """Return the losses of a path in every row.

    Parameters
    ----------
    product : Product
        What is filled.
    rows : Rows
        Inputs and their ends.
    path : tuple of Piece
        In the order of the flow.

    Returns
    -------
    FlowTable
        A case for each row.
    """
    return path_table(path, rows.curve(product.curve), product.density, points=_POINTS)


def discharges(
    product: Product,
    rows: Rows,
    path: tuple[Piece, ...],
    cylinder: ProductCylinder,
    drive: Drive,
    *,
    stroke_volume: NDArray[np.float64],
    rise: float = 0.0,
    with_times: bool = True,
    table: FlowTable | None = None,
) -> Discharged:
    """Return how the fill goes, in every row.

    Parameters
    ----------
    product : Product
        What is filled.
    rows : Rows
        Inputs and their ends.
    path : tuple of Piece
        From the cylinder to the nozzle, which is last.
    cylinder : ProductCylinder
        The product cylinder, its bore known.
    drive : Drive
        The air drive; the rows change its supply.
    stroke_volume : ndarray
        Volume of one stroke. [m³]
    rise : float
        Tip of the nozzle above the cylinder's axis. [m]
    with_times : bool
        Whether to run the strokes with the air's dynamics, too.
    table : FlowTable, optional
        Losses of the path in every row, where they are known already.

    Returns
    -------
    Discharged
        One entry a row; times are infinite where they were not asked for.
    """
    supplied = replace(drive, supply_pressure=np.asarray(drive.supply_pressure) + rows.gauge)
    area = math.pi / 4.0 * (cylinder.bore or 0.0) ** 2
    if table is None:
        table = losses(product, rows, path)
    lift = product.density * GRAVITY * rise
    lost = table.loss
    steady = steady_speed(supplied, area, lambda flow: lost(flow) + lift)
    stall = np.broadcast_to(supplied.pressure_to_stall(area), steady.load.shape)
    stalled = steady.held_by == HeldBy.STALLED.value
    load = np.maximum(steady.load, 1.0)
    time = np.full(load.shape, np.inf)
    if with_times and not stalled[0]:
        run = discharge_times(
            supplied,
            piston_area=area,
            stroke=stroke_volume / area,
            table=table,
            head=lift,
            tolerance=_TOLERANCE,
            longest=_LONGEST,
        )
        time = run.time
    return Discharged(
        time=time,
        reserve=np.where(stalled, 0.0, stall / load),
        pressure=steady.load,
        speed=steady.speed,
        held_by=str(steady.held_by[0]),
        stall_pressure=np.asarray(stall),
    )


def clean_flow(case: Case, rows: Rows, bore: float) -> NDArray[np.float64]:
    """Return the greatest flow that neither splashes nor, where it foams, foams.

    Parameters
    ----------
    case : Case
        The case; its surface tension is known.
    rows : Rows
        Inputs and their ends.
    bore : float
        Bore of the nozzle. [m]

    Returns
    -------
    ndarray
        Flow in every row; infinite where no flow splashes. [m³/s]

    Notes
    -----
    Splash on a dry bottom: √We·Re^0.25 above 57.7 (Mundo, Sommerfeld and Tropea, Int. J.
    Multiphase Flow 21, 151, 1995, from memory: drops on a wall, so advice and no more). Foam:
    We above 50 (judgement).
    """
    product = case.product
    curve = rows.curve(product.curve)
    piece = (Piece(bore=bore, length=1.0),)

    tension = rows.tension[:, np.newaxis]

    def marks(flow: NDArray[np.float64]) -> NDArray[np.bool_]:
        velocity = 4.0 * flow / (math.pi * bore**2)
        weber = product.density * velocity**2 * bore / tension
        number = pressure_loss(piece, flow, curve, product.density).reynolds[0]
        splashes = np.sqrt(weber) * number**0.25 > _SPLASH
        return np.asarray(splashes | ((weber > FOAM_WEBER) & case.product.is_foaming))

    # Ever finer grids, all rows at once: a few wide calls cost less than many narrow ones.
    low = np.full(rows.dose.shape, math.log(_LEAST_FLOW))
    high = np.full(rows.dose.shape, math.log(_MOST_FLOW))
    never = ~marks(np.exp(high)[:, np.newaxis])[:, 0]
    lanes = np.arange(len(low))
    for _ in range(_CLEAN_GRIDS):
        tried = np.linspace(low, high, _CLEAN_EACH, axis=1)
        first = np.argmax(marks(np.exp(tried)), axis=1)
        low, high = tried[lanes, np.maximum(first - 1, 0)], tried[lanes, first]
    return np.asarray(np.where(never, np.inf, np.exp(low)))


def fastest_recharge(
    product: Product,
    rows: Rows,
    path: tuple[Piece, ...],
    *,
    swept: NDArray[np.float64],
    head: float,
) -> NDArray[np.float64]:
    """Return the shortest recharge that still fills, in every row.

    Parameters
    ----------
    product : Product
        What is filled.
    rows : Rows
        Inputs and their ends.
    path : tuple of Piece
        From the hopper to the cylinder; bores may be columns.
    swept : ndarray
        Volume of one stroke. [m³]
    head : float
        Product above the cylinder's axis. [m]

    Returns
    -------
    ndarray
        Time at steady speed; infinite where it will not feed. [s]
    """
    return _limit(product, rows, path, swept, head).fastest


def scale_for(
    does: Callable[[NDArray[np.float64]], NDArray[np.bool_]], *, grows: bool = True
) -> float | None:
    """Return the factor nearest to 1 at which something does, on ever finer grids in ln.

    Parameters
    ----------
    does : callable
        Takes factors and tells of each whether it would do; it turns once.
    grows : bool
        Whether the factor goes up from 1, or down.

    Returns
    -------
    float or None
        None where not even eight times does, or an eighth of an eighth of an eighth. [1]
    """
    near, far = 0.0, math.log(_MOST_SCALE) * (1.0 if grows else -3.0)
    for _ in range(_GRIDS):
        tried = np.linspace(near, far, _EACH)
        good = does(np.exp(tried))
        if not good[-1]:
            return None
        first = int(np.argmax(good))
        near, far = float(tried[max(first - 1, 0)]), float(tried[first])
    return math.exp(far)


def _limit(
    product: Product,
    rows: Rows,
    path: tuple[Piece, ...],
    swept: NDArray[np.float64],
    head: float,
) -> RechargeLimit:
    """Return the limit of the recharge in every row."""
    return recharge_limit(
        losses(product, rows, path),
        swept=swept,
        head_pressure=product.density * GRAVITY * head,
        vapour_pressure=product.vapour_pressure,
        release_pressure=rows.release,
    )
