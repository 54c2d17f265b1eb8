"""Questions of net contents that aim: target fill, chance of acceptance, weight and volume."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Final, Literal

from pydantic import Field

from fillwright.questions.contents import Label, MavSupplied, PlanName
from fillwright.questions.fields import (
    Answer,
    Count,
    Exact,
    Figures,
    Given,
    Real,
    RulesName,
    UnitName,
)

__all__ = ["acceptance_chance", "content_volume", "target_fill", "target_weight"]

_SEED: Final = 1
_MOST_DRAWN: Final = 5_000
NotNegative = Annotated[float, Real(at_least=0, at_most=1e6)]
Chance = Annotated[float, Real(at_least=1e-9, at_most=1 - 1e-9)]
Shortage = Annotated[Decimal, Exact(above=0, at_most=1_000_000)]
LotSize = Annotated[int, Count(at_least=1, at_most=10_000_000)]
Density = Annotated[Decimal, Exact(at_least=0.01, at_most=25)]
_WEIGHED_IN_AIR: Final = (
    "V20 = W (1 - 0.0012/8.0) / (density - 0.0012); conventional densities of OIML R 111-1 "
    "(from memory)"
)
_PLAN: Final = (
    "Where the rule set has a choice; double for the EU, single for the UK when left out."
)


class PlanNumbersGiven(Given):
    """A plan by its figures alone."""

    n: Annotated[int, Count(at_least=2, at_most=_MOST_DRAWN)] = Field(
        description="Packages drawn."
    )
    n_mean: Annotated[int, Count(at_least=2, at_most=_MOST_DRAWN)] = Field(
        description="Packages in the test of the mean."
    )
    k: Annotated[Decimal, Exact(at_least=0, at_most=1000)] = Field(
        description="Sample correction factor."
    )
    ac: Annotated[int, Count(at_least=0, at_most=_MOST_DRAWN)] = Field(
        description="Acceptance number."
    )
    re: Annotated[int, Count(at_least=1, at_most=_MOST_DRAWN)] | None = Field(
        default=None, description="Rejection number; one more than ac when left out."
    )
    ac2: Annotated[int, Count(at_least=0, at_most=_MOST_DRAWN)] | None = Field(
        default=None, description="Acceptance number over both samples of a double plan."
    )


class TargetFillGiven(Given):
    """The scatter of a process and the risks that are taken."""

    rules: RulesName = Field(description="Rule set.", examples=["EU-76/211"])
    plan: PlanName | None = Field(default=None, description=_PLAN)
    nominal: Label = Field(description="Declared quantity.", examples=[250])
    unit: UnitName = Field(default="g", description="Unit of the label and of every figure.")
    t: Shortage | None = Field(
        default=None, alias="T", description="Tolerable shortage instead of the table's."
    )
    mav_supplied: MavSupplied | None = Field(
        default=None, description="Variation typed from the document, where no table is held."
    )
    lot_size: LotSize | None = Field(
        default=None,
        description="Packages in the lot; without it and plan_numbers the test is left out.",
        examples=[1000],
    )
    plan_numbers: PlanNumbersGiven | None = Field(
        default=None, description="A plan by its figures, instead of lot_size."
    )
    sd_within: NotNegative = Field(description="Sd of contents within a lot.", examples=[1.2])
    sd_between_lots: NotNegative = Field(
        description="Sd of the mean from lot to lot.", examples=[0.3]
    )
    sd_tare: NotNegative = Field(
        description="Sd of single tares, where the inspector uses a mean tare.", examples=[0.2]
    )
    u_bias: NotNegative = Field(
        description="Standard uncertainty of what shifts every package alike.", examples=[0.1]
    )
    bias_confidence: Chance = Field(
        default=0.95, description="Confidence that the average is not short for that reason."
    )
    p1_max: Chance | None = Field(
        default=None,
        description="Largest true share below T1; the rule set's own when left out.",
    )
    p2_max: Chance | None = Field(
        default=None,
        description="Largest true share below T2; the rule set's own when left out.",
    )
    alpha: Chance = Field(
        default=0.01, description="Largest chance that the reference test rejects."
    )
    sd_estimated_from_n: Annotated[int, Count(at_least=2, at_most=1_000_000)] | None = Field(
        default=None, description="Doses behind sd_within, where it is an estimate."
    )
    sd_confidence: Chance = Field(
        default=0.95, description="Confidence of the upper limit of that sd."
    )


class Components(Figures):
    """Least target that each constraint alone would ask for; null where it does not apply."""

    average: float
    t1_fraction: float | None = Field(serialization_alias="T1_fraction")
    t2_fraction: float | None = Field(serialization_alias="T2_fraction")
    reference_test: float | None


class TargetFillAnswer(Answer):
    """The target and what sets it."""

    target: float
    giveaway: float
    binding: Literal["average", "T1_fraction", "T2_fraction", "reference_test"]
    components: Components
    sd_within_used: float
    sd_factor: float
    giveaway_if_sd_known: float
    saving_per_sd: float
    shortage: float
    plan_row: str | None
    rule: str


def target_fill(given: TargetFillGiven) -> TargetFillAnswer:
    """Answer with the least process mean that keeps every promise."""
    from fillwright.knowledge.load import rule_set  # noqa: PLC0415  loaded when asked
    from fillwright.science import quantity  # noqa: PLC0415  loaded when asked

    numbers = given.plan_numbers
    found = quantity.target_fill(
        rule_set(given.rules),
        nominal=given.nominal,
        unit=given.unit,
        sd_within=given.sd_within,
        lot_size=given.lot_size,
        plan=given.plan,
        plan_numbers=None
        if numbers is None
        else quantity.PlanNumbers(
            n=numbers.n,
            n_mean=numbers.n_mean,
            k=numbers.k,
            ac=numbers.ac,
            re=numbers.re,
            ac2=numbers.ac2,
        ),
        t=given.t,
        supplied=None if given.mav_supplied is None else given.mav_supplied.as_science(),
        sd_between_lots=given.sd_between_lots,
        sd_tare=given.sd_tare,
        u_bias=given.u_bias,
        bias_confidence=given.bias_confidence,
        p1_max=given.p1_max,
        p2_max=given.p2_max,
        alpha=given.alpha,
        sd_estimated_from_n=given.sd_estimated_from_n,
        sd_confidence=given.sd_confidence,
    )
    return TargetFillAnswer(
        target=found.target,
        giveaway=found.giveaway,
        binding=found.binding.value,
        components=Components(
            average=found.components.average,
            t1_fraction=found.components.t1_fraction,
            t2_fraction=found.components.t2_fraction,
            reference_test=found.components.reference_test,
        ),
        sd_within_used=found.sd_within_used,
        sd_factor=found.sd_factor,
        giveaway_if_sd_known=found.giveaway_if_sd_known,
        saving_per_sd=found.saving_per_sd,
        shortage=found.shortage,
        plan_row=found.plan_row,
        rule=found.rule,
        because=found.because,
        assumptions=found.assumptions,
        sources=found.sources,
    )


class AcceptanceChanceGiven(Given):
    """A process and the lot it fills."""

    rules: RulesName = Field(description="Rule set.", examples=["EU-76/211"])
    plan: PlanName | None = Field(default=None, description=_PLAN)
    nominal: Label = Field(description="Declared quantity.", examples=[100])
    unit: UnitName = Field(default="g", description="Unit of the label and of every figure.")
    t: Shortage | None = Field(
        default=None, alias="T", description="Tolerable shortage instead of the table's."
    )
    mav_supplied: MavSupplied | None = Field(
        default=None, description="Variation typed from the document, where no table is held."
    )
    lot_size: LotSize = Field(description="Packages in the lot.", examples=[300])
    process_mean: Annotated[float, Real(at_least=0, at_most=1e6)] = Field(
        description="Long-run mean content.", examples=[100]
    )
    sd_within: NotNegative = Field(description="Sd of contents within a lot.", examples=[2.5])
    sd_between_lots: NotNegative = Field(
        description="Sd of the mean from lot to lot.", examples=[0]
    )
    seed: Annotated[int, Count(at_least=0, at_most=2**31)] = Field(
        default=_SEED, description="Where the random draws start, when there are any."
    )


class AcceptanceChanceAnswer(Answer):
    """The chance with its standard error, and the parts."""

    p_accept: float
    standard_error: float
    p_mean: float
    p_individual: float
    p_t2: float | None = Field(serialization_alias="p_T2")
    p_below_t1: float = Field(serialization_alias="p_below_T1")
    lower: float
    upper: float
    method: Literal["bounds", "conditioning", "failures", "simulation"]
    lots: int
    seed: int
    shortage: float
    plan_row: str
    rule: str


def acceptance_chance(given: AcceptanceChanceGiven) -> AcceptanceChanceAnswer:
    """Answer with the chance that the reference test accepts a lot of a process."""
    import numpy as np  # noqa: PLC0415  loaded when asked

    from fillwright.knowledge.load import rule_set  # noqa: PLC0415  loaded when asked
    from fillwright.science import quantity  # noqa: PLC0415  loaded when asked

    found = quantity.acceptance_chance(
        rule_set(given.rules),
        nominal=given.nominal,
        unit=given.unit,
        lot_size=given.lot_size,
        process_mean=given.process_mean,
        sd_within=given.sd_within,
        rng=np.random.default_rng(given.seed),
        sd_between_lots=given.sd_between_lots,
        plan=given.plan,
        t=given.t,
        supplied=None if given.mav_supplied is None else given.mav_supplied.as_science(),
    )
    return AcceptanceChanceAnswer(
        p_accept=found.p_accept,
        standard_error=found.standard_error,
        p_mean=found.p_mean,
        p_individual=found.p_individual,
        p_t2=found.p_t2,
        p_below_t1=found.p_below_t1,
        lower=found.lower,
        upper=found.upper,
        method=found.method.value,
        lots=found.lots,
        seed=given.seed,
        shortage=found.shortage,
        plan_row=found.plan_row,
        rule=found.rule,
        because=found.because,
        assumptions=found.assumptions,
        sources=found.sources,
    )


class ContentVolumeGiven(Given):
    """A net reading and the density of the product."""

    net_g: Annotated[Decimal, Exact(at_least=0, at_most=1_000_000)] = Field(
        description="Net reading of the weighing scale.", examples=["498.6"]
    )
    density_20_g_per_ml: Density = Field(
        description="Density at 20 °C: the true one with buoyancy, the one weighed in air "
        "without.",
        examples=["0.9982"],
    )
    buoyancy: bool = Field(
        description="Whether to correct for the buoyancy of air.", examples=[True]
    )


class ContentVolumeAnswer(Answer):
    """The volume at 20 °C."""

    volume_20_ml: float


def content_volume(given: ContentVolumeGiven) -> ContentVolumeAnswer:
    """Answer with the volume at 20 °C behind a net reading."""
    from fillwright.science import quantity  # noqa: PLC0415  loaded when asked

    volume_ml = quantity.content_volume(
        given.net_g, density_20_g_per_ml=given.density_20_g_per_ml, buoyancy=given.buoyancy
    )
    how = "corrected for buoyancy" if given.buoyancy else "by the density weighed in air"
    return ContentVolumeAnswer(
        volume_20_ml=float(volume_ml),
        because=f"{given.net_g:f} g are {float(volume_ml):.6g} mL at 20 °C, {how}.",
        assumptions=(
            "Air has 0.0012 g/mL and the weights of the scale 8.0 g/mL."
            if given.buoyancy
            else "The density is an apparent one, so that no buoyancy is left to correct.",
        ),
        sources=(_WEIGHED_IN_AIR,),
    )


class TargetWeightGiven(Given):
    """A label volume and the product as it is filled."""

    nominal_ml: Annotated[Decimal, Exact(above=0, at_most=1_000_000)] = Field(
        description="Volume at 20 °C to be delivered.", examples=[250]
    )
    density_g_per_ml: Density = Field(
        description="Density, measured at density_temp_c.", examples=["0.985"]
    )
    density_temp_c: Annotated[Decimal, Exact(at_least=-50, at_most=200)] = Field(
        description="Temperature at which the density holds.", examples=[20]
    )
    expansion_per_k: Annotated[Decimal, Exact(at_least=-0.001, at_most=0.01)] = Field(
        description="Growth of volume for each kelvin, relative.", examples=["0.0005"]
    )
    product_c: Annotated[Decimal, Exact(at_least=-50, at_most=200)] = Field(
        description="Temperature at the nozzle while filling.", examples=[35]
    )
    buoyancy: bool = Field(
        description="Whether to correct for the buoyancy of air.", examples=[True]
    )


class TargetWeightAnswer(Answer):
    """True mass, scale reading and stroke volume."""

    target_g: float
    reading_g: float
    stroke_ml_at_product_temp: float
    density_20_g_per_ml: float
    density_product_g_per_ml: float


def target_weight(given: TargetWeightGiven) -> TargetWeightAnswer:
    """Answer with what the scale shows when the label volume is inside."""
    from fillwright.science import quantity  # noqa: PLC0415  loaded when asked

    found = quantity.target_weight(
        given.nominal_ml,
        density_g_per_ml=given.density_g_per_ml,
        density_temp_c=given.density_temp_c,
        expansion_per_k=given.expansion_per_k,
        product_c=given.product_c,
        buoyancy=given.buoyancy,
    )
    return TargetWeightAnswer(
        target_g=float(found.target_g),
        reading_g=float(found.reading_g),
        stroke_ml_at_product_temp=float(found.stroke_ml_at_product_temp),
        density_20_g_per_ml=float(found.density_20_g_per_ml),
        density_product_g_per_ml=float(found.density_product_g_per_ml),
        because=found.because,
        assumptions=found.assumptions,
        sources=(found.equation,),
    )
