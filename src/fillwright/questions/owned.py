"""A container, the parts of a machine, and the ranges of inputs, as a match takes them."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import Field

from fillwright.questions.fields import Given, Real, Text, Values
from fillwright.questions.machines import DriveGiven, Metre, PieceGiven

__all__ = ["MOST_PARTS", "ContainerGiven", "Cubic", "MachineGiven", "RangesGiven"]

MOST_PARTS: Final = 100
Cubic = Annotated[float, Real(above=0, at_most=1000000)]
Factor = Annotated[float, Real(at_least=1, at_most=100)]


class ContainerGiven(Given):
    """What is filled into."""

    neck_bore_m: Metre = Field(description="Inside diameter of the neck.")
    volume_m3: Cubic | None = Field(default=None, description="Volume to the brim.")
    height_m: Metre | None = Field(
        default=None,
        description="Height inside; no rule asks for it, the tip stays near the liquid.",
    )


class OwnedCylinder(Given):
    """A product cylinder that is owned."""

    name: Text = Field(description="What it is called.")
    volume_m3: Cubic = Field(description="Its whole stroke.")
    bore_m: Metre | None = Field(default=None, description="Its bore.")


class OwnedNozzle(Given):
    """A nozzle that is owned."""

    name: Text = Field(description="What it is called.")
    bore_m: Metre = Field(description="Inside diameter.")
    outside_m: Metre = Field(description="Outside diameter.")
    cutoff: bool | None = Field(
        default=None, description="True where it closes at its tip or draws back."
    )


class OwnedHopper(Given):
    """A hopper that is owned."""

    name: Text = Field(description="What it is called.")
    volume_m3: Cubic = Field(description="What can be filled between refills.")
    outlet_bore_m: Metre = Field(description="Bore of its outlet.")
    head_m: Annotated[float, Real(at_least=-10, at_most=100)] | None = Field(
        default=None, description="Product above the cylinder's axis when low; 0 when left out."
    )


class MachineGiven(Given):
    """What the machine has; what is left out is not judged."""

    cylinders: Annotated[Values[OwnedCylinder], Field(min_length=1, max_length=MOST_PARTS)] = (
        Field(description="Product cylinders.")
    )
    nozzles: Annotated[Values[OwnedNozzle], Field(min_length=1, max_length=MOST_PARTS)] = Field(
        description="Nozzles."
    )
    valves: Annotated[Values[Literal["rotary", "spool"]], Field(max_length=2)] = Field(
        description="Kinds of valve."
    )
    seals: Annotated[Values[Text], Field(max_length=MOST_PARTS)] | None = Field(
        default=None, description="Materials of every wetted seal, by short name."
    )
    hoppers: Annotated[Values[OwnedHopper], Field(max_length=MOST_PARTS)] | None = Field(
        default=None, description="Hoppers."
    )
    suction_path: Annotated[Values[PieceGiven], Field(max_length=MOST_PARTS)] | None = Field(
        default=None,
        description="From hopper to cylinder; the first piece takes the outlet's bore.",
    )
    discharge_path: Annotated[Values[PieceGiven], Field(max_length=MOST_PARTS)] | None = Field(
        default=None, description="From cylinder to nozzle; the last piece takes its bore."
    )
    drive: DriveGiven | None = Field(default=None, description="Air drive of the fill.")
    rating_pa: Annotated[float, Real(above=0, at_most=100000000)] | None = Field(
        default=None, description="Least rating in the wet path, over the air around."
    )


class RangesGiven(Given):
    """How far the inputs may be off; what is left out is judgement."""

    viscosity_factor: Factor | None = Field(
        default=None, description="So many times less or more; 1.25."
    )
    surface_tension_factor: Factor | None = Field(default=None, description="The same; 1.15.")
    release_factor: Factor | None = Field(default=None, description="The same; 2.")
    dose_percent: Annotated[float, Real(at_least=0, at_most=50)] | None = Field(
        default=None, description="To either side; 1."
    )
    temperature_k: Annotated[float, Real(at_least=0, at_most=100)] | None = Field(
        default=None, description="To either side; 2."
    )
    air_pa: Annotated[float, Real(at_least=0, at_most=1000000)] | None = Field(
        default=None, description="To either side; 50000."
    )
    neck_m: Annotated[float, Real(at_least=0, at_most=1)] | None = Field(
        default=None, description="To either side; 0.0001."
    )
    handling_least_s: Annotated[float, Real(above=0, at_most=10000)] | None = Field(
        default=None, description="Least time to change containers; 2.5."
    )
    handling_most_s: Annotated[float, Real(above=0, at_most=10000)] | None = Field(
        default=None, description="Most; 5."
    )
