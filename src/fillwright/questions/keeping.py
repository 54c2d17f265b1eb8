"""Questions about what is kept from before: a proof, and an average empty."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Count, Given, Real, Values, check_span, grams
from fillwright.records.units import kg_from_g

__all__ = ["kept_proof", "tare"]

Positive = Annotated[float, Real(above=0)]
NotNegative = Annotated[float, Real(at_least=0)]


class KeptProofGiven(Given):
    """A kept proof, and a few new doses against it; without doses the limits alone."""

    kept_sd_g: Positive = Field(
        description="Sd of the readings of the kept proof.", examples=[0.4]
    )
    kept_shots: Annotated[int, Count(at_least=5, at_most=100_000)] = Field(
        description="How many they were.", examples=[30]
    )
    target_g: Positive = Field(
        description="Aim that the machine is trimmed to now.", examples=[252]
    )
    trim_sd_g: NotNegative = Field(
        default=0.0, description="How far the trim leaves the middle from the aim, one sd."
    )
    shots: Annotated[int, Count(at_least=3, at_most=1000)] = Field(
        default=5, description="New doses planned."
    )
    false_alarm: Annotated[float, Real(above=0, below=0.5)] = Field(
        default=0.05, description="Chance at most that an unchanged machine disagrees."
    )
    readings_g: Values[Positive] | None = Field(
        default=None,
        description="The new doses in time order, exactly as many as planned.",
        examples=[[252.1, 251.8, 252.4, 252.0, 251.9]],
    )


class KeptProofAnswer(Answer):
    """The limits, fixed before the first dose, and what the doses say."""

    verdict: Literal["agrees", "disagrees"] | None
    mean_low_g: float
    mean_high_g: float
    most_sd_g: float
    mean_g: float | None
    sd_g: float | None
    overlooked_spread: float
    overlooked_shift: float


def kept_proof(given: KeptProofGiven) -> KeptProofAnswer:
    """Answer whether a proof that was kept still speaks for a machine."""
    from fillwright.science import kept_proof as science  # noqa: PLC0415  loaded when asked

    check = science.kept_check(
        kg_from_g(given.kept_sd_g),
        kept_shots=given.kept_shots,
        target=kg_from_g(given.target_g),
        trim_sd=kg_from_g(given.trim_sd_g),
        shots=given.shots,
        false_alarm=given.false_alarm,
    )
    found = None
    if given.readings_g is not None:
        if len(given.readings_g) != given.shots:
            message = (
                f"readings_g holds {len(given.readings_g)}, and {given.shots} were planned. Give "
                "exactly those."
            )
            raise BadInput(
                message,
                field="readings_g",
                given=len(given.readings_g),
                allowed=str(given.shots),
                code="inconsistent",
            )
        found = science.kept_judge([kg_from_g(one) for one in given.readings_g], check)
    because = (
        f"{given.shots} doses must have their mean from {grams(check.mean_low):.6g} to "
        f"{grams(check.mean_high):.6g} g and an sd of at most {grams(check.most_sd):.3g} g."
        if found is None
        else found.because
    )
    return KeptProofAnswer(
        verdict=None if found is None else found.verdict.value,
        mean_low_g=grams(check.mean_low),
        mean_high_g=grams(check.mean_high),
        most_sd_g=grams(check.most_sd),
        mean_g=None if found is None else grams(found.mean),
        sd_g=None if found is None else grams(found.sd),
        overlooked_spread=check.overlooked_spread,
        overlooked_shift=check.overlooked_shift,
        because=because,
        assumptions=check.assumptions,
        sources=(check.equation,),
    )


class TareGiven(Given):
    """Empties that were weighed, and what one container may be short by or the dose band."""

    empties_g: Values[Positive] = Field(
        min_length=2,
        description="Empties, as the scale showed them.",
        examples=[[26.3, 26.5, 26.2, 26.6, 26.4]],
    )
    shortage_g: Positive | None = Field(
        default=None, description="What one container may be short by, as a weight.", examples=[9]
    )
    half_band_g: Positive | None = Field(
        default=None, description="Half width of the band that doses are held to.", examples=[2.5]
    )
    readability_g: NotNegative = Field(
        default=0.0, description="Step of the weighing scale; 0 where it can be neglected."
    )


class TareAnswer(Answer):
    """The average empty, how sure it is, and whether it will do for all."""

    verdict: Literal["enough", "more-empties", "weigh-each"]
    mean_g: float
    sd_g: float
    u_mean_g: float
    half_width_g: float
    scatter_limit_g: float
    mean_limit_g: float
    empties_needed: int


def tare(given: TareGiven) -> TareAnswer:
    """Answer whether one average empty will do for all containers."""
    from fillwright.science.tare_fit import tare_fit  # noqa: PLC0415  loaded when asked

    if given.shortage_g is None and given.half_band_g is None:
        raise BadInput(
            "Give shortage_g, half_band_g, or both: without them nothing limits the tare.",
            field="shortage_g",
            allowed="a weight above 0",
            code="missing",
        )
    check_span(given.empties_g, "empties_g", step=given.readability_g)
    many = len(given.empties_g)
    mean_g = sum(given.empties_g) / many
    sd_g = (sum((one - mean_g) ** 2 for one in given.empties_g) / (many - 1)) ** 0.5
    found = tare_fit(
        kg_from_g(sd_g),
        empties=many,
        shortage=None if given.shortage_g is None else kg_from_g(given.shortage_g),
        half_band=None if given.half_band_g is None else kg_from_g(given.half_band_g),
        readability=kg_from_g(given.readability_g),
    )
    told = {
        "enough": "that will do for all of them",
        "more-empties": f"{found.empties_needed} empties would do",
        "weigh-each": "they differ too much: weigh each empty",
    }
    return TareAnswer(
        verdict=found.verdict.value,
        mean_g=mean_g,
        sd_g=sd_g,
        u_mean_g=grams(found.u_mean),
        half_width_g=grams(found.half_width),
        scatter_limit_g=grams(found.scatter_limit),
        mean_limit_g=grams(found.mean_limit),
        empties_needed=found.empties_needed,
        because=f"The average of {many} is sure to ±{grams(found.half_width):.2g} g, 19 times in "
        f"20; {told[found.verdict.value]}.",
        assumptions=found.assumptions,
        sources=(found.equation,),
    )
