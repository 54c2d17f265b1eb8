"""An invented inside of a filler that nobody described: drive, wet path and product as a twin.

Every figure is invented; a product is known only by what it runs like. Needles are set as a
person would: both strokes in about the same time, the recharge never faster than it fills.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from fillwright.records.entities import JobFacts, RunsLike
from fillwright.records.units import (
    kelvin_from_c,
    kg_from_g,
    kg_per_m3_from_g_per_ml,
    m3_from_ml,
    m_from_mm,
    pa_from_bar,
)
from fillwright.science.air import AMBIENT, AirPassage
from fillwright.science.drive import AIR, Drive
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.stroke import GRAVITY, recharge_limit
from fillwright.science.twin_bench import TwinBench
from fillwright.science.twin_strokes import WetEnd
from fillwright.science.wet_tables import path_table, thickness_tables
from fillwright.science.wetpath import Piece, ThreeK

__all__ = ["GAUGE_BAR_G", "twin_bench"]

GAUGE_BAR_G: Final = 5.8
"""What the air gauge of a sound simulated filler reads."""

_WHOLE_STROKE: Final = 0.15
_SMALL_DRIVE: Final = 0.050
_LARGE_DRIVE: Final = 0.063
_SMALL_CYLINDER: Final = 0.045
_ROD: Final = 0.020
_AIR_VALVE: Final = AirPassage(conductance=4e-8, critical_ratio=0.3)
_STROKE_S: Final = 0.6
_SAFE_SHARE: Final = 0.7
_DWELL_S: Final = 0.2
_HEAD: Final = 0.25
_VALVE: Final = ThreeK(k1=500.0, ki=0.41, kd=4.0)
_BEND: Final = ThreeK(k1=800.0, ki=0.091, kd=4.0)
_SURFACE_TENSION: Final = 0.03
_DROP_SHARE: Final = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class _Like:
    """How a product flows that runs like something: invented."""

    curve: FlowCurve
    thinning: float


_LIKE: Final = {
    RunsLike.WATER: _Like(curve=FlowCurve(consistency=0.002), thinning=2000.0),
    RunsLike.OIL: _Like(curve=FlowCurve(consistency=0.06), thinning=4500.0),
    RunsLike.FOAMY: _Like(curve=FlowCurve(consistency=2.0, index=0.8), thinning=3500.0),
    RunsLike.CREAM: _Like(
        curve=FlowCurve(yield_stress=15.0, consistency=8.0, index=0.45), thinning=2500.0
    ),
    RunsLike.PASTE: _Like(
        curve=FlowCurve(yield_stress=40.0, consistency=120.0, index=0.5), thinning=5000.0
    ),
}


def twin_bench(facts: JobFacts, dose_sd: float) -> TwinBench:
    """Return a sound simulated machine with the product of a job.

    Parameters
    ----------
    facts : JobFacts
        Cylinder, nozzle, product, aim, scale.
    dose_sd : float
        Standard deviation of a sound dose as a share of it.

    Returns
    -------
    TwinBench
        Its reference stroke is the one that gives the aim by the plate.
    """
    product, cylinder = facts.product, facts.cylinder
    growth = 1 + product.expansion_per_k * (product.product_c - product.density_c)
    density = kg_per_m3_from_g_per_ml(product.density_g_per_ml / growth)
    area = m3_from_ml(cylinder.capacity_ml) / _WHOLE_STROKE
    bore = math.sqrt(4.0 * area / math.pi)
    aim = kg_from_g(facts.aim_g)
    stroke = min(aim / (density * area), _WHOLE_STROKE)
    like = _LIKE[product.runs_like]
    nozzle = m_from_mm(float(facts.nozzle.bore_mm))
    suction, outward = _paths(bore, nozzle)
    limit = recharge_limit(
        path_table(suction, like.curve, density),
        swept=area * stroke,
        head_pressure=density * GRAVITY * _HEAD,
    )
    fill = stroke / _STROKE_S
    back = min(fill, _SAFE_SHARE * float(limit.flow_max[0]) / area)
    air = _SMALL_DRIVE if bore < _SMALL_CYLINDER else _LARGE_DRIVE
    cap, ring = math.pi / 4.0 * air**2, math.pi / 4.0 * (air**2 - _ROD**2)
    _, consistency, index = (float(figure) for figure in like.curve.figures)
    return TwinBench(
        wet=WetEnd(
            piston_area=area,
            stroke=stroke,
            drive=Drive(
                bore=air,
                rod=_ROD,
                supply_pressure=AMBIENT + pa_from_bar(GAUGE_BAR_G),
                supply=_AIR_VALVE,
                meter_out=_needle(fill, ring),
            ),
            recharge_needle=_needle(back, cap),
            suction=thickness_tables(suction, like.curve, density),
            discharge=thickness_tables(outward, like.curve, density),
            density=density,
            head=_HEAD,
            dwell=_DWELL_S,
        ),
        consistency=consistency,
        index=index,
        yield_stress=float(like.curve.figures[0]),
        temperature=kelvin_from_c(float(product.product_c)),
        thinning=like.thinning,
        expansion=float(product.expansion_per_k),
        noise=dose_sd,
        readability=float(facts.scale.readability_g / facts.aim_g),
        drop_mass=_DROP_SHARE * math.pi * nozzle * _SURFACE_TENSION / GRAVITY,
        nozzle_bore=nozzle,
    )


def _paths(bore: float, nozzle: float) -> tuple[tuple[Piece, ...], tuple[Piece, ...]]:
    """Return the way from the hopper and the way to the nozzle of a cylinder."""
    port = float(np.clip(0.45 * bore, 0.012, 0.030))
    valve = Piece(bore=port, length=0.06, fittings=(_VALVE,))
    suction = (Piece(bore=1.4 * port, length=0.15), valve)
    gooseneck = Piece(bore=max(0.9 * port, nozzle), length=0.25, fittings=(_BEND, _BEND))
    return suction, (valve, gooseneck, Piece(bore=nozzle, length=0.08))


def _needle(speed: float, area: float) -> AirPassage:
    """Return the needle that holds a piston at a speed, the air behind it choked."""
    return AirPassage(conductance=speed * area / AIR, critical_ratio=0.3)
