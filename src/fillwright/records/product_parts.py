"""How a product is described beyond its name: how it flows, how its density was weighed.

As it was measured or read off a data sheet, in the units that stand there; nothing computed.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

__all__ = [
    "CupTime",
    "DensityWeighed",
    "FlowReading",
    "FlowWay",
    "ProductFlow",
    "ViscosityPoint",
]

FlowWay = Literal["like", "points", "readings", "cup"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ViscosityPoint:
    """A viscosity at a temperature, as on a data sheet."""

    at_c: Decimal
    viscosity_mpa_s: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowReading:
    """A reading of a viscometer: apparent viscosity at a shear rate."""

    rate_per_s: Decimal
    viscosity_mpa_s: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class CupTime:
    """The time that a flow cup took; `orifice` as ISO 2431 has it, such as ``"4 mm"``."""

    orifice: str
    time_s: Decimal
    at_c: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductFlow:
    """How a product flows, as it was told.

    Parameters
    ----------
    way : str
        Which of the four was told: what it runs like, viscosities at temperatures, viscometer
        readings, a cup's time.
    preset : str
        Short name of what it runs like; also what is taken for all that was not told.
    points : tuple of ViscosityPoint
        Viscosities at temperatures.
    readings : tuple of FlowReading
        Viscometer readings, all at `readings_c`.
    readings_c : Decimal or None
        Temperature of the readings.
    cup : CupTime or None
        A cup's time.
    tension_mn_per_m : Decimal or None
        Surface tension, where it was measured.
    """

    way: FlowWay = "like"
    preset: str = ""
    points: tuple[ViscosityPoint, ...] = ()
    readings: tuple[FlowReading, ...] = ()
    readings_c: Decimal | None = None
    cup: CupTime | None = None
    tension_mn_per_m: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DensityWeighed:
    """A density that was weighed: a known volume, what it weighed, and how well both are known."""

    volume_ml: Decimal
    net_g: Decimal
    volume_sd_ml: Decimal
    net_sd_g: Decimal
