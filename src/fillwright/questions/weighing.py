"""Questions about a weighing scale: air, buoyancy, conformance, rounding, is it good enough."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Count, Given, Real, Values, check_span, grams
from fillwright.records.units import (
    kelvin_from_c,
    kg_from_g,
    ml_from_m3,
    pa_from_hpa,
    share_from_pct,
)

__all__ = [
    "acceptance_limit",
    "air_density",
    "buoyancy",
    "conformance",
    "rounded_sd",
    "scale_check",
]

_R111 = "OIML R 111-1:2004, Annex E, equation E.3-1 (from memory)"
_ISO8655 = "ISO 8655-6:2022, annex on the conversion of balance readings (from memory)"
_FINEST = 1e6
_JCGM106 = "JCGM 106:2012, sections 7 and 8 (from memory)"


class AirDensityGiven(Given):
    """The state of the air at the weighing scale."""

    temp_c: Annotated[float, Real(at_least=0, at_most=50, code="outside-model")] = Field(
        description="Air temperature.", examples=[20]
    )
    pressure_hpa: Annotated[float, Real(at_least=500, at_most=1100, code="outside-model")] = Field(
        description="Air pressure at the place, not reduced to sea level.",
        examples=[1013.25],
    )
    relative_humidity_percent: Annotated[
        float, Real(at_least=0, at_most=100, code="outside-model")
    ] = Field(description="Humidity, relative.", examples=[50])


class AirDensityAnswer(Answer):
    """Density of moist air."""

    density_kg_m3: float


def air_density(given: AirDensityGiven) -> AirDensityAnswer:
    """Answer with the density of moist air."""
    from fillwright.science import weighing  # noqa: PLC0415  loaded when asked

    density = weighing.air_density(
        kelvin_from_c(given.temp_c),
        pressure=pa_from_hpa(given.pressure_hpa),
        humidity=share_from_pct(given.relative_humidity_percent),
    )
    return AirDensityAnswer(
        density_kg_m3=density,
        because=f"Moist air in this state has {density:.4f} kg/m³.",
        assumptions=("The simplified equation for moist air is good enough for buoyancy.",),
        sources=(_R111,),
    )


class BuoyancyGiven(Given):
    """A net reading and the three densities that matter."""

    reading_g: Annotated[float, Real(at_least=0)] = Field(
        description="Net reading of the weighing scale.", examples=[250]
    )
    liquid_density_kg_m3: Annotated[float, Real(above=10, at_most=30000)] = Field(
        description="Density of the liquid.", examples=[998.2]
    )
    air_density_kg_m3: Annotated[float, Real(at_least=0, at_most=5)] = Field(
        description="Density of the air.", examples=[1.2]
    )
    weights_density_kg_m3: Annotated[float, Real(above=10, at_most=30000)] = Field(
        description="Density of the weights the scale was adjusted with; 8000 by convention.",
        examples=[8000],
    )


class BuoyancyAnswer(Answer):
    """Mass and volume behind a reading in air."""

    mass_g: float
    volume_ml: float


def buoyancy(given: BuoyancyGiven) -> BuoyancyAnswer:
    """Answer with mass and volume of the liquid that was weighed."""
    from fillwright.science import weighing  # noqa: PLC0415  loaded when asked

    mass = float(
        weighing.mass_from_reading(
            kg_from_g(given.reading_g),
            liquid_density=given.liquid_density_kg_m3,
            air_density=given.air_density_kg_m3,
            weights_density=given.weights_density_kg_m3,
        )
    )
    volume_ml = ml_from_m3(mass / given.liquid_density_kg_m3)
    return BuoyancyAnswer(
        mass_g=grams(mass),
        volume_ml=volume_ml,
        because=f"Corrected for buoyancy the mass is {grams(mass):.6g} g, "
        f"the volume {volume_ml:.6g} mL at the temperature of the density.",
        assumptions=("The density is the true one at the temperature of the liquid.",),
        sources=(_ISO8655,),
    )


class ConformanceGiven(Given):
    """One reading against a tolerance."""

    deviation_g: Annotated[float, Real()] = Field(
        description="Reading less target.", examples=[0.4]
    )
    tolerance_g: Annotated[float, Real(above=0)] = Field(
        description="Half width of the band about the target.", examples=[1]
    )
    standard_uncertainty_g: Annotated[float, Real(above=0)] = Field(
        description="Standard uncertainty of the reading.", examples=[0.3]
    )


class ConformanceAnswer(Answer):
    """Chance that the true dose is inside."""

    probability: float


def conformance(given: ConformanceGiven) -> ConformanceAnswer:
    """Answer with the probability that the dose is inside, given one reading."""
    from fillwright.science import weighing  # noqa: PLC0415  loaded when asked

    probability = float(
        weighing.conformance_probability(
            kg_from_g(given.deviation_g),
            tolerance=kg_from_g(given.tolerance_g),
            standard_uncertainty=kg_from_g(given.standard_uncertainty_g),
        )
    )
    return ConformanceAnswer(
        probability=probability,
        because=f"The dose is inside with probability {probability:.4g}.",
        assumptions=(
            "Errors of the scale are normal.",
            "Nothing is known of the dose before it is weighed.",
        ),
        sources=(_JCGM106,),
    )


class AcceptanceLimitGiven(Given):
    """A tolerance, an uncertainty and the probability that is wanted."""

    tolerance_g: Annotated[float, Real(above=0)] = Field(
        description="Half width of the band about the target.", examples=[5]
    )
    standard_uncertainty_g: Annotated[float, Real(above=0)] = Field(
        description="Standard uncertainty of a reading.", examples=[1]
    )
    conformance_probability: Annotated[float, Real(above=0, below=1)] = Field(
        description="Probability that every accepted reading must have.", examples=[0.95]
    )


class AcceptanceLimitAnswer(Answer):
    """How far off a reading may be; null where no limit reaches the probability."""

    acceptance_limit_g: float | None
    guard_band_g: float | None


def acceptance_limit(given: AcceptanceLimitGiven) -> AcceptanceLimitAnswer:
    """Answer with the largest deviation that may be accepted."""
    from fillwright.science import weighing  # noqa: PLC0415  loaded when asked

    if given.tolerance_g > _FINEST * given.standard_uncertainty_g:
        raise BadInput(
            f"tolerance_g is {given.tolerance_g:g}, over a million times the uncertainty; check "
            "the units.",
            field="tolerance_g",
            given=given.tolerance_g,
            allowed=f"up to {_FINEST * given.standard_uncertainty_g:g}",
            code="inconsistent",
        )
    found = weighing.acceptance_limit(
        kg_from_g(given.tolerance_g),
        standard_uncertainty=kg_from_g(given.standard_uncertainty_g),
        probability=given.conformance_probability,
    )
    return AcceptanceLimitAnswer(
        acceptance_limit_g=None if found.limit is None else grams(found.limit),
        guard_band_g=None if found.guard_band is None else grams(found.guard_band),
        because=found.because,
        assumptions=found.assumptions,
        sources=(found.equation,),
    )


class RoundedSdGiven(Given):
    """Readings that a scale has rounded; readings and readability in one unit of any kind."""

    readings: Values[Annotated[float, Real()]] = Field(
        description="Readings, two or more.", min_length=2, examples=[[498, 502, 500, 500]]
    )
    readability: Annotated[float, Real(at_least=0)] = Field(
        description="Step of the weighing scale; 0 where it can be neglected.", examples=[2]
    )


class RoundedSdAnswer(Answer):
    """The spread behind the rounded readings, in their unit."""

    mean: float
    sd: float | None
    sd_upper_95: float
    sd_raw: float
    sd_sheppard: float | None
    method: str
    neg_log_likelihood: float | None


def rounded_sd(given: RoundedSdGiven) -> RoundedSdAnswer:
    """Answer with the spread of the doses behind rounded readings."""
    from fillwright.science import weighing  # noqa: PLC0415  loaded when asked

    check_span(given.readings, "readings", step=given.readability)
    found = weighing.rounded_sd(given.readings, readability=given.readability)
    because = (
        f"The step is too coarse for a figure; the sd is below {found.sd_upper:.3g}."
        if found.sd is None
        else f"The sd is {found.sd:.3g}, below {found.sd_upper:.3g} with 95 %."
    )
    return RoundedSdAnswer(
        mean=found.mean,
        sd=found.sd,
        sd_upper_95=found.sd_upper,
        sd_raw=found.sd_raw,
        sd_sheppard=found.sd_sheppard,
        method=found.method,
        neg_log_likelihood=found.neg_log_likelihood,
        because=because,
        assumptions=found.assumptions,
        sources=(found.equation,),
    )


class ScaleCheckGiven(Given):
    """A weighing scale and the tolerance it is to judge."""

    tolerance_g: Annotated[float, Real(above=0)] = Field(
        description="Half width of the band about the target.", examples=[2.5]
    )
    readability_g: Annotated[float, Real(at_least=0)] = Field(
        description="Step of the weighing scale.", examples=[0.1]
    )
    repeatability_sd_g: Annotated[float, Real(at_least=0)] = Field(
        description="Sd of the weighing scale for one load, rounding left out.", examples=[0.05]
    )
    dose_sd_g: Annotated[float, Real(at_least=0)] | None = Field(
        default=None, description="Sd from dose to dose, where several doses are averaged."
    )
    tare_sd_g: Annotated[float, Real(at_least=0)] | None = Field(
        default=None, description="Sd of the empties, where a mean tare is used."
    )
    repeats: Annotated[int, Count(at_least=1, at_most=100)] | None = Field(
        default=None, description="Readings to be averaged as planned; 1 when left out."
    )


class ScaleCheckAnswer(Answer):
    """Whether the weighing scale will do, and how."""

    verdict: Literal["good-enough", "repeats", "running-total", "no"]
    repeats: int
    u_single_g: float
    u_mean_g: float
    residual_rounding_g: float
    allowed_g: float


def scale_check(given: ScaleCheckGiven) -> ScaleCheckAnswer:
    """Answer whether a weighing scale can judge doses against a tolerance."""
    from fillwright.science import scale_check as science  # noqa: PLC0415  loaded when asked

    found = science.scale_check(
        kg_from_g(given.tolerance_g),
        readability=kg_from_g(given.readability_g),
        repeatability_sd=kg_from_g(given.repeatability_sd_g),
        dose_sd=None if given.dose_sd_g is None else kg_from_g(given.dose_sd_g),
        tare_sd=kg_from_g(given.tare_sd_g or 0.0),
        repeats=given.repeats or 1,
    )
    return ScaleCheckAnswer(
        verdict=found.verdict.value,
        repeats=found.repeats,
        u_single_g=grams(found.u_single),
        u_mean_g=grams(found.u_mean),
        residual_rounding_g=grams(found.residual_rounding),
        allowed_g=grams(found.allowed),
        because=found.because,
        assumptions=found.assumptions,
        sources=(found.equation,),
    )
