"""Strokes of a simulated machine, computed once on a lattice of conditions and read between.

From cycle to cycle warmth, setting, air pressure and hopper level move a little; both strokes
are computed at the corners round the condition and interpolated.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.science.air import AirPassage
from fillwright.science.drive import Drive
from fillwright.science.flow_table import FlowTable
from fillwright.science.stroke import GRAVITY
from fillwright.science.stroke_times import discharge_times, recharge_times

__all__ = ["COLUMNS", "Conditions", "StrokeLattice", "WetEnd", "strokes_of"]

TWIN_TOLERANCE: Final = 0.006
COLUMNS: Final = (
    "recharge_time", "fill_fraction", "void", "fill_time", "fill_delay", "jump", "swept",
    "pressure",
)  # fmt: skip
_STEPS: Final = np.array([1.0 / 200.0, 1.0 / 100.0, 1.0 / 100.0, 0.05])
_DIMENSIONS: Final = len(_STEPS)
# Corners that a machine is likely to come to next: warmth, setting, supply, level. A trim moves
# the setting by some per cent.
_REACH: Final = np.array([1, 8, 1, 2])
_ON_NODE: Final = 1e-9
_LONGEST: Final = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WetEnd:
    """What the strokes of a machine with a product depend on, at its reference condition.

    Attributes
    ----------
    piston_area : float
        Area of the product piston. [m²]
    stroke : float
        Drawn stroke. [m]
    drive : Drive
        Air drive with its fill needle.
    recharge_needle : AirPassage
        Needle that sets the recharge.
    suction : callable
        Takes ln of the thickness over that at reference [1], shape (n,); returns the losses
        from the hopper as a ``FlowTable`` of n cases.
    discharge : callable
        The same from the cylinder to the nozzle.
    density : float
        Density of the product. [kg/m³]
    head : float
        Height of the product above the cylinder's axis. [m]
    rise : float
        Height of the nozzle's tip above it. [m]
    cavity_pressure : float
        Absolute pressure at which a void opens. [Pa]
    dwell : float
        Rest at the rear stop. [s]
    """

    piston_area: float
    stroke: float
    drive: Drive
    recharge_needle: AirPassage
    suction: Callable[[NDArray[np.float64]], FlowTable]
    discharge: Callable[[NDArray[np.float64]], FlowTable]
    density: float
    head: float = 0.25
    rise: float = 0.0
    cavity_pressure: float = 20_000.0
    dwell: float = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """Conditions of some cycles, one entry a cycle.

    Attributes
    ----------
    thickness : ndarray, shape (n,)
        ln of the thickness over that at reference. [1]
    stroke : ndarray, shape (n,)
        Drawn stroke. [m]
    supply : ndarray, shape (n,)
        Supply pressure, absolute. [Pa]
    head : ndarray, shape (n,)
        Height of the product above the cylinder's axis. [m]
    """

    thickness: NDArray[np.float64]
    stroke: NDArray[np.float64]
    supply: NDArray[np.float64]
    head: NDArray[np.float64]


class StrokeLattice:
    """Both strokes of one wet end, kept for the conditions they were computed at.

    Parameters
    ----------
    wet : WetEnd
        The machine with its product; its own condition is a point of the lattice.
    """

    def __init__(self, wet: WetEnd) -> None:
        self.wet = wet
        self._known: dict[tuple[int, ...], NDArray[np.float64]] = {}

    def corners(self, conditions: Conditions) -> list[tuple[tuple[tuple[int, ...], float], ...]]:
        """Return, for each cycle, the lattice points round it and their weights.

        Parameters
        ----------
        conditions : Conditions
            Where to look.

        Returns
        -------
        list of tuple
            A point has one whole number for each of thickness, stroke, supply and head; its
            weight is a share. [1]
        """
        wet = self.wet
        place = np.stack(
            [
                conditions.thickness,
                np.log(conditions.stroke / wet.stroke),
                np.log(conditions.supply / np.asarray(wet.drive.supply_pressure)),
                conditions.head - wet.head,
            ],
            axis=1,
        )
        return [_round_about(row) for row in (place / _STEPS).tolist()]

    def missing(
        self, corners: list[tuple[tuple[tuple[int, ...], float], ...]]
    ) -> list[tuple[int, ...]]:
        """Return the points among some corners that are not computed yet.

        Parameters
        ----------
        corners : list of tuple
            As ``corners`` gives them. [1]

        Returns
        -------
        list of tuple of int
            Each once.
        """
        wanted = {point: None for cycle in corners for point, _ in cycle}
        return [point for point in wanted if point not in self._known]

    def reach(self, conditions: Conditions) -> None:
        """Compute the strokes round some conditions at once, where one of them is new.

        Parameters
        ----------
        conditions : Conditions
            Where the machine is now; a machine that goes on from cycle to cycle stays near.

        Notes
        -----
        Side by side a few hundred strokes cost little more than one.
        """
        new = self.missing(self.corners(conditions))
        if new:
            low = np.min(new, axis=0) - _REACH
            high = np.max(new, axis=0) + _REACH
            block = product(*(range(a, b + 1) for a, b in zip(low, high, strict=True)))
            # Its own condition too: what is slow is told by that.
            wanted = dict.fromkeys([(0,) * _DIMENSIONS, *block])
            points = [point for point in wanted if point not in self._known]
            self.keep(points, _computed([self.wet], [points])[0])

    def keep(self, points: list[tuple[int, ...]], rows: NDArray[np.float64]) -> None:
        """Keep the strokes at some points.

        Parameters
        ----------
        points : list of tuple of int
            Which.
        rows : ndarray, shape (n, len(COLUMNS))
            Their strokes, in the units of ``COLUMNS``. [unit of the column]
        """
        self._known.update(zip(points, rows, strict=True))

    def read(
        self, corners: list[tuple[tuple[tuple[int, ...], float], ...]]
    ) -> dict[str, NDArray[np.float64]]:
        """Return the strokes of each cycle between its corners.

        Parameters
        ----------
        corners : list of tuple
            As ``corners`` gives them; all computed. [1]

        Returns
        -------
        dict of str to ndarray
            A row of figures for each of ``COLUMNS``. [unit of the column]
        """
        rows = np.array(
            [
                np.sum([weight * self._known[point] for point, weight in cycle], axis=0)
                for cycle in corners
            ]
        )
        return dict(zip(COLUMNS, rows.T, strict=True))


def strokes_of(
    lattices: Sequence[StrokeLattice], conditions: Sequence[Conditions]
) -> list[dict[str, NDArray[np.float64]]]:
    """Return both strokes of the cycles of many machines, computed side by side.

    Parameters
    ----------
    lattices : sequence of StrokeLattice
        One for each machine; what is new is kept in them.
    conditions : sequence of Conditions
        The cycles of each.

    Returns
    -------
    list of dict
        For each machine a row of figures for each of ``COLUMNS``. [unit of the column]
    """
    corners = [
        lattice.corners(wanted) for lattice, wanted in zip(lattices, conditions, strict=True)
    ]
    new = [lattice.missing(cycle) for lattice, cycle in zip(lattices, corners, strict=True)]
    busy = [place for place, points in enumerate(new) if points]
    if busy:
        rows = _computed([lattices[place].wet for place in busy], [new[place] for place in busy])
        for place, part in zip(busy, rows, strict=True):
            lattices[place].keep(new[place], part)
    return [lattice.read(cycle) for lattice, cycle in zip(lattices, corners, strict=True)]


def _round_about(place: list[float]) -> tuple[tuple[tuple[int, ...], float], ...]:
    """Return the corners of the cell that a place lies in, with their weights."""
    found: list[tuple[tuple[int, ...], float]] = [((), 1.0)]
    for value in place:
        low = math.floor(value + _ON_NODE)
        share = value - low
        ends = [(low, 1.0)] if abs(share) <= _ON_NODE else [(low, 1.0 - share), (low + 1, share)]
        found = [((*point, at), weight * part) for point, weight in found for at, part in ends]
    return tuple(found)


def _computed(
    ends: list[WetEnd], points: list[list[tuple[int, ...]]]
) -> list[NDArray[np.float64]]:
    """Return the strokes at the points of all machines, run in lock step."""
    sizes = [len(part) for part in points]
    owner = np.repeat(np.arange(len(ends)), sizes)
    place = np.array([point for part in points for point in part]).reshape(-1, _DIMENSIONS)
    offset = place * _STEPS

    def each(figures: list[float]) -> NDArray[np.float64]:
        return np.array(figures, dtype=np.float64)[owner]

    drive = _joined([wet.drive for wet in ends], owner)
    drive = replace(drive, supply_pressure=drive.supply_pressure * np.exp(offset[:, 2]))
    back = _passages([wet.recharge_needle for wet in ends], owner)
    stroke = each([wet.stroke for wet in ends]) * np.exp(offset[:, 1])
    area = each([wet.piston_area for wet in ends])
    weight = each([wet.density for wet in ends]) * GRAVITY
    cuts = np.cumsum(sizes)[:-1]
    thick = np.split(offset[:, 0], cuts)
    suction = _stacked([_tables(w.suction, t) for w, t in zip(ends, thick, strict=True)])
    outward = _stacked([_tables(w.discharge, t) for w, t in zip(ends, thick, strict=True)])
    filled = recharge_times(
        replace(drive, meter_out=back),
        piston_area=area,
        stroke=stroke,
        table=suction,
        head=weight * np.maximum(each([wet.head for wet in ends]) + offset[:, 3], 0.0),
        cavity_pressure=each([wet.cavity_pressure for wet in ends]),
        dwell=each([wet.dwell for wet in ends]),
        tolerance=TWIN_TOLERANCE,
        longest=_LONGEST,
    )
    # A recharge that never comes to its stop leaves the cylinder empty.
    void = np.where(np.isfinite(filled.void), filled.void, area * stroke)
    pushed = discharge_times(
        drive,
        piston_area=area,
        stroke=stroke,
        table=outward,
        head=weight * each([wet.rise for wet in ends]),
        void=np.minimum(void, area * stroke),
        tolerance=TWIN_TOLERANCE,
        longest=_LONGEST,
    )
    time = np.minimum(pushed.time, _LONGEST)
    moving = np.maximum(time - pushed.delay, 1e-3)
    rows = np.stack(
        [
            np.minimum(filled.time, _LONGEST),
            1.0 - void / (area * stroke),
            void,
            time,
            np.minimum(pushed.delay, _LONGEST),
            pushed.jump,
            pushed.swept,
            outward.loss(area * stroke * pushed.swept / moving),
        ],
        axis=1,
    )
    return np.split(rows, cuts)


def _tables(
    make: Callable[[NDArray[np.float64]], FlowTable], thick: NDArray[np.float64]
) -> FlowTable:
    """Return the table of each point; points of one thickness share the work."""
    distinct, where = np.unique(thick, return_inverse=True)
    return make(distinct).take(where.reshape(-1))


def _stacked(tables: list[FlowTable]) -> FlowTable:
    """Return the tables of all machines as one."""
    return FlowTable(
        start=np.concatenate([table.start for table in tables]),
        first=np.concatenate([table.first for table in tables]),
        step=np.concatenate([table.step for table in tables]),
        log_flow=np.concatenate([table.log_flow for table in tables]),
    )


def _passages(passages: list[AirPassage], owner: NDArray[np.intp]) -> AirPassage:
    """Return a passage with the figures of each lane's machine."""
    return AirPassage(
        conductance=np.array([float(one.conductance) for one in passages])[owner],
        critical_ratio=np.array([float(one.critical_ratio) for one in passages])[owner],
    )


def _joined(drives: list[Drive], owner: NDArray[np.intp]) -> Drive:
    """Return a drive with the figures of each lane's machine."""

    def each(name: str) -> NDArray[np.float64]:
        return np.array([float(getattr(drive, name)) for drive in drives])[owner]

    return Drive(
        bore=each("bore"),
        rod=each("rod"),
        supply_pressure=each("supply_pressure"),
        supply=_passages([drive.supply for drive in drives], owner),
        meter_out=_passages([drive.meter_out for drive in drives], owner),
        friction=each("friction"),
        friction_share=each("friction_share"),
        dead_volume=each("dead_volume"),
        ambient=drives[0].ambient,
    )
