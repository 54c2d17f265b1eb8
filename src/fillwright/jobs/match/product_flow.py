"""How a product flows at the temperature of its fill, from what was told of it.

What was measured goes first; what was not is taken from what the product runs like, and said
with how much it matters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.words import plain
from fillwright.knowledge.product_presets import ProductPreset, product_presets
from fillwright.records.entities import Product
from fillwright.records.product_parts import ProductFlow
from fillwright.records.units import (
    kelvin_from_c,
    kg_per_m3_from_g_per_ml,
    pa_s_from_mpa_s,
)
from fillwright.science.flow_cup import cup_viscosity
from fillwright.science.flow_fit import FlowFit, fit_flow_curve
from fillwright.science.viscosity_fit import ViscosityFit, ViscosityModel, fit_viscosity

__all__ = [
    "Assumed",
    "ToldFlow",
    "preset_of",
    "told_flow",
]

PRESET_C: Final = 20.0
_RUNS: Final = {
    "newtonian": "as thick at every speed",
    "power-law": "it thins with speed",
    "bingham": "it stands until pushed, then runs evenly",
    "herschel-bulkley": "it stands until pushed, then thins with speed",
}
_READING_SPREAD: Final = 0.06
_CUP_SPREAD: Final = 0.08
_ONE_RATE_SPREAD: Final = 0.9
_TENSION_SPREAD: Final = 0.04


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """Something that was not told: what was taken, and how much it matters."""

    name: str
    words: str
    matters: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldFlow:
    """How a product flows at the temperature of its fill.

    Parameters
    ----------
    preset : ProductPreset
        What it runs like; stands for all that was not told.
    yield_pa : float
        Stress below which nothing flows.
    consistency_pa_s : float
        Viscosity where `flow_index` is 1, else the consistency at a shear rate of 1 1/s.
    flow_index : float
        1 for a viscosity that does not depend on the rate.
    thinning_k : float
        How fast it thins as it warms: ln of the thickness goes as this over the kelvins.
    thickness_spread : float
        How far the thickness may be off, as a logarithm.
    tension_mn_per_m : float
        Surface tension.
    tension_spread : float
        How far that may be off, as a logarithm.
    release_kpa : float
        Absolute pressure at which air comes out.
    vapour_kpa : float or None
        Vapour pressure; none where water's is the safe bound.
    words : str
        Where the figures are from.
    assumed : tuple of Assumed
        What was not told.
    by_temperature : ViscosityFit or None
        Curve over the temperatures, where points were told.
    by_rate : FlowFit or None
        Curve over the shear rates, where readings were told.
    """

    preset: ProductPreset
    yield_pa: float
    consistency_pa_s: float
    flow_index: float
    thinning_k: float
    thickness_spread: float
    tension_mn_per_m: float
    tension_spread: float
    release_kpa: float
    vapour_kpa: float | None
    words: str
    assumed: tuple[Assumed, ...]
    by_temperature: ViscosityFit | None = None
    by_rate: FlowFit | None = None


def preset_of(product: Product) -> ProductPreset:
    """Return what a product runs like."""
    known = product_presets()
    key = product.flow.preset if product.flow is not None else ""
    return known.get(key) or known[product.runs_like.value]


@lru_cache(maxsize=256)
def told_flow(product: Product) -> ToldFlow:
    """Return how a product flows at the temperature of its fill; fitted once for each product.

    Parameters
    ----------
    product : Product
        The product with what was told of it.

    Returns
    -------
    ToldFlow
        Curve, spread, and what was assumed.

    Raises
    ------
    BadInput
        If a figure that was told cannot be.
    """
    flow = product.flow or ProductFlow()
    if flow.way == "points" and flow.points:
        return _by_points(product, flow)
    if flow.way == "readings" and flow.readings:
        return _by_readings(product, flow)
    if flow.way == "cup" and flow.cup is not None:
        return _by_cup(product, flow)
    return _by_preset(product, flow)


def _by_preset(product: Product, flow: ProductFlow) -> ToldFlow:
    """Return the middle figure of what a product runs like, at its own temperature."""
    preset = preset_of(product)
    times = _thickness(preset.thinning_k, PRESET_C, float(product.product_c))
    spread = 0.5 * math.log(preset.thick_high / preset.thick_low)
    low, high = preset.thick_low, preset.thick_high
    return _told(
        flow,
        preset,
        start=preset.yield_pa * times,
        thick=preset.k_pa_sn * times,
        index=preset.n,
        thinning=preset.thinning_k,
        spread=spread,
        words=f"taken as what runs like {preset.name}, a middle figure ({preset.basis})",
        assumed=(
            Assumed(
                name="Thickness",
                words=f"Not measured. Taken as {preset.name}: {preset.says}.",
                matters=(
                    f"It may be {_factor(1.0 / low)} times thinner or {_factor(high)} times "
                    "thicker, and so may every time and pressure be."
                ),
            ),
        ),
    )


def _by_points(product: Product, flow: ProductFlow) -> ToldFlow:
    """Return the viscosity on the curve through a data sheet's points."""
    preset, at_c = preset_of(product), float(product.product_c)
    fit = fit_viscosity(
        [float(p.at_c) for p in flow.points],
        [pa_s_from_mpa_s(p.viscosity_mpa_s) for p in flow.points],
    )
    assumed = []
    thinning = preset.thinning_k
    thick = float(fit.at(at_c))
    if fit.model is ViscosityModel.CONSTANT:
        known_at = fit.coldest
        thick *= _thickness(thinning, known_at, at_c)
        away = abs(at_c - known_at)
        times = _factor(_thickness(thinning, known_at, at_c))
        if away:
            assumed.append(
                Assumed(
                    name="Thinning",
                    words=f"Measured at {known_at:g} °C only; thins like {preset.name}.",
                    matters=f"Over {away:.3g} K that is {times} times as thick; a second "
                    "temperature settles it.",
                )
            )
    else:
        kelvin = kelvin_from_c(at_c)
        thinning = fit.slope * (kelvin / (kelvin - fit.pole)) ** 2
    if bool(fit.is_extrapolated(at_c)):
        assumed.append(
            Assumed(
                name="Temperature",
                words=f"{at_c:g} °C is outside what was measured, {fit.coldest:g} to "
                f"{fit.warmest:g} °C.",
                matters="The curve goes on at its end; measure nearer to the fill.",
            )
        )
    if preset.n != 1.0 or preset.yield_pa:
        assumed.append(
            Assumed(
                name="Shear",
                words="A data sheet's viscosity is taken as the same at every speed.",
                matters="In a nozzle it may run several times thinner; a viscometer at two speeds "
                "or more settles it.",
            )
        )
    count = len(flow.points)
    return _told(
        flow,
        preset,
        start=0.0,
        thick=thick,
        index=1.0,
        thinning=thinning,
        spread=float(fit.spread(at_c)),
        words=f"from {count} measured viscosit{'y' if count == 1 else 'ies'}",
        assumed=tuple(assumed),
        by_temperature=fit,
    )


