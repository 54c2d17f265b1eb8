"""Questions about what a dose depends on: model, budget, warmth, trapped air, leaks."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Figures, Given, Real, Text, Values

__all__ = ["annular_leak", "dose_budget", "dose_model", "thermal_dose", "trapped_air"]

_JCGM100 = "JCGM 100:2008, section 5.1 (from memory)"
_SLIT = "Poiseuille flow between plates, power law by integration; Piercy off centre (from memory)"

Metre = Annotated[float, Real(above=0, at_most=100)]
Share = Annotated[float, Real(at_least=0, at_most=1)]


class DoseModelGiven(Given):
    """What one dose depends on."""

    density_kg_m3: Annotated[float, Real(above=0, at_most=30000)] = Field(
        description="Density of the product.", examples=[990]
    )
    bore_m: Metre = Field(description="Bore of the product cylinder.", examples=[0.05])
    stroke_m: Metre = Field(description="Drawn stroke.", examples=[0.0637])
    fill_fraction: Share | None = Field(
        default=None, description="Share of the cylinder that is full; 1 when left out."
    )
    gas_fraction: Share | None = Field(
        default=None, description="Share that is gas at ambient pressure; 0 when left out."
    )
    leak_fraction: Share | None = Field(
        default=None, description="Share that leaks back; 0 when left out."
    )


class Sensitivity(Figures):
    """Change of dose_kg for a change of each."""

    density_kg_m3: float
    bore_m: float
    stroke_m: float
    fill_fraction: float
    gas_fraction: float
    leak_fraction: float


class DoseModelAnswer(Answer):
    """The dose and its partial derivatives."""

    dose_kg: float
    sensitivity: Sensitivity


def dose_model(given: DoseModelGiven) -> DoseModelAnswer:
    """Answer what a dose weighs and how it answers to each cause."""
    from fillwright.science import dose  # noqa: PLC0415  loaded when asked

    found = dose.dose_model(
        density=given.density_kg_m3,
        bore=given.bore_m,
        stroke=given.stroke_m,
        fill_fraction=1.0 if given.fill_fraction is None else given.fill_fraction,
        gas_fraction=given.gas_fraction or 0.0,
        leak_fraction=given.leak_fraction or 0.0,
    )
    return DoseModelAnswer(
        dose_kg=found.dose,
        sensitivity=Sensitivity(
            density_kg_m3=found.density,
            bore_m=found.bore,
            stroke_m=found.stroke,
            fill_fraction=found.fill_fraction,
            gas_fraction=found.gas_fraction,
            leak_fraction=found.leak_fraction,
        ),
        because=f"The dose is {1000.0 * found.dose:.5g} g; a hundredth of a millimetre of stroke "
        f"is {10.0 * found.stroke * 1e-3:.3g} g.",
        assumptions=("Drops and tails at the nozzle are left out.",),
        sources=(_JCGM100,),
    )


class ContributorGiven(Given):
    """One source of spread."""

    name: Text = Field(description="What it is.")
    sensitivity: Annotated[float, Real()] = Field(
        description="How much the dose moves for each unit of the source."
    )
    standard_uncertainty: Annotated[float, Real(at_least=0)] = Field(
        description="How uncertain the source is."
    )
    kind: Literal["within", "drift", "bias"] | None = Field(
        default=None, description="Shot to shot, slow, or set away in the trim; within."
    )


class DoseBudgetGiven(Given):
    """All sources of spread."""

    contributors: Values[ContributorGiven] = Field(
        description="The sources, independent of each other.",
        min_length=1,
        max_length=1000,
        examples=[
            [
                {"name": "drop", "sensitivity": 1, "standard_uncertainty": 0.02},
                {"name": "stroke", "sensitivity": 1930, "standard_uncertainty": 0.00002},
            ]
        ],
    )
    dose: Annotated[float, Real(above=0)] | None = Field(
        default=None, description="The dose, in the unit of sensitivity times uncertainty."
    )
    claim_percent: Annotated[float, Real(above=0, at_most=100)] | None = Field(
        default=None, description="Half width of the claim as a share of the dose, in percent."
    )
    measured_sd: Annotated[float, Real(above=0)] | None = Field(
        default=None, description="Spread that the machine has shown, in the unit of the dose."
    )


class BudgetRow(Figures):
    """One source, ranked."""

    name: str
    contribution: float
    share: float
    kind: str


class ClaimTakes(Figures):
    """What the claim takes; limits in the unit of the dose."""

    holds: bool
    wanted: float
    alone: float | None
    limit: float
    sources: tuple[str, ...]


class DoseBudgetAnswer(Answer):
    """The spread and where it comes from."""

    total: float
    total_percent: float | None
    ranked: tuple[BudgetRow, ...]
    takes: ClaimTakes | None


def dose_budget(given: DoseBudgetGiven) -> DoseBudgetAnswer:
    """Answer which source gives how much of the spread."""
    from fillwright.science import budget  # noqa: PLC0415  loaded when asked

    if given.claim_percent is not None and given.dose is None:
        raise BadInput(
            "claim_percent is a share of the dose; give dose too.",
            field="dose",
            allowed="a number above 0",
            code="missing",
        )
    found = budget.dose_budget(
        [
            budget.Contributor(
                name=one.name,
                sensitivity=one.sensitivity,
                standard_uncertainty=one.standard_uncertainty,
                kind=budget.Kind(one.kind or "within"),
            )
            for one in given.contributors
        ],
        measured_sd=given.measured_sd,
    )
    takes = None
    if given.dose is not None and given.claim_percent is not None:
        needs = budget.what_it_takes(found, given.dose * given.claim_percent / 100.0)
        takes = ClaimTakes(
            holds=needs.holds,
            wanted=needs.wanted,
            alone=needs.alone,
            limit=needs.limit,
            sources=needs.sources,
        )
    return DoseBudgetAnswer(
        total=found.total,
        total_percent=None if given.dose is None else 100.0 * found.total / given.dose,
        ranked=tuple(
            BudgetRow(
                name=row.name,
                contribution=row.contribution,
                share=row.share,
                kind=row.kind.value,
            )
            for row in found.rows
        ),
        takes=takes,
        because=found.because,
        assumptions=("The sources are independent and act in first order.",),
        sources=(found.equation,),
    )


class ThermalDoseGiven(Given):
    """A dose that grows warmer."""

    dose_kg: Annotated[float, Real(above=0, at_most=1e5)] = Field(
        description="Mass of the dose.", examples=[0.25]
    )
    expansion_per_k: Annotated[float, Real(at_least=-0.01, at_most=0.1)] = Field(
        description="Growth of the product's volume for each kelvin.", examples=[0.0007]
    )
    cylinder_expansion_per_k: Annotated[float, Real(at_least=0, at_most=0.01)] = Field(
        description="Growth of the cylinder's length for each kelvin.", examples=[0.000016]
    )
    temperature_change_k: Annotated[float, Real(at_least=-300, at_most=300)] = Field(
        description="How much warmer.", examples=[10]
    )


class ThermalDoseAnswer(Answer):
    """What that does to the dose."""

    change_kg: float


def thermal_dose(given: ThermalDoseGiven) -> ThermalDoseAnswer:
    """Answer how a dose changes with warmth."""
    from fillwright.science import dose  # noqa: PLC0415  loaded when asked

    change = float(
        dose.thermal_change(
            given.dose_kg,
            expansion=given.expansion_per_k,
            cylinder_expansion=given.cylinder_expansion_per_k,
            change=given.temperature_change_k,
        )
    )
    return ThermalDoseAnswer(
        change_kg=change,
        because=f"The dose changes by {100.0 * change / given.dose_kg:.3g} %.",
        assumptions=("Product and cylinder are equally warm, and the cylinder fills.",),
        sources=("First order in both expansions.",),
    )


class TrappedAirGiven(Given):
    """Air caught in the product's way."""

    gas_m3_at_ambient: Annotated[float, Real(at_least=0, at_most=1)] = Field(
        description="Its volume at the pressure of the room.", examples=[0.000001]
    )
    end_pa_abs: Annotated[float, Real(above=0, at_most=1e8)] = Field(
        description="Pressure when the stroke ends, absolute.", examples=[400000]
    )
    after_pa_abs: Annotated[float, Real(above=0, at_most=1e8)] = Field(
        description="Pressure when all is at rest, absolute.", examples=[101325]
    )


