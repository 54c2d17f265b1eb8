"""Questions about a product as it was measured: viscosity, flow curve, volume of water."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Given, Real, Values

__all__ = ["flow_curve_fit", "viscosity_fit", "z_factor"]

Celsius = Annotated[float, Real(at_least=-200, at_most=1000)]
Pair = Annotated[
    Values[Annotated[float, Real(at_most=1000000000)]], Field(min_length=2, max_length=2)
]
_MOST_POINTS = 10_000
_KELVIN_FROM = 250.0
_STIFFEST_PA = 20_000.0


class ViscosityFitGiven(Given):
    """Viscosities as measured."""

    points: Annotated[Values[Pair], Field(min_length=1, max_length=_MOST_POINTS)] = Field(
        description="Pairs of temperature_c and viscosity_pa_s.",
        examples=[[[20, 10], [30, 2.5], [40, 0.85]]],
    )
    at_c: Celsius = Field(description="Temperature asked for.", examples=[25])
    model: Literal["constant", "andrade", "vogel"] | None = Field(
        default=None, description="Curve; by the number of temperatures when left out."
    )


class ViscosityFitAnswer(Answer):
    """The viscosity asked for, and the curve."""

    viscosity_pa_s: float
    low_pa_s: float
    high_pa_s: float
    model: Literal["constant", "andrade", "vogel"]
    t0_k: float | None
    extrapolated: bool


def viscosity_fit(given: ViscosityFitGiven) -> ViscosityFitAnswer:
    """Answer the viscosity at a temperature from measured ones."""
    from fillwright.science import viscosity_fit as fitting  # noqa: PLC0415  loaded when asked
    from fillwright.science.unit_slips import viscosity_slip  # noqa: PLC0415  loaded when asked

    model = None if given.model is None else fitting.ViscosityModel(given.model)
    warmth, thickness = _columns(given.points)
    found = fitting.fit_viscosity(warmth, thickness, model=model)
    value = float(found.at(given.at_c))
    reach = math.exp(float(found.spread(given.at_c)))
    extrapolated = bool(found.is_extrapolated(given.at_c))
    names = {"constant": "one value for all", "andrade": "after Andrade", "vogel": "after Vogel"}
    slip = viscosity_slip(max(thickness))
    outside = " It is outside what was measured by more than 5 K." if extrapolated else ""
    asked = f" {slip}" if slip else ""
    if extrapolated and given.at_c > _KELVIN_FROM:
        asked += f" Did you mean {given.at_c - 273.15:.4g} °C ({given.at_c:g} K)?"
    return ViscosityFitAnswer(
        viscosity_pa_s=value,
        low_pa_s=value / reach,
        high_pa_s=value * reach,
        model=found.model.value,
        t0_k=found.pole if found.model is fitting.ViscosityModel.VOGEL else None,
        extrapolated=extrapolated,
        because=(
            f"{value:.4g} Pa·s at {given.at_c:g} °C, {names[found.model.value]}.{outside}{asked}"
        ),
        assumptions=(
            *found.told,
            *(
                ("One temperature: the viscosity is taken as the same at all others.",)
                if found.model is fitting.ViscosityModel.CONSTANT
                else ()
            ),
            "The range holds 5 % of a reading and grows outside what was measured (judgement).",
        ),
        sources=(
            "Andrade, Phil. Mag. 17, 497 (1934) (from memory)",
            "Vogel, Phys. Z. 22, 645 (1921) (from memory)",
        ),
    )


class FlowCurveFitGiven(Given):
    """Viscometer readings."""

    points: Annotated[Values[Pair], Field(min_length=1, max_length=_MOST_POINTS)] = Field(
        description="Pairs of shear_rate_1_s and apparent viscosity_pa_s.",
        examples=[[[1, 23], [5, 6.3], [20, 2.29], [100, 0.785], [500, 0.292]]],
    )


class FlowCurveFitAnswer(Answer):
    """The flow curve."""

    model: Literal["newtonian", "power-law", "bingham", "herschel-bulkley"]
    k_pa_sn: float
    n: float
    yield_pa: float
    fit_error: float
    least_rate_1_s: float
    most_rate_1_s: float


def flow_curve_fit(given: FlowCurveFitGiven) -> FlowCurveFitAnswer:
    """Answer the flow curve that fits viscometer readings."""
    from fillwright.science.flow_fit import fit_flow_curve  # noqa: PLC0415  loaded when asked

    rates, thickness = _columns(given.points)
    found = fit_flow_curve(rates, [r * v for r, v in zip(rates, thickness, strict=True)])
    start, consistency, index = (float(one) for one in found.curve.figures)
    steepest = max(zip(rates, thickness, strict=True), key=lambda p: p[0] * p[1])
    asked = ""
    if steepest[0] * steepest[1] > _STIFFEST_PA:
        thick = steepest[1]
        asked = f" Did you mean {thick / 1e3:.4g} Pa·s ({thick:.6g} mPa·s)?"
    words = {
        "newtonian": "The same viscosity at every rate",
        "power-law": "It thins" if index < 1.0 else "It thickens",
        "bingham": "It stands up to a yield stress",
        "herschel-bulkley": "It stands up to a yield stress and then thins",
    }
    return FlowCurveFitAnswer(
        model=found.model,
        k_pa_sn=consistency,
        n=index,
        yield_pa=start,
        fit_error=found.error,
        least_rate_1_s=found.least_rate,
        most_rate_1_s=found.most_rate,
        because=f"{words[found.model]}; the curve misses the readings by "
        f"{100.0 * found.error:.3g} % of stress.{asked}",
        assumptions=(
            *found.told,
            (
                "Trust it from a third of the least rate to three times the greatest; a nozzle "
                "often has 1000 1/s and more."
            ),
        ),
        sources=(
            "Herschel and Bulkley, Kolloid-Z. 39, 291 (1926) (from memory)",
            "Hurvich and Tsai, Biometrika 76, 297 (1989) (from memory)",
        ),
    )


class ZFactorGiven(Given):
    """Water on a scale, and the air around it."""

    temperature_c: Annotated[float, Real(at_least=0, at_most=40, code="outside-model")] = Field(
        description="Temperature of the water.", examples=[20]
    )
    pressure_hpa: Annotated[float, Real(at_least=500, at_most=1100, code="outside-model")] = Field(
        description="Air pressure at the place.", examples=[1013]
    )
    relative_humidity_percent: Annotated[float, Real(at_least=0, at_most=100)] = Field(
        description="Humidity of the air.", examples=[50]
    )
    weights_density_kg_m3: Annotated[float, Real(at_least=100, at_most=30000)] = Field(
        description="Density of the weights that the scale was adjusted with.", examples=[8000]
    )


class ZFactorAnswer(Answer):
    """Volume of water for each unit of weight shown."""

    z_ul_per_mg: float


def z_factor(given: ZFactorGiven) -> ZFactorAnswer:
    """Answer what volume of water is behind a weight."""
    from fillwright.science import weighed_volume  # noqa: PLC0415  loaded when asked

    found = 1e3 * weighed_volume.z_factor(
        given.temperature_c,
        pressure=100.0 * given.pressure_hpa,
        humidity=given.relative_humidity_percent / 100.0,
        weights_density=given.weights_density_kg_m3,
    )
    return ZFactorAnswer(
        z_ul_per_mg=found,
        because=f"1 mg of water on the scale is {found:.4f} µL.",
        assumptions=("Water free of air; air and water at one temperature.",),
        sources=(
            "ISO 8655-6, annex on the conversion of balance readings (from memory)",
            "Tanaka et al., Metrologia 38, 301 (2001) (coefficients from memory)",
            "OIML R 111-1:2004, equation E.3-1 (from memory)",
        ),
    )


def _columns(points: tuple[tuple[float, ...], ...]) -> tuple[list[float], list[float]]:
    """Return the two columns of pairs; the second, and no other, must be above zero."""
    for place, (_, thick) in enumerate(points):
        if thick <= 0.0:
            raise BadInput(
                f"points[{place}][1] is {thick:g}; give a viscosity above zero.",
                field=f"points[{place}][1]",
                given=thick,
                allowed="above 0",
            )
    return [p[0] for p in points], [p[1] for p in points]
