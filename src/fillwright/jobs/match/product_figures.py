"""Figures of a product as they were typed: a density that was weighed, and slips of the unit."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.words import plain
from fillwright.records.product_parts import DensityWeighed, ProductFlow
from fillwright.records.units import g_per_ml_from_kg_per_m3, kg_from_g, m3_from_ml
from fillwright.science.unit_slips import THICKEST
from fillwright.science.weighed_volume import density_by_weighing

__all__ = ["DensityFound", "ask_about_units", "must_be_density", "weighed_density"]

_THINNEST_MPA_S: Final = Decimal("0.2")
_THICKEST_MPA_S: Final = Decimal(str(THICKEST)) * 1000
_PER_THOUSAND: Final = 1000
_LIGHTEST, _HEAVIEST = Decimal("0.3"), Decimal(3)
_VOLUME_SD_SHARE: Final = Decimal("0.005")
_NET_SD_G: Final = Decimal("0.1")
# How well a measured volume and a bench scale are known: judgements of ours.


@dataclass(frozen=True, slots=True, kw_only=True)
class DensityFound:
    """A density that was weighed, with its range."""

    density_g_per_ml: Decimal
    low_g_per_ml: Decimal
    high_g_per_ml: Decimal
    weighed: DensityWeighed
    words: str


def weighed_density(volume_ml: Decimal, net_g: Decimal) -> DensityFound:
    """Return the density of a known volume that was weighed in air.

    Raises
    ------
    BadInput
        If the density would be that of no product.
    """
    rough = net_g / volume_ml
    if not _LIGHTEST <= rough <= _HEAVIEST:
        message = (
            f"{plain(net_g)} g in {plain(volume_ml)} mL would be {plain(round(rough, 4))} g/mL. "
            "Give the net weight in grams and the volume in millilitres."
        )
        raise BadInput(message, field="weighed_g", given=str(net_g), code="unit")
    weighed = DensityWeighed(
        volume_ml=volume_ml,
        net_g=net_g,
        volume_sd_ml=volume_ml * _VOLUME_SD_SHARE,
        net_sd_g=_NET_SD_G,
    )
    found = density_by_weighing(
        kg_from_g(net_g),
        volume=m3_from_ml(volume_ml),
        reading_spread=kg_from_g(weighed.net_sd_g),
        volume_spread=m3_from_ml(weighed.volume_sd_ml),
    )
    density, low, high = (
        Decimal(f"{g_per_ml_from_kg_per_m3(one):.5f}")
        for one in (found.density, found.low, found.high)
    )
    return DensityFound(
        density_g_per_ml=density,
        low_g_per_ml=low,
        high_g_per_ml=high,
        weighed=weighed,
        words=f"Weighed: {plain(low)} to {plain(high)} g/mL; the {found.matters_most} decides.",
    )


def must_be_density(density_g_per_ml: Decimal) -> None:
    """Refuse a density that no product has, asking about one in kilograms per cubic metre.

    Raises
    ------
    BadInput
        If it is not above zero or more than 3 g/mL.
    """
    if 0 < density_g_per_ml <= _HEAVIEST:
        return
    less = density_g_per_ml / _PER_THOUSAND
    asks = f" Did you mean {plain(less)} g/mL?" if 0 < less <= _HEAVIEST else ""
    raise BadInput(
        f"Density {density_g_per_ml} g/mL: give what one millilitre weighs in grams, such as "
        f"0.985 g/mL.{asks}",
        field="density_g_per_ml",
        given=str(density_g_per_ml),
        allowed=f"above 0, at most {_HEAVIEST}",
    )


def ask_about_units(flow: ProductFlow) -> str:
    """Return the question to ask about a viscosity in the wrong unit; empty where none is.

    Viscosities are typed in mPa·s, as data sheets and viscometers have them.
    """
    told = [("points", p.viscosity_mpa_s) for p in flow.points]
    # Readings at a low rate may well be above what a viscosity of its own may be.
    told += [("readings", r.viscosity_mpa_s) for r in flow.readings if r.rate_per_s >= 1]
    for _, value in told:
        if value < _THINNEST_MPA_S:
            times, back = plain(value * _PER_THOUSAND), plain(value)
            return f"{back} mPa s is thinner than water. Did you mean {times} mPa s ({back} Pa s)?"
        if value > _THICKEST_MPA_S:
            less = value / _PER_THOUSAND
            return (
                f"{plain(value)} mPa s is ten times as thick as honey. Did you mean "
                f"{plain(less)} mPa s?"
            )
    return ""