class TrappedAirAnswer(Answer):
    """What it keeps back."""

    withheld_m3: float


def trapped_air(given: TrappedAirGiven) -> TrappedAirAnswer:
    """Answer what trapped air keeps back of a dose."""
    from fillwright.science import dose  # noqa: PLC0415  loaded when asked

    try:
        kept = float(
            dose.withheld_by_air(
                given.gas_m3_at_ambient, end=given.end_pa_abs, after=given.after_pa_abs
            )
        )
    except BadInput as error:
        error.field = "after_pa_abs"
        raise
    return TrappedAirAnswer(
        withheld_m3=kept,
        because=f"{1e6 * kept:.3g} mL come after the piston has stopped, or not at all where the "
        "valve closes first.",
        assumptions=("The air stays at one temperature and dissolves nowhere.",),
        sources=("Boyle's law.",),
    )


class AnnularLeakGiven(Given):
    """A ring-shaped gap with pressure across it."""

    bore_m: Metre = Field(description="Bore that the seal runs in.", examples=[0.05])
    radial_gap_m: Annotated[float, Real(at_least=0, at_most=1)] = Field(
        description="Gap on one side, centred.", examples=[0.00003]
    )
    land_m: Metre = Field(description="Length of the gap along the flow.", examples=[0.008])
    pressure_pa: Annotated[float, Real(at_least=0, at_most=1e9)] = Field(
        description="Pressure across it.", examples=[200000]
    )
    model: Literal["newtonian", "power-law"] = Field(
        description="Flow model of the product.", examples=["newtonian"]
    )
    viscosity_pa_s: Annotated[float, Real(above=0, at_most=1e6)] | None = Field(
        default=None, description="Viscosity, for newtonian.", examples=[0.001]
    )
    k_pa_sn: Annotated[float, Real(above=0, at_most=1e6)] | None = Field(
        default=None, description="Consistency, for power-law."
    )
    n: Annotated[float, Real(at_least=0.05, at_most=3, code="outside-model")] | None = Field(
        default=None, description="Flow index, for power-law."
    )
    eccentricity: Share | None = Field(
        default=None, description="How far off centre, as a share of the gap; 0 when left out."
    )


