"""A product, a path and a drive as questions take them, and as the science does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Given, Real, Values

if TYPE_CHECKING:
    from fillwright.science.drive import Drive
    from fillwright.science.flow_curve import FlowCurve
    from fillwright.science.wetpath import Piece

__all__ = [
    "CylinderGiven",
    "DriveGiven",
    "Metre",
    "PieceGiven",
    "ProductGiven",
    "Seconds",
    "asked_first",
    "curve_of",
    "drive_of",
    "path_of",
]

Metre = Annotated[float, Real(above=0, at_most=100)]
Pascal = Annotated[float, Real(at_least=0, at_most=100000000)]
Seconds = Annotated[float, Real(at_least=0, at_most=100000)]
Thick = Annotated[float, Real(above=0, at_most=1000000)]
_NEEDS = {
    "newtonian": ("viscosity_pa_s",),
    "power-law": ("k_pa_sn", "n"),
    "bingham": ("yield_pa", "viscosity_pa_s"),
    "herschel-bulkley": ("yield_pa", "k_pa_sn", "n"),
}


class ProductGiven(Given):
    """A product as it flows."""

    model: Literal["newtonian", "power-law", "bingham", "herschel-bulkley"] = Field(
        description="Flow model."
    )
    density_kg_m3: Annotated[float, Real(above=0, at_most=30000)] = Field(description="Density.")
    viscosity_pa_s: Thick | None = Field(
        default=None, description="Viscosity; for bingham the plastic one."
    )
    k_pa_sn: Thick | None = Field(default=None, description="Consistency.")
    n: Annotated[float, Real(at_least=0.05, at_most=2, code="outside-model")] | None = Field(
        default=None, description="Flow index."
    )
    yield_pa: Pascal | None = Field(default=None, description="Yield stress.")
    surface_tension_n_m: Annotated[float, Real(above=0, at_most=10)] | None = Field(
        default=None, description="Surface tension."
    )
    vapour_pressure_pa: Pascal | None = Field(
        default=None, description="Vapour pressure; 0 when left out."
    )
    release_pressure_pa: Pascal | None = Field(
        default=None, description="Pressure at which air comes out; 20000 when left out."
    )
    temperature_c: Annotated[float, Real(at_least=-100, at_most=400)] | None = Field(
        default=None, description="Temperature that all this holds at."
    )


class FittingGiven(Given):
    """A bend or valve, by three constants or by two."""

    k1: Annotated[float, Real(at_least=0, at_most=1000000)] = Field(
        description="Slow-flow constant."
    )
    ki: Annotated[float, Real(at_least=0, at_most=1000000)] | None = Field(
        default=None, description="Fast-flow constant of three."
    )
    kd: Annotated[float, Real(at_least=0, at_most=1000000)] | None = Field(
        default=None, description="Bore constant of three."
    )
    k_inf: Annotated[float, Real(at_least=0, at_most=1000000)] | None = Field(
        default=None, description="Fast-flow constant of two."
    )


class PieceGiven(Given):
    """One piece of the path."""

    bore_m: Metre = Field(description="Inside diameter.")
    length_m: Annotated[float, Real(at_least=0, at_most=1000)] = Field(description="Length.")
    roughness_m: Annotated[float, Real(at_least=0, at_most=1)] | None = Field(
        default=None, description="Roughness; 1.5e-6 when left out."
    )
    k: Annotated[float, Real(at_least=0, at_most=1000000)] | None = Field(
        default=None, description="Fixed loss coefficient on this bore; 0 when left out."
    )
    fittings: Values[FittingGiven] | None = Field(default=None, description="Bends and valves.")


class PassageGiven(Given):
    """A valve or needle."""

    c_m3_s_pa: Annotated[float, Real(above=0, at_most=1e-4)] = Field(
        description="Sonic conductance."
    )
    b: Annotated[float, Real(at_least=0, below=1)] = Field(description="Critical ratio.")


class DriveGiven(Given):
    """The air drive."""

    air_bore_m: Metre = Field(description="Bore of the air cylinder.")
    rod_m: Annotated[float, Real(at_least=0, at_most=100)] = Field(description="Its rod.")
    gauge_pa: Annotated[float, Real(above=0, at_most=100000000)] = Field(
        description="Supply pressure over the air around."
    )
    supply: PassageGiven = Field(description="What the driving side fills through.")
    meter_out: PassageGiven = Field(description="Needle of this stroke.")
    friction_n: Annotated[float, Real(at_least=0, at_most=1000000)] | None = Field(
        default=None, description="Force lost whatever the product; 60 when left out."
    )
    friction_share: Annotated[float, Real(at_least=0, at_most=10)] | None = Field(
        default=None, description="Force lost as a share of the product's; 0.04."
    )
    dead_volume_m3: Annotated[float, Real(above=0, at_most=1)] | None = Field(
        default=None, description="Air volume besides the stroke, each side; 0.00003."
    )


class CylinderGiven(Given):
    """The product cylinder at its setting."""

    bore_m: Metre = Field(description="Bore of the product cylinder.")
    stroke_m: Metre = Field(description="Drawn stroke, so the dose.")


def asked_first(curve: FlowCurve, because: str) -> str:
    """Return an answer's sentence, after the question about a viscosity that looks like mPa·s."""
    from fillwright.science.unit_slips import viscosity_slip  # noqa: PLC0415  loaded when asked

    _, thick, index = (float(one) for one in curve.figures)
    slip = viscosity_slip(thick, index=index)
    return f"{slip} {because}" if slip else because


