"""An invented filler with its product, as the sources compute it and as the full stroke does."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from full_stroke import Full

from fillwright.science.air import AirPassage
from fillwright.science.drive import Drive
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.twin_bench import TwinBench
from fillwright.science.twin_strokes import WetEnd
from fillwright.science.wet_tables import thickness_tables
from fillwright.science.wetpath import Piece, ThreeK, pressure_loss

AREA = math.pi / 4.0 * 0.050**2
STROKE = 250e-6 / AREA
VALVE = ThreeK(k1=500.0, ki=0.41, kd=4.0)
BEND = ThreeK(k1=800.0, ki=0.091, kd=4.0)
SUCTION = (
    Piece(bore=0.025, length=0.15),
    Piece(bore=0.018, length=0.06, fittings=(VALVE,)),
)
OUTWARD = (
    Piece(bore=0.018, length=0.06, fittings=(VALVE,)),
    Piece(bore=0.016, length=0.25, fittings=(BEND, BEND)),
    Piece(bore=0.010, length=0.08),
)


def drive(needle: float = 4e-9, gauge: float = 6e5) -> Drive:
    """The invented drive: 63 mm, rod 20 mm."""
    return Drive(
        bore=0.063,
        rod=0.020,
        supply_pressure=101_325.0 + gauge,
        supply=AirPassage(conductance=4e-8, critical_ratio=0.3),
        meter_out=AirPassage(conductance=needle, critical_ratio=0.3),
    )


def bench(
    curve: FlowCurve,
    density: float,
    *,
    recharge: float = 1.5e-9,
    thinning: float = 2000.0,
    **figures: float,
) -> TwinBench:
    """A sound machine with a product."""
    _, consistency, index = (float(figure) for figure in curve.figures)
    return TwinBench(
        wet=WetEnd(
            piston_area=AREA,
            stroke=STROKE,
            drive=drive(),
            recharge_needle=AirPassage(conductance=recharge, critical_ratio=0.3),
            suction=thickness_tables(SUCTION, curve, density),
            discharge=thickness_tables(OUTWARD, curve, density),
            density=density,
        ),
        consistency=consistency,
        index=index,
        yield_stress=float(curve.figures[0]),
        thinning=thinning,
        **figures,
    )


def full(path: tuple[Piece, ...], curve: FlowCurve, density: float, **figures: float) -> Full:
    """The full model of the same machine and product."""
    inertance = sum(density * one.length / (math.pi / 4.0 * float(one.bore) ** 2) for one in path)
    return Full(loss=_loss(path, curve, density), inertance=inertance, **figures)


def _loss(path: tuple[Piece, ...], curve: FlowCurve, density: float) -> Callable[[float], float]:
    """The loss as a fast scalar function: read between many points of ln flow."""
    logs = np.linspace(math.log(1e-9), math.log(3e-2), 4000)
    over = pressure_loss(path, np.exp(logs), curve, density).total
    start = float(pressure_loss(path, 0.0, curve, density).total)
    lowest = math.exp(logs[0])
    step = float(logs[1] - logs[0])
    height = np.log(over - start).tolist()

    def loss(flow: float) -> float:
        if flow <= lowest:
            return start + math.exp(height[0]) * flow / lowest
        place = min((math.log(flow) - float(logs[0])) / step, len(height) - 1.001)
        at = int(place)
        return start + math.exp(height[at] + (height[at + 1] - height[at]) * (place - at))

    return loss
