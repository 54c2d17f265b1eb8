"""Volume and density by weighing: the factor of water, and a known volume weighed full."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fillwright.science.given import above_zero, not_negative
from fillwright.science.product import ZERO_C, water_density
from fillwright.science.weighing import air_density, mass_from_reading

__all__ = ["WeighedDensity", "density_by_weighing", "z_factor"]

_WEIGHTS = 8000.0
_COVERAGE = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighedDensity:
    """A density that was weighed.

    Attributes
    ----------
    density : float
        Density, buoyancy of air taken out. [kg/m³]
    low, high : float
        Range about 19 times in 20. [kg/m³]
    apparent : float
        What the scale showed over the volume, buoyancy left in. [kg/m³]
    matters_most : str
        ``"volume"`` or ``"reading"``: which of the two widens the range more.
    """

    density: float
    low: float
    high: float
    apparent: float
    matters_most: str


def z_factor(
    celsius: float,
    *,
    pressure: float = 101_325.0,
    humidity: float = 0.5,
    weights_density: float = _WEIGHTS,
) -> float:
    """Return the volume of water behind one unit of weight on a scale.

    Parameters
    ----------
    celsius : float
        Temperature of water and air, 0 to 40 °C. [°C]
    pressure : float
        Air pressure at the place. [Pa]
    humidity : float
        Relative humidity as a share. [1]
    weights_density : float
        Density of the weights that the scale was adjusted with. [kg/m³]

    Returns
    -------
    float
        Volume for each kilogram that the scale shows. [m³/kg]

    Raises
    ------
    BadInput
        If the water or the air is outside its equation, or the density is not above zero.

    Notes
    -----
    Z = (1 - ρa/ρw)/(ρ - ρa), as ISO 8655-6 has it (from memory); density of water after
    Tanaka and others (2001).

    Examples
    --------
    >>> round(1e3 * z_factor(20.0, pressure=101_300.0), 4)
    1.0029
    """
    water = float(water_density(celsius))
    air = air_density(celsius + ZERO_C, pressure=pressure, humidity=humidity)
    mass = mass_from_reading(
        1.0, liquid_density=water, air_density=air, weights_density=weights_density
    )
    return float(mass) / water


def density_by_weighing(
    reading: float,
    *,
    volume: float,
    reading_spread: float = 0.0,
    volume_spread: float = 0.0,
    air: float = 1.2,
) -> WeighedDensity:
    """Return the density of a product from a known volume of it on a scale.

    Parameters
    ----------
    reading : float
        Net reading. [kg]
    volume : float
        Volume that was weighed. [m³]
    reading_spread : float
        Standard uncertainty of the reading. [kg]
    volume_spread : float
        Standard uncertainty of the volume. [m³]
    air : float
        Density of the air at the scale. [kg/m³]

    Returns
    -------
    WeighedDensity
        With its range, twice the standard uncertainty to either side.

    Raises
    ------
    BadInput
        If reading or volume is not above zero, or another figure is negative.

    Notes
    -----
    ρ = w (1 - ρa/ρw)/V + ρa: the reading is mass less the air it pushes aside. The spreads
    are added as squares (JCGM 100:2008, from memory).
    """
    shown, room = above_zero(reading, "reading"), above_zero(volume, "volume")
    around = not_negative(air, "air")
    apparent = shown / room
    density = apparent * (1.0 - around / _WEIGHTS) + around
    by_reading = not_negative(reading_spread, "reading_spread") / shown
    by_volume = not_negative(volume_spread, "volume_spread") / room
    reach = _COVERAGE * apparent * math.hypot(by_reading, by_volume)
    return WeighedDensity(
        density=density,
        low=density - reach,
        high=density + reach,
        apparent=apparent,
        matters_most="volume" if by_volume >= by_reading else "reading",
    )
