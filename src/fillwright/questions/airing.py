"""Questions about compressed air: flow through a valve, emptying a chamber, free air a cycle."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Given, Real

__all__ = ["air_flow", "blow_down", "free_air"]

_ISO_6358 = "ISO 6358-1:2013, flow rate equations (from memory)"
_ISO_8778 = "ISO 8778, reference atmosphere ANR (from memory)"
_AMBIENT = 101_325.0

Conductance = Annotated[float, Real(above=0, at_most=1e-4)]
Ratio = Annotated[float, Real(at_least=0, below=1)]
Pressure = Annotated[float, Real(above=0, at_most=1e8)]
Kelvin = Annotated[float, Real(above=100, at_most=1000, code="outside-model")]


class AirFlowGiven(Given):
    """A valve or needle and the pressures on both sides."""

    c_m3_s_pa: Conductance = Field(
        description="Sonic conductance; 1 dm³/(s·bar) is 1e-8.", examples=[1e-8]
    )
    b: Ratio = Field(description="Critical pressure ratio.", examples=[0.3])
    p1_pa_abs: Pressure = Field(description="Pressure before it, absolute.", examples=[701325])
    p2_pa_abs: Annotated[float, Real(at_least=0, at_most=1e8)] = Field(
        description="Pressure behind it, absolute.", examples=[101325]
    )
    t1_k: Kelvin | None = Field(
        default=None, description="Temperature before it; 293.15 when left out."
    )


class AirFlowAnswer(Answer):
    """What passes in a second."""

    q_m3_s_anr: float
    mass_flow_kg_s: float
    choked: bool


def air_flow(given: AirFlowGiven) -> AirFlowAnswer:
    """Answer what passes a valve or needle."""
    from fillwright.science import air  # noqa: PLC0415  loaded when asked

    try:
        found = air.air_flow(
            air.AirPassage(conductance=given.c_m3_s_pa, critical_ratio=given.b),
            upstream=given.p1_pa_abs,
            downstream=given.p2_pa_abs,
            temperature=given.t1_k or air.REFERENCE_TEMPERATURE,
        )
    except BadInput as error:
        raise _named(error, {"p1": "p1_pa_abs", "p2": "p2_pa_abs", "t1": "t1_k"}) from None
    choked = bool(found.is_choked)
    litres = 1000.0 * float(found.volume_flow)
    return AirFlowAnswer(
        q_m3_s_anr=float(found.volume_flow),
        mass_flow_kg_s=float(found.mass_flow),
        choked=choked,
        because=f"{litres:.4g} L of reference air pass in a second"
        + (", as fast as sound lets them." if choked else "."),
        assumptions=("Air is an ideal gas.",),
        sources=(_ISO_6358, _ISO_8778),
    )


class BlowDownGiven(Given):
    """A chamber that empties into the room."""

    volume_m3: Annotated[float, Real(above=0, at_most=1e3)] = Field(
        description="Volume of the chamber.", examples=[0.00036]
    )
    c_m3_s_pa: Conductance = Field(
        description="Sonic conductance of what it empties through.", examples=[4e-9]
    )
    b: Ratio = Field(description="Critical pressure ratio.", examples=[0.3])
    from_pa_abs: Pressure = Field(
        description="Pressure at the beginning, absolute.", examples=[701325]
    )
    to_pa_abs: Pressure = Field(
        description="Pressure at the end, absolute; 101325 or above.", examples=[150000]
    )
    t1_k: Kelvin | None = Field(
        default=None, description="Temperature of the air; 293.15 when left out."
    )


class BlowDownAnswer(Answer):
    """How long it takes."""

    time_s: float


def blow_down(given: BlowDownGiven) -> BlowDownAnswer:
    """Answer how long a chamber takes to empty."""
    from fillwright.science import air  # noqa: PLC0415  loaded when asked

    try:
        time = air.blow_down(
            given.volume_m3,
            air.AirPassage(conductance=given.c_m3_s_pa, critical_ratio=given.b),
            start=given.from_pa_abs,
            end=given.to_pa_abs,
            temperature=given.t1_k or air.REFERENCE_TEMPERATURE,
        )
    except BadInput as error:
        raise _named(error, {"from": "from_pa_abs", "to": "to_pa_abs"}) from None
    return BlowDownAnswer(
        time_s=float(time),
        because=f"The chamber falls to {given.to_pa_abs / 1e5:.3g} bar absolute in "
        f"{float(time):.3g} s.",
        assumptions=(
            "The walls keep the air at one temperature.",
            f"The room is at {_AMBIENT:g} Pa.",
        ),
        sources=(_ISO_6358,),
    )


class FreeAirGiven(Given):
    """An air cylinder at work."""

    bore_m: Annotated[float, Real(above=0, at_most=10)] = Field(
        description="Bore of the air cylinder.", examples=[0.063]
    )
    rod_m: Annotated[float, Real(at_least=0, at_most=10)] = Field(
        description="Diameter of its rod.", examples=[0.02]
    )
    stroke_m: Annotated[float, Real(above=0, at_most=100)] = Field(
        description="Length of the stroke.", examples=[0.127]
    )
    gauge_pa: Annotated[float, Real(above=0, at_most=1e8)] = Field(
        description="Supply pressure over the air around.", examples=[600000]
    )
    cycles_per_min: Annotated[float, Real(at_least=0, at_most=1e5)] = Field(
        description="Double strokes a minute.", examples=[12]
    )
    dead_volume_m3: Annotated[float, Real(at_least=0, at_most=1)] | None = Field(
        default=None, description="Air volume besides the stroke, each side; 0 when left out."
    )


class FreeAirAnswer(Answer):
    """Litres of reference air."""

    l_anr_per_cycle: float
    l_anr_per_min: float


def free_air(given: FreeAirGiven) -> FreeAirAnswer:
    """Answer what free air an air cylinder uses."""
    from fillwright.science import air_use  # noqa: PLC0415  loaded when asked

    volume = air_use.free_air(
        given.bore_m,
        given.rod_m,
        given.stroke_m,
        supply=_AMBIENT + given.gauge_pa,
        dead_volume=given.dead_volume_m3 or 0.0,
    )
    litres = 1000.0 * float(volume)
    return FreeAirAnswer(
        l_anr_per_cycle=litres,
        l_anr_per_min=litres * given.cycles_per_min,
        because=f"One double stroke uses {litres:.3g} L of reference air; tubing and valves add "
        "some 10 to 20 % (judgement).",
        assumptions=(
            "Both sides fill from ambient pressure to the supply.",
            f"The room is at {_AMBIENT:g} Pa and 293.15 K.",
        ),
        sources=(_ISO_8778,),
    )


def _named(error: BadInput, names: dict[str, str]) -> BadInput:
    """Return an error of science by the names of the question."""
    error.field = names.get(error.field, error.field)
    return error
