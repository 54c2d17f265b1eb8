"""What to expect at the bench: times, containers a minute, air, and how long a hopper lasts."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.science.air_use import free_air
from fillwright.science.drive import Drive
from fillwright.science.flow_table import FlowTable
from fillwright.science.match_flow import Discharged, discharges
from fillwright.science.match_lanes import Rows, ranged
from fillwright.science.match_rules import RECHARGE_SPARE
from fillwright.science.match_types import Case, Expected, ProductCylinder
from fillwright.science.match_words import figured
from fillwright.science.rate import rate
from fillwright.science.wetpath import Piece

__all__ = ["air_needed", "bench_figures", "expected", "minute"]

_GAUGES: Final = np.linspace(0.5e5, 10e5, 20)
_RESERVE: Final = 1.5
_ALMOST_NONE: Final = 1e-3


def minute(
    case: Case,
    rows: Rows,
    *,
    fill: NDArray[np.float64],
    recharge: NDArray[np.float64],
    shots: int,
) -> NDArray[np.float64] | None:
    """Return the containers a minute with a person handling, in every row.

    Parameters
    ----------
    case : Case
        The case.
    rows : Rows
        Inputs and their ends.
    fill : ndarray
        Time of one fill stroke. [s]
    recharge : ndarray
        Time of one recharge stroke. [s]
    shots : int
        Strokes for a dose.

    Returns
    -------
    ndarray or None
        None where a stroke never ends as given. [1/min]
    """
    if not (math.isfinite(fill[0]) and math.isfinite(recharge[0])):
        return None
    return np.array(
        [
            60.0
            * rate(
                fill=float(one),
                recharge=float(back),
                handling=float(hands),
                mode=case.mode,
                valve=case.valve_time,
                shots=shots,
            ).per_second
            if math.isfinite(one) and math.isfinite(back)
            else 0.0
            for one, back, hands in zip(fill, recharge, rows.handling, strict=True)
        ]
    )


def expected(
    name: str,
    figure: NDArray[np.float64] | None,
    unit: str,
    words: str,
    *,
    without: str = "",
    scale: float = 1.0,
) -> Expected | None:
    """Return a figure to expect with its range.

    Parameters
    ----------
    name : str
        What it is.
    figure : ndarray or None
        The figure in every row. [unit]
    unit : str
        Its unit.
    words : str
        One sentence, with a place for the figure.
    without : str
        What to say where the figure has no end or is nothing.
    scale : float
        What the figure is multiplied by in the sentence. [1]

    Returns
    -------
    Expected or None
        None where there is no figure.
    """
    if figure is None or math.isnan(float(figure[0])):
        return None
    found = ranged(figure)
    return Expected(
        name=name,
        value=_finite(found.value),
        low=_finite(found.low),
        high=_finite(found.high),
        unit=unit,
        matters_most=found.matters_most,
        because=without
        if without and not 0.0 < found.value < math.inf
        else words.format(figured(scale * found.value)),
    )


def air_needed(
    case: Case,
    rows: Rows,
    path: tuple[Piece, ...],
    cylinder: ProductCylinder,
    drive: Drive,
    *,
    stroke_volume: NDArray[np.float64],
    table: FlowTable,
) -> NDArray[np.float64]:
    """Return the least air pressure that leaves half as much again to spare, in every row.

    Parameters
    ----------
    case : Case
        The case.
    rows : Rows
        Inputs and their ends.
    path : tuple of Piece
        From the cylinder to the nozzle.
    cylinder : ProductCylinder
        The cylinder that is taken, its bore known.
    drive : Drive
        The air drive.
    stroke_volume : ndarray
        Volume of one stroke. [m³]
    table : FlowTable
        Losses of the path in every row.

    Returns
    -------
    ndarray
        Pressure over the air around; infinite where 10 bar do not. [Pa]
    """
    count = len(rows.dose)
    many = Rows(**{name: np.tile(getattr(rows, name), len(_GAUGES)) for name in rows.__slots__})
    many = replace(many, gauge=np.repeat(_GAUGES, count))
    reserve = discharges(
        case.product,
        many,
        path,
        cylinder,
        # The rows say how much air there is over none at all.
        replace(drive, supply_pressure=drive.ambient + _ALMOST_NONE),
        stroke_volume=np.tile(stroke_volume, len(_GAUGES)),
        rise=case.rise,
        with_times=False,
        table=table.take(np.tile(np.arange(count), len(_GAUGES))),
    ).reserve.reshape(len(_GAUGES), count)
    does = reserve >= _RESERVE
    first = np.argmax(does, axis=0)
    lanes = np.arange(reserve.shape[1])
    before = np.maximum(first - 1, 0)
    high, low = reserve[first, lanes], reserve[before, lanes]
    share = np.where(high > low, (_RESERVE - low) / np.where(high > low, high - low, 1.0), 1.0)
    gauge = _GAUGES[before] + np.clip(share, 0.0, 1.0) * (_GAUGES[first] - _GAUGES[before])
    return np.asarray(np.where(does.any(axis=0), gauge, np.inf))


def bench_figures(
    case: Case,
    rows: Rows,
    *,
    shots: int,
    fastest: NDArray[np.float64] | None,
    clean: NDArray[np.float64] | None,
    filled: Discharged | None,
    air: NDArray[np.float64] | None,
    cylinder: ProductCylinder | None,
    hopper_volume: float | None,
) -> tuple[Expected, ...]:
    """Return every figure to expect that what is known allows.

    Parameters
    ----------
    case : Case
        The case.
    rows : Rows
        Inputs and their ends.
    shots : int
        Strokes for a dose.
    fastest : ndarray or None
        Fastest full recharge of one stroke. [s]
    clean : ndarray or None
        Fastest clean fill of one stroke; zero where no flow splashes. [s]
    filled : Discharged or None
        The fill with the needle as given.
    air : ndarray or None
        Least air pressure over the air around. [Pa]
    cylinder : ProductCylinder or None
        The cylinder that is taken.
    hopper_volume : float or None
        What can be filled between refills. [m³]

    Returns
    -------
    tuple of Expected
        In the order in which they are used at the bench.
    """
    found = [
        expected(
            "recharge", fastest, "s", "The fastest recharge that still fills takes {} s.",
            without="It will not feed.",
        ),
        expected(
            "clean-fill", clean, "s", "Faster than {} s a stroke it splashes or foams.",
            without="It is not likely to splash or foam.",
        ),
    ]  # fmt: skip
    fill = None
    if filled is not None:
        words = "With the needle as given a stroke takes {} s."
        found.append(expected("fill", filled.time, "s", words, without="The drive stalls."))
        fill = filled.time if clean is None else np.maximum(filled.time, clean)
    back = None
    if fastest is not None:
        back = np.maximum(RECHARGE_SPARE * fastest, case.recharge_least)
    each = None
    if fill is not None and back is not None:
        each = minute(case, rows, fill=fill, recharge=back, shots=shots)
    words = "About {} containers a minute with one person handling."
    found.append(expected("rate", each, "1/min", words))
    words = "It needs {} bar at the gauge, half as much again as the product takes."
    found.append(
        expected(
            "air-pressure", air, "Pa", words,
            without="Not even 10 bar leaves half as much again to spare.", scale=1e-5,
        )
    )  # fmt: skip
    if each is not None and each[0] > 0.0:
        if case.drive is not None and cylinder is not None and cylinder.bore is not None:
            used = _free_air(rows, case.drive, cylinder, shots)
            words = "{} L of free air a minute, and a fifth more for tubing and valves."
            found.append(expected("free-air", used * each, "m3/min", words, scale=1e3))
        if hopper_volume is not None:
            known = each > 0.0
            pace = rows.dose * np.where(known, each, 1.0)
            lasts = np.where(known, hopper_volume / pace, np.inf)
            found.append(expected("refill", lasts, "min", "The hopper lasts {} min."))
    return tuple(one for one in found if one is not None)


def _free_air(
    rows: Rows, drive: Drive, cylinder: ProductCylinder, shots: int
) -> NDArray[np.float64]:
    """Return the free air of one container, in every row. [m³]."""
    area = math.pi / 4.0 * (cylinder.bore or 1.0) ** 2
    one = free_air(
        drive.bore,
        drive.rod,
        rows.dose / shots / area,
        supply=np.asarray(drive.supply_pressure) + rows.gauge,
        dead_volume=drive.dead_volume,
        ambient=drive.ambient,
    )
    return np.asarray(shots * one)


def _finite(value: float) -> float | None:
    """Return a figure, or None where it has no end."""
    return value if math.isfinite(value) else None
