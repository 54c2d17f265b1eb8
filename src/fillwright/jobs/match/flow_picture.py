"""The picture of a product's flow: its curve, its range, and what was measured."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from fillwright.jobs.match.product_flow import ToldFlow, told_flow
from fillwright.records.entities import Product
from fillwright.records.flowplot import FlowPlot
from fillwright.records.units import mpa_s_from_pa_s
from fillwright.science.flow_curve import FlowCurve

__all__ = ["flow_plot"]

_RATES: Final = np.geomspace(1.0, 2000.0, 33)
_STEPS: Final = 25
_ROOM_C: Final = 5.0


def flow_plot(product: Product) -> FlowPlot:
    """Return the picture of a product: over warmth where points were told, else over speed."""
    told = told_flow(product)
    return _over_temperature(product, told) if told.by_temperature else _over_rate(product, told)


def _over_temperature(product: Product, told: ToldFlow) -> FlowPlot:
    """Return the curve through a data sheet's points."""
    flow, fit, now = product.flow, told.by_temperature, float(product.product_c)
    points = () if flow is None else flow.points
    if fit is None or not points:
        return _over_rate(product, told)
    low = min(fit.coldest, now) - _ROOM_C
    temps = np.linspace(low, max(fit.warmest, now) + _ROOM_C, _STEPS)
    if fit.pole:
        temps = temps[temps > fit.pole - 273.15 + _ROOM_C]
    if fit.slope:
        curve = fit.at(temps)
    else:
        # One point thins like what the product runs like.
        away = 1.0 / (temps + 273.15) - 1.0 / (now + 273.15)
        curve = told.consistency_pa_s * np.exp(told.thinning_k * away)
    spread = np.exp(fit.spread(temps))
    return FlowPlot(
        temps_c=tuple(temps.tolist()),
        curve_mpa_s=_mpa_s(curve),
        low_mpa_s=_mpa_s(curve / spread),
        high_mpa_s=_mpa_s(curve * spread),
        point_temps_c=tuple(float(p.at_c) for p in points),
        points_mpa_s=tuple(float(p.viscosity_mpa_s) for p in points),
        now_c=now,
        title=product.name,
    )


def _over_rate(product: Product, told: ToldFlow) -> FlowPlot:
    """Return the apparent viscosity over the shear rate, as read or at the fill."""
    flow, at_c = product.flow, float(product.product_c)
    readings = flow.readings if flow is not None and told.by_rate is not None else ()
    rates = _RATES
    if readings:
        seen = [float(r.rate_per_s) for r in readings]
        rates = np.geomspace(min(1.0, *seen), max(2000.0, *seen), len(_RATES))
    curve = FlowCurve(
        yield_stress=told.yield_pa, consistency=told.consistency_pa_s, index=told.flow_index
    )
    if readings and told.by_rate is not None and flow is not None:
        curve = told.by_rate.curve
        at_c = at_c if flow.readings_c is None else float(flow.readings_c)
    thick = curve.stress(rates) / rates
    reach = math.exp(told.thickness_spread)
    return FlowPlot(
        rates_per_s=tuple(rates.tolist()),
        curve_mpa_s=_mpa_s(thick),
        low_mpa_s=_mpa_s(thick / reach),
        high_mpa_s=_mpa_s(thick * reach),
        point_rates_per_s=tuple(float(r.rate_per_s) for r in readings),
        points_mpa_s=tuple(float(r.viscosity_mpa_s) for r in readings),
        title=f"{product.name} at {at_c:g} °C",
    )


def _mpa_s(thick: np.ndarray) -> tuple[float, ...]:
    """Return viscosities [Pa·s] in millipascal seconds."""
    return tuple(mpa_s_from_pa_s(float(one)) for one in thick)
