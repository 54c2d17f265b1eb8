"""What timed strokes teach of needles and product: the least change that explains the watch.

Three unknowns, each with what was believed of it: how much wider each needle is than its
table, and how many times as thick the product is. A stroke held by its needle says nothing of
the product, and the other way round; that follows by itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.science.air import AirPassage
from fillwright.science.drive import Drive
from fillwright.science.flow_table import FlowTable
from fillwright.science.given import above_zero, not_negative
from fillwright.science.stroke_times import discharge_times, recharge_times

__all__ = ["StrokeFit", "fit_strokes"]

NEEDLE_SD: Final = 0.25
"""How far a needle is believed to be off its table, as a logarithm (judgement). [1]"""
MODEL_SD: Final = 0.03
"""How far the model is off a real stroke, as a share of its time (judgement). [1]"""
_ROUNDS: Final = 25
_GRID: Final = 11
_SDS: Final = 4.0
_STEP: Final = 0.02
_MOST: Final = 0.7
_REACH: Final = 2.5
_CLOSE: Final = 1e-4
_SHARES: Final = np.array([1.0, 0.6, 0.3, 0.1, 0.03, 0.01])
_TOLERANCE: Final = 0.02
_LONGEST: Final = 600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokeFit:
    """What the watch teaches.

    Attributes
    ----------
    fill_needle : float
        Conductance of the fill needle over that of its table. [1]
    recharge_needle : float
        The same of the recharge needle. [1]
    thickness : float
        How many times as thick the product is as was believed. [1]
    sd_fill_needle : float
        Standard deviation of the logarithm of each, as far as is known now. [1]
    sd_recharge_needle : float
        As above. [1]
    sd_thickness : float
        As above. [1]
    fill_before : float
        Fill by the watch as it was expected. [s]
    recharge_before : float
        Recharge as it was expected. [s]
    fill_after : float
        Fill by the corrected model. [s]
    recharge_after : float
        Recharge by the corrected model. [s]
    """

    fill_needle: float
    recharge_needle: float
    thickness: float
    sd_fill_needle: float
    sd_recharge_needle: float
    sd_thickness: float
    fill_before: float
    recharge_before: float
    fill_after: float
    recharge_after: float


def fit_strokes(
    *,
    fill_drive: Drive,
    recharge_drive: Drive,
    piston_area: float,
    stroke: float,
    outward: Callable[[NDArray[np.float64]], FlowTable],
    suction: Callable[[NDArray[np.float64]], FlowTable],
    rise_pressure: float = 0.0,
    head_pressure: float = 0.0,
    cavity_pressure: float = 0.0,
    fill: float | None = None,
    recharge: float | None = None,
    cycle: float | None = None,
    idle: float = 0.0,
    watch_sd: float = 0.1,
    needle_sd: float = NEEDLE_SD,
    thickness_sd: float = 0.5,
) -> StrokeFit:
    """Return the corrections of needles and product that timed strokes ask for.

    Parameters
    ----------
    fill_drive, recharge_drive : Drive
        The air drive with the needle of each stroke, as their tables have them.
    piston_area : float
        Area of the product piston. [m²]
    stroke : float
        Drawn stroke. [m]
    outward, suction : callable
        Flow tables of the two paths at logarithms of the thickness over the believed one.
    rise_pressure : float
        Static pressure that the product is lifted by. [Pa]
    head_pressure : float
        Static pressure of the product above the cylinder. [Pa]
    cavity_pressure : float
        Pressure at which a void opens, absolute. [Pa]
    fill : float, optional
        Timed fill. [s]
    recharge : float, optional
        Timed recharge. [s]
    cycle : float, optional
        Timed fill, recharge and idle time together. [s]
    idle : float
        What of a cycle neither stroke takes: turns of the valve. [s]
    watch_sd : float
        Standard uncertainty of each time. [s]
    needle_sd : float
        How far needles are believed to be off, as a logarithm. [1]
    thickness_sd : float
        How far the thickness is believed to be off, as a logarithm. [1]

    Returns
    -------
    StrokeFit
        The most likely values, normal in the logarithms.

    Raises
    ------
    BadInput
        If nothing was timed, or a time is not above zero.
    """
    seen = _seen(fill, recharge, cycle, not_negative(idle, "idle"))
    believed = np.array([needle_sd, needle_sd, thickness_sd])
    wider = np.linspace(-1.0, 1.0, _GRID) * min(_SDS * needle_sd, _REACH)
    thicker = np.linspace(-1.0, 1.0, _GRID) * min(_SDS * thickness_sd, _REACH)
    openings, thickness = (axis.ravel() for axis in np.meshgrid(wider, thicker, indexing="ij"))
    out = discharge_times(
        _with_needle(fill_drive, openings),
        piston_area=piston_area,
        stroke=stroke,
        table=outward(thickness),
        head=rise_pressure,
        tolerance=_TOLERANCE,
        longest=_LONGEST,
    ).time
    back = recharge_times(
        _with_needle(recharge_drive, openings),
        piston_area=piston_area,
        stroke=stroke,
        table=suction(thickness),
        head=head_pressure,
        cavity_pressure=cavity_pressure,
        tolerance=_TOLERANCE,
        longest=_LONGEST,
    ).time
    logs = [np.log(np.minimum(t, _LONGEST)).reshape(_GRID, _GRID) for t in (out, back)]

    def times(theta: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return fill and recharge for rows of needle, needle and thickness."""
        return np.exp(
            np.stack(
                [
                    _between(logs[which], wider, thicker, theta[:, which], theta[:, 2])
                    for which in (0, 1)
                ],
                axis=1,
            )
        )

    def residuals(theta: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return how far the model is off what was seen, and off what was believed."""
        told = times(theta)
        rows = []
        for kind, value in seen:
            model = told[:, kind] if kind < 2 else told.sum(axis=1) + idle  # noqa: PLR2004  the whole cycle
            spread = math.hypot(watch_sd / value, MODEL_SD)
            rows.append((np.log(model) - math.log(value)) / spread)
        return np.concatenate([np.stack(rows, axis=1), theta / believed], axis=1)

    theta, curvature = _least_change(residuals, thicker)
    first, after = times(np.zeros((1, 3)))[0], times(theta[np.newaxis])[0]
    sds = np.sqrt(np.diag(np.linalg.inv(curvature)))
    wide, wide_back, thick = (float(value) for value in np.exp(theta))
    return StrokeFit(
        fill_needle=wide,
        recharge_needle=wide_back,
        thickness=thick,
        sd_fill_needle=float(sds[0]),
        sd_recharge_needle=float(sds[1]),
        sd_thickness=float(sds[2]),
        fill_before=float(first[0]),
        recharge_before=float(first[1]),
        fill_after=float(after[0]),
        recharge_after=float(after[1]),
    )


def _least_change(
    residuals: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    starts: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the most likely point and the curvature there, begun at several thicknesses.

    Strokes bend where the product begins to hold them, so one start could end beside it.
    """
    best, least, bend = np.zeros(3), math.inf, np.eye(3)
    for start in starts[::2]:
        theta = np.array([0.0, 0.0, start])
        miss, slope, curvature = _around(residuals, theta)
        for _ in range(_ROUNDS):
            step = np.linalg.solve(curvature, slope.T @ miss[0])
            tries = theta - _SHARES[:, np.newaxis] * np.clip(step, -_MOST, _MOST)
            costs = np.sum(residuals(tries) ** 2, axis=1)
            if costs.min() >= float(miss[0] @ miss[0]) - _CLOSE:
                break
            theta = tries[int(np.argmin(costs))]
            miss, slope, curvature = _around(residuals, theta)
        cost = float(miss[0] @ miss[0])
        if cost < least:
            best, least, bend = theta, cost, curvature
    return best, bend


def _around(
    residuals: Callable[[NDArray[np.float64]], NDArray[np.float64]], theta: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return the misfits at a point, their slopes, and the curvature of their squares."""
    found = residuals(np.vstack([theta, theta + _STEP * np.eye(3)]))
    slope = (found[1:] - found[0]).T / _STEP
    return found, slope, slope.T @ slope


def _between(
    grid: NDArray[np.float64],
    rows: NDArray[np.float64],
    columns: NDArray[np.float64],
    row: NDArray[np.float64],
    column: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return a table between its points, straight in both directions and beyond its ends."""
    step_row, step_column = rows[1] - rows[0], columns[1] - columns[0]
    at = np.clip(np.floor((row - rows[0]) / step_row), 0, len(rows) - 2).astype(int)
    beside = np.clip(np.floor((column - columns[0]) / step_column), 0, len(columns) - 2)
    beside = beside.astype(int)
    down = (row - rows[at]) / step_row
    across = (column - columns[beside]) / step_column
    near = (1.0 - across) * grid[at, beside] + across * grid[at, beside + 1]
    far = (1.0 - across) * grid[at + 1, beside] + across * grid[at + 1, beside + 1]
    return np.asarray((1.0 - down) * near + down * far)


def _seen(
    fill: float | None, recharge: float | None, cycle: float | None, idle: float
) -> list[tuple[int, float]]:
    """Return what was timed: 0 for the fill, 1 for the recharge, 2 for the whole cycle."""
    given = ((0, fill, "fill"), (1, recharge, "recharge"), (2, cycle, "cycle"))
    found = [(kind, above_zero(value, name)) for kind, value, name in given if value is not None]
    if not found:
        raise BadInput(
            "nothing was timed; give the fill, the recharge or the whole cycle.",
            field="cycle",
            allowed="a time above zero",
            code="missing",
        )
    if cycle is not None and cycle <= idle:
        raise BadInput(
            f"cycle is {cycle:g} s, less than the turns of the valve take ({idle:g} s); time ten "
            "whole strokes again.",
            field="cycle",
            given=cycle,
            allowed=f"above {idle:g}",
            code="inconsistent",
        )
    return found


def _with_needle(drive: Drive, wider: NDArray[np.float64]) -> Drive:
    """Return the drive with its needle so much wider, as logarithms."""
    passage = AirPassage(
        conductance=np.asarray(drive.meter_out.conductance) * np.exp(wider),
        critical_ratio=drive.meter_out.critical_ratio,
    )
    return replace(drive, meter_out=passage)