class AnnularLeakAnswer(Answer):
    """What leaks."""

    leak_m3_s: float


def annular_leak(given: AnnularLeakGiven) -> AnnularLeakAnswer:
    """Answer what leaks through a ring-shaped gap."""
    from fillwright.science import leak  # noqa: PLC0415  loaded when asked

    newtonian = given.model == "newtonian"
    wanted = {"viscosity_pa_s": newtonian, "k_pa_sn": not newtonian, "n": not newtonian}
    for name, is_wanted in wanted.items():
        if is_wanted and getattr(given, name) is None:
            raise BadInput(
                f"{name} is missing; a {given.model} product needs it.",
                field=name,
                allowed="a number above 0",
                code="missing",
            )
        if not is_wanted and getattr(given, name) is not None:
            raise BadInput(
                f"{name} does not belong to a {given.model} product; leave it out.",
                field=name,
                given=getattr(given, name),
                allowed="left out",
                code="inconsistent",
            )
    try:
        flow = float(
            leak.annular_leak(
                given.bore_m,
                gap=given.radial_gap_m,
                land=given.land_m,
                pressure=given.pressure_pa,
                consistency=given.viscosity_pa_s or given.k_pa_sn or 1.0,
                index=given.n or 1.0,
                eccentricity=given.eccentricity or 0.0,
            )
        )
    except BadInput as error:
        error.field = "radial_gap_m" if error.field == "radial_gap" else error.field
        raise
    return AnnularLeakAnswer(
        leak_m3_s=flow,
        because=f"{1e6 * flow:.3g} mL leak in a second.",
        assumptions=("The gap is thin, even and at rest.",),
        sources=(_SLIT,),
    )