def _by_readings(product: Product, flow: ProductFlow) -> ToldFlow:
    """Return the flow curve through viscometer readings."""
    preset, at_c = preset_of(product), float(product.product_c)
    rates = [float(r.rate_per_s) for r in flow.readings]
    thick = [pa_s_from_mpa_s(r.viscosity_mpa_s) for r in flow.readings]
    fit = fit_flow_curve(rates, [r * v for r, v in zip(rates, thick, strict=True)])
    start, consistency, index = (float(one) for one in fit.curve.figures)
    read_c = at_c if flow.readings_c is None else float(flow.readings_c)
    times = _thickness(preset.thinning_k, read_c, at_c)
    assumed = []
    spread = math.hypot(_READING_SPREAD, 2.0 * fit.error)
    if len(set(rates)) == 1:
        spread = _ONE_RATE_SPREAD
        assumed.append(
            Assumed(
                name="Shear",
                words="One speed of the viscometer is no flow curve.",
                matters="Taken as an upper end: in a nozzle it may run several times thinner.",
            )
        )
    if read_c != at_c:
        assumed.append(
            Assumed(
                name="Thinning",
                words=f"Read at {read_c:g} °C; thins like {preset.name}.",
                matters=f"Over {abs(at_c - read_c):.3g} K: {_factor(times)} times as thick.",
            )
        )
        spread += 0.3 * abs(math.log(times))
    return _told(
        flow,
        preset,
        start=start * times,
        thick=consistency * times,
        index=index,
        thinning=preset.thinning_k,
        spread=spread,
        words=f"from {len(rates)} viscometer reading{'' if len(rates) == 1 else 's'}: "
        f"{_RUNS[fit.model]}",
        assumed=tuple(assumed),
        by_rate=fit,
    )


