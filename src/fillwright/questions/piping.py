"""Questions about the wet path and its end: losses, changes of bore, nozzle, drop, liquids."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Given, Real
from fillwright.questions.machines import Metre, ProductGiven, asked_first, curve_of

if TYPE_CHECKING:
    from fillwright.science.flow_curve import FlowCurve

__all__ = [
    "bore_change",
    "drop",
    "fitting_loss",
    "liquid",
    "nozzle",
    "nozzle_hold",
    "pipe_loss",
]

Flow = Annotated[float, Real(at_least=0, at_most=10)]
Density = Annotated[float, Real(above=0, at_most=30000)]
Tension = Annotated[float, Real(above=0, at_most=10)]
Constant = Annotated[float, Real(at_least=0, at_most=1000000)]

_METZNER = "Metzner and Reed, AIChE J. 1, 434 (1955) (from memory)"
_CHURCHILL = "Churchill, Chem. Eng. 84 (24), 91 (1977) (from memory)"


class PipeLossGiven(ProductGiven):
    """A flow through one pipe."""

    flow_m3_s: Flow = Field(description="Flow.", examples=[0.0002])
    bore_m: Metre = Field(description="Inside diameter.", examples=[0.016])
    length_m: Annotated[float, Real(at_least=0, at_most=1000)] = Field(
        description="Length.", examples=[0.25]
    )
    model: Literal["newtonian", "power-law", "bingham", "herschel-bulkley"] = Field(
        description="Flow model.", examples=["newtonian"]
    )
    density_kg_m3: Density = Field(description="Density.", examples=[1400])
    viscosity_pa_s: Annotated[float, Real(above=0, at_most=1000000)] | None = Field(
        default=None, description="Viscosity; for bingham the plastic one.", examples=[5]
    )
    roughness_m: Annotated[float, Real(at_least=0, at_most=1)] | None = Field(
        default=None, description="Roughness; 1.5e-6 when left out."
    )


class PipeLossAnswer(Answer):
    """What the pipe takes."""

    loss_pa: float
    start_pa: float
    reynolds: float
    regime: Literal["laminar", "transition", "turbulent"]
    wall_shear_rate_1_s: float


def pipe_loss(given: PipeLossGiven) -> PipeLossAnswer:
    """Answer the pressure that a flow loses in a pipe."""
    from fillwright.science import wetpath  # noqa: PLC0415  loaded when asked

    curve = _curve(given)
    rough = wetpath.STEEL_ROUGHNESS if given.roughness_m is None else given.roughness_m
    pipe = (wetpath.Piece(bore=given.bore_m, length=given.length_m, roughness=rough),)
    found = wetpath.pressure_loss(pipe, given.flow_m3_s, curve, given.density_kg_m3, leaves=False)
    metre = (wetpath.Piece(bore=given.bore_m, length=1.0, roughness=rough),)
    per_metre = wetpath.pressure_loss(
        metre, given.flow_m3_s, curve, given.density_kg_m3, leaves=False
    ).total
    start = wetpath.pressure_loss(pipe, 0.0, curve, given.density_kg_m3, leaves=False).total
    number = float(found.reynolds[0])
    runs = str(wetpath.regime(number))
    return PipeLossAnswer(
        loss_pa=float(found.total),
        start_pa=float(start),
        reynolds=number,
        regime=runs,  # type: ignore[arg-type]  # one of the three
        wall_shear_rate_1_s=float(curve.rate(per_metre * given.bore_m / 4.0)),
        because=asked_first(
            curve,
            f"{float(found.total) / 1e5:.4g} bar are lost, {runs}."
            if given.flow_m3_s
            else f"Nothing moves below {float(start) / 1e5:.4g} bar.",
        ),
        assumptions=("The flow is steady and fills the pipe; no thixotropy.",),
        sources=(_METZNER, _CHURCHILL),
    )


class FittingLossGiven(Given):
    """A flow through a bend or valve."""

    method: Literal["2k", "3k"] = Field(description="Two constants or three.", examples=["3k"])
    k1: Constant = Field(description="Slow-flow constant.", examples=[500])
    k_inf: Constant | None = Field(default=None, description="Fast-flow constant of two.")
    ki: Constant | None = Field(
        default=None, description="Fast-flow constant of three.", examples=[0.41]
    )
    kd: Constant | None = Field(default=None, description="Bore constant of three.", examples=[4])
    bore_m: Metre = Field(description="Inside diameter.", examples=[0.016])
    flow_m3_s: Annotated[float, Real(above=0, at_most=10)] = Field(
        description="Flow.", examples=[0.0002]
    )
    density_kg_m3: Density = Field(description="Density.", examples=[1000])
    viscosity_pa_s: Annotated[float, Real(above=0, at_most=1000000)] = Field(
        description="Viscosity.", examples=[0.001]
    )


class FittingLossAnswer(Answer):
    """What the fitting takes."""

    k: float
    loss_pa: float


def fitting_loss(given: FittingLossGiven) -> FittingLossAnswer:
    """Answer the pressure that a flow loses in a bend or valve."""
    from fillwright.science import wetpath  # noqa: PLC0415  loaded when asked

    fitting: wetpath.ThreeK | wetpath.TwoK
    if given.method == "3k":
        _needs(given, has=("ki", "kd"), lacks=("k_inf",))
        fitting = wetpath.ThreeK(k1=given.k1, ki=given.ki or 0.0, kd=given.kd or 0.0)
        source = "Silverberg and Darby, Chem. Eng. 106 (7), 101 (1999) (from memory)"
    else:
        _needs(given, has=("k_inf",), lacks=("ki", "kd"))
        fitting = wetpath.TwoK(k1=given.k1, k_inf=given.k_inf or 0.0)
        source = "Hooper, Chem. Eng. 88 (17), 96 (1981) (from memory)"
    velocity = 4.0 * given.flow_m3_s / (math.pi * given.bore_m**2)
    number = given.density_kg_m3 * velocity * given.bore_m / given.viscosity_pa_s
    k = given.k1 / number + float(fitting.fast(given.bore_m))
    loss = k * given.density_kg_m3 * velocity**2 / 2.0
    return FittingLossAnswer(
        k=k,
        loss_pa=loss,
        because=f"{k:.4g} velocity heads at Reynolds number {number:.4g}.",
        assumptions=("Newtonian; constants are used at the true bore in inches.",),
        sources=(source,),
    )


class BoreChangeGiven(Given):
    """A sudden change of bore."""

    bore_1_m: Metre = Field(description="Bore before it.", examples=[0.02])
    bore_2_m: Metre = Field(description="Bore after it.", examples=[0.012])
    reynolds_1: Annotated[float, Real(above=0, at_most=1000000000)] = Field(
        description="Reynolds number before it.", examples=[1000]
    )


class BoreChangeAnswer(Answer):
    """What the change takes."""

    k_on_smaller: float


def bore_change(given: BoreChangeGiven) -> BoreChangeAnswer:
    """Answer the loss of a sudden change of bore."""
    from fillwright.science import friction  # noqa: PLC0415  loaded when asked

    k = float(friction.bore_change(given.bore_1_m, given.bore_2_m, given.reynolds_1))
    return BoreChangeAnswer(
        k_on_smaller=k,
        because=f"{k:.4g} velocity heads of the smaller bore.",
        assumptions=("Sharp edges; in fast flow the friction of a smooth pipe before it.",),
        sources=("Hooper, Chem. Eng. 95 (16), 89 (1988) (from memory)",),
    )


class NozzleHoldGiven(Given):
    """A liquid in an open nozzle that is closed above."""

    surface_tension_n_m: Tension = Field(description="Surface tension.", examples=[0.0727])
    density_kg_m3: Density = Field(description="Density.", examples=[998.2])


class NozzleHoldAnswer(Answer):
    """Which bores hold it."""

    critical_bore_m: float
    pinned_bore_m: float
    capillary_length_m: float


def nozzle_hold(given: NozzleHoldGiven) -> NozzleHoldAnswer:
    """Answer which bores hold a liquid."""
    from fillwright.science import cutoff  # noqa: PLC0415  loaded when asked

    found = cutoff.holding(given.surface_tension_n_m, given.density_kg_m3)
    holds, never = float(found.slides), float(found.pinned)
    return NozzleHoldAnswer(
        critical_bore_m=holds,
        pinned_bore_m=never,
        capillary_length_m=float(found.capillary_length),
        because=(
            f"A bore up to {1e3 * holds:.3g} mm holds; above {1e3 * never:.3g} mm none does."
        ),
        assumptions=("At rest; shaking and a wetted lip halve what holds.",),
        sources=("Maxwell (1875) after Duprez (from memory)",),
    )


class DropGiven(Given):
    """A drop that hangs from a lip."""

    surface_tension_n_m: Tension = Field(description="Surface tension.", examples=[0.0727])
    density_kg_m3: Density = Field(description="Density.", examples=[998.2])
    tip_diameter_m: Metre = Field(description="Lip as far as it is wetted.", examples=[0.005])


class DropAnswer(Answer):
    """The drop that falls."""

    mass_kg: float
    volume_m3: float


def drop(given: DropGiven) -> DropAnswer:
    """Answer the mass of the drop that falls."""
    from fillwright.science import cutoff  # noqa: PLC0415  loaded when asked

    found = cutoff.drop(given.surface_tension_n_m, given.density_kg_m3, given.tip_diameter_m)
    mass = float(found.mass)
    return DropAnswer(
        mass_kg=mass,
        volume_m3=float(found.volume),
        because=f"One drop weighs {1e6 * mass:.3g} mg.",
        assumptions=("It falls slowly and by its own weight.",),
        sources=(
            "Harkins and Brown, J. Am. Chem. Soc. 41, 499 (1919) (from memory)",
            "Lee, Chan and Pogaku (2008), polynomial of the factor (from memory)",
        ),
    )


class NozzleGiven(ProductGiven):
    """A product that leaves a nozzle."""

    flow_m3_s: Flow = Field(description="Flow.", examples=[0.0002])
    bore_m: Metre = Field(description="Bore of the nozzle.", examples=[0.01])
    model: Literal["newtonian", "power-law", "bingham", "herschel-bulkley"] = Field(
        description="Flow model.", examples=["newtonian"]
    )
    density_kg_m3: Density = Field(description="Density.", examples=[1400])
    viscosity_pa_s: Annotated[float, Real(above=0, at_most=1000000)] | None = Field(
        default=None, description="Viscosity; for bingham the plastic one.", examples=[5]
    )


class NozzleAnswer(Answer):
    """How it leaves."""

    exit_velocity_m_s: float
    wall_shear_rate_1_s: float
    wall_stress_pa: float
    reynolds: float
    weber: float | None


def nozzle(given: NozzleGiven) -> NozzleAnswer:
    """Answer how a product leaves a nozzle."""
    from fillwright.science import cutoff  # noqa: PLC0415  loaded when asked

    found = cutoff.jet(
        given.flow_m3_s,
        given.bore_m,
        _curve(given),
        given.density_kg_m3,
        surface_tension=given.surface_tension_n_m,
    )
    return NozzleAnswer(
        exit_velocity_m_s=float(found.velocity),
        wall_shear_rate_1_s=float(found.wall_rate),
        wall_stress_pa=float(found.wall_stress),
        reynolds=float(found.reynolds),
        weber=None if found.weber is None else float(found.weber),
        because=f"It leaves at {float(found.velocity):.4g} m/s.",
        assumptions=("The flow in the bore is fully formed.",),
        sources=(_METZNER,),
    )


class LiquidGiven(Given):
    """A liquid whose formulas are published."""

    preset: Literal["water", "glycerol-water"] = Field(
        description="Which liquid.", examples=["water"]
    )
    temperature_c: Annotated[float, Real(at_least=-100, at_most=400)] = Field(
        description="Temperature.", examples=[20]
    )
    glycerol_mass_fraction: Annotated[float, Real(at_least=0, at_most=1)] | None = Field(
        default=None, description="Share of glycerol by mass, for glycerol-water."
    )


class LiquidAnswer(Answer):
    """Its properties."""

    density_kg_m3: float
    viscosity_pa_s: float
    vapour_pressure_pa: float | None
    surface_tension_n_m: float | None


def liquid(given: LiquidGiven) -> LiquidAnswer:
    """Answer the properties of water, or of glycerol in water."""
    from fillwright.science import product  # noqa: PLC0415  loaded when asked

    is_water = given.preset == "water"
    if is_water == (given.glycerol_mass_fraction is not None):
        told = "does not belong to water" if is_water else "is missing; give a share from 0 to 1"
        raise BadInput(
            f"glycerol_mass_fraction {told}.",
            field="glycerol_mass_fraction",
            given=given.glycerol_mass_fraction,
            allowed="for glycerol-water only",
            code="inconsistent" if is_water else "missing",
        )
    found = (
        product.water(given.temperature_c)
        if is_water
        else product.glycerol_water(given.temperature_c, given.glycerol_mass_fraction or 0.0)
    )
    return LiquidAnswer(
        density_kg_m3=found.density,
        viscosity_pa_s=found.viscosity,
        vapour_pressure_pa=found.vapour_pressure,
        surface_tension_n_m=found.surface_tension,
        because=f"{found.density:.6g} kg/m³ and {1e3 * found.viscosity:.4g} mPa·s.",
        assumptions=("At the pressure of the air around; free of gas.",),
        sources=(
            (
                "Tanaka et al., Metrologia 38, 301 (2001) (coefficients from memory)",
                "IAPWS (2011), liquid water at 0.1 MPa (coefficients from memory)",
                "Wagner and Pruß, J. Phys. Chem. Ref. Data 22, 783 (1993) (from memory)",
                "IAPWS, surface tension of ordinary water (1994) (from memory)",
            )
            if is_water
            else (
                "Cheng, Ind. Eng. Chem. Res. 47, 3285 (2008)",
                "Volk and Kähler, Exp. Fluids 59, 75 (2018)",
            )
        ),
    )


def _curve(given: ProductGiven) -> FlowCurve:
    """Return the flow curve whose fields stand at the top of the input."""
    try:
        return curve_of(given)
    except BadInput as error:
        name = error.field.removeprefix("product.")
        message = error.message.replace("product.", "")
        raise BadInput(
            message, field=name, given=error.given, allowed=error.allowed, code=error.code
        ) from None


def _needs(given: FittingLossGiven, *, has: tuple[str, ...], lacks: tuple[str, ...]) -> None:
    """Refuse constants that are missing, or that belong to the other method."""
    for name in (*has, *lacks):
        value = getattr(given, name)
        if (value is not None) != (name in has):
            told = "is missing" if value is None else "does not belong to it"
            allowed = ", ".join(("k1", *has))
            raise BadInput(
                f"{name} {told}; {given.method} takes {allowed}.",
                field=name,
                given=value,
                allowed=allowed,
                code="missing" if value is None else "inconsistent",
            )