def curve_of(product: ProductGiven) -> FlowCurve:
    """Return the flow curve of a product."""
    from fillwright.science.flow_curve import FlowCurve  # noqa: PLC0415  loaded when asked

    needs = _NEEDS[product.model]
    for name in ("viscosity_pa_s", "k_pa_sn", "n", "yield_pa"):
        value = getattr(product, name)
        if (value is not None) == (name in needs):
            continue
        told = "is missing" if value is None else "does not belong to it"
        raise BadInput(
            f"product.{name} {told}; {product.model} takes {', '.join(needs)}.",
            field=f"product.{name}",
            given=value,
            allowed=", ".join(needs),
            code="missing" if value is None else "inconsistent",
        )
    return FlowCurve(
        yield_stress=product.yield_pa or 0.0,
        consistency=product.viscosity_pa_s or product.k_pa_sn or 1.0,
        index=product.n or 1.0,
    )


def path_of(pieces: tuple[PieceGiven, ...]) -> tuple[Piece, ...]:
    """Return the wet path of the science."""
    from fillwright.science import wetpath  # noqa: PLC0415  loaded when asked

    found = []
    for place, piece in enumerate(pieces):
        fittings: list[wetpath.ThreeK | wetpath.TwoK] = []
        for one in piece.fittings or ():
            if one.ki is not None and one.kd is not None and one.k_inf is None:
                fittings.append(wetpath.ThreeK(k1=one.k1, ki=one.ki, kd=one.kd))
            elif one.k_inf is not None and one.ki is None and one.kd is None:
                fittings.append(wetpath.TwoK(k1=one.k1, k_inf=one.k_inf))
            else:
                raise BadInput(
                    f"path[{place}].fittings: give k1, ki and kd, or k1 and k_inf.",
                    field=f"path[{place}].fittings",
                    allowed="k1, ki, kd; or k1, k_inf",
                    code="inconsistent",
                )
        found.append(
            wetpath.Piece(
                bore=piece.bore_m,
                length=piece.length_m,
                roughness=(
                    wetpath.STEEL_ROUGHNESS if piece.roughness_m is None else piece.roughness_m
                ),
                k=piece.k or 0.0,
                fittings=tuple(fittings),
            )
        )
    return tuple(found)


def drive_of(given: DriveGiven) -> Drive:
    """Return the drive of the science."""
    from fillwright.science.air import AMBIENT, AirPassage  # noqa: PLC0415  loaded when asked
    from fillwright.science.drive import Drive  # noqa: PLC0415  loaded when asked

    defaults = {
        "friction": given.friction_n,
        "friction_share": given.friction_share,
        "dead_volume": given.dead_volume_m3,
    }
    told = {name: value for name, value in defaults.items() if value is not None}
    try:
        return Drive(
            bore=given.air_bore_m,
            rod=given.rod_m,
            supply_pressure=AMBIENT + given.gauge_pa,
            supply=AirPassage(conductance=given.supply.c_m3_s_pa, critical_ratio=given.supply.b),
            meter_out=AirPassage(
                conductance=given.meter_out.c_m3_s_pa, critical_ratio=given.meter_out.b
            ),
            **told,
        )
    except BadInput as error:
        error.field = f"drive.{error.field}_m" if error.field == "rod" else f"drive.{error.field}"
        raise