def _by_cup(product: Product, flow: ProductFlow) -> ToldFlow:
    """Return the viscosity behind a cup's time."""
    preset, at_c, cup = preset_of(product), float(product.product_c), flow.cup
    if cup is None:
        raise BadInput("cup is missing; add its orifice and time.", field="cup", code="missing")
    density = kg_per_m3_from_g_per_ml(product.density_g_per_ml)
    thick = cup_viscosity(cup.orifice, float(cup.time_s), density=density)
    times = _thickness(preset.thinning_k, float(cup.at_c), at_c)
    return _told(
        flow,
        preset,
        start=0.0,
        thick=thick * times,
        index=1.0,
        thinning=preset.thinning_k,
        spread=_CUP_SPREAD + 0.3 * abs(math.log(times)),
        words=f"from {plain(cup.time_s)} s in a flow cup of {cup.orifice} (ISO 2431, from memory)",
        assumed=(
            Assumed(
                name="Shear",
                words="A cup's time is taken as a viscosity that is the same at every speed.",
                matters="True for oil and syrup; a cream or gel needs a viscometer.",
            ),
        ),
    )


def _told(
    flow: ProductFlow,
    preset: ProductPreset,
    *,
    start: float,
    thick: float,
    index: float,
    thinning: float,
    spread: float,
    words: str,
    assumed: tuple[Assumed, ...],
    by_temperature: ViscosityFit | None = None,
    by_rate: FlowFit | None = None,
) -> ToldFlow:
    """Return a flow, its surface tension and air from what it runs like where not told."""
    ends = (preset.tension_low_mn_per_m, preset.tension_high_mn_per_m)
    tension, tension_spread = math.sqrt(ends[0] * ends[1]), 0.5 * math.log(ends[1] / ends[0])
    more: tuple[Assumed, ...] = ()
    if flow.tension_mn_per_m is not None:
        tension, tension_spread = float(flow.tension_mn_per_m), _TENSION_SPREAD
    else:
        more = (
            Assumed(
                name="Surface tension",
                words=f"Taken as {ends[0]:g} to {ends[1]:g} mN/m, as {preset.name}.",
                matters="It decides dripping and splash, and nothing else.",
            ),
        )
    return ToldFlow(
        preset=preset,
        yield_pa=start,
        consistency_pa_s=thick,
        flow_index=index,
        thinning_k=thinning,
        thickness_spread=spread,
        tension_mn_per_m=tension,
        tension_spread=tension_spread,
        release_kpa=preset.release_kpa,
        vapour_kpa=preset.vapour_kpa,
        words=words,
        assumed=(*assumed, *more),
        by_temperature=by_temperature,
        by_rate=by_rate,
    )


def _thickness(thinning_k: float, known_c: float, at_c: float) -> float:
    """Return how many times as thick a product is at another temperature."""
    away = 1.0 / kelvin_from_c(at_c) - 1.0 / kelvin_from_c(known_c)
    return math.exp(thinning_k * away)


def _factor(times: float) -> str:
    """Return a factor with two digits."""
    return f"{times:.2g}"
