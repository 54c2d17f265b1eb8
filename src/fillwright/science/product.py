"""Properties of liquids against temperature: density, viscosity, vapour pressure, surface.

Published formulas for water and glycerol in water; for any other product what was measured.
Temperatures are in degrees Celsius where a formula is, as its name says.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput
from fillwright.science.given_many import all_above_zero, all_finite

__all__ = [
    "Liquid",
    "density_at",
    "glycerol_water",
    "water",
    "water_density",
    "water_surface_tension",
    "water_vapour_pressure",
    "water_viscosity",
]

ZERO_C: Final = 273.15
_CRITICAL_K: Final = 647.096
_CRITICAL_PA: Final = 22.064e6
_TANAKA: Final = (-3.983035, 301.797, 522_528.9, 69.34881, 999.974950)
_IAPWS_VISCOSITY: Final = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
_IAPWS_VAPOUR: Final = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Liquid:
    """What is known of a liquid at one temperature; none where it is not known.

    Attributes
    ----------
    density : float
        Density. [kg/m³]
    viscosity : float
        Viscosity, Newtonian. [Pa·s]
    vapour_pressure : float or None
        Absolute pressure at which it boils. [Pa]
    surface_tension : float or None
        Against air. [N/m]
    """

    density: float
    viscosity: float
    vapour_pressure: float | None
    surface_tension: float | None


def water(celsius: float) -> Liquid:
    """Return the properties of water.

    Parameters
    ----------
    celsius : float
        Temperature, 0 to 40 °C by the density. [°C]

    Returns
    -------
    Liquid
        All four.

    Raises
    ------
    BadInput
        Outside 0 to 40 °C.
    """
    return Liquid(
        density=float(water_density(celsius)),
        viscosity=float(water_viscosity(celsius)),
        vapour_pressure=float(water_vapour_pressure(celsius)),
        surface_tension=float(water_surface_tension(celsius)),
    )


def glycerol_water(celsius: float, fraction: float) -> Liquid:
    """Return the properties of glycerol in water.

    Parameters
    ----------
    celsius : float
        Temperature, 0 to 100 °C. [°C]
    fraction : float
        Mass of glycerol over the whole mass, 0 to 1. [1]

    Returns
    -------
    Liquid
        Density and viscosity; water's vapour pressure as the safe bound is not given here.

    Raises
    ------
    BadInput
        Outside the ranges of the formulas.

    Notes
    -----
    Viscosity: Cheng, Industrial and Engineering Chemistry Research 47, 3285 (2008). Density:
    Volk and Kähler, Experiments in Fluids 59, 75 (2018). Coefficients of both as several
    public programs have them.
    """
    t = _within(celsius, 0.0, 100.0, "Cheng's formula for glycerol in water")
    if not 0.0 <= fraction <= 1.0:
        message = f"glycerol_mass_fraction is {fraction:g}; give a share from 0 to 1."
        raise BadInput(message, field="glycerol_mass_fraction", given=fraction, allowed="0 to 1")
    of_water = 1.790e-3 * np.exp((-1230.0 - t) * t / (36_100.0 + 360.0 * t))
    of_glycerol = 12.100 * np.exp((-1233.0 + t) * t / (9900.0 + 70.0 * t))
    a = 0.705 - 0.0017 * t
    b = (4.9 + 0.036 * t) * a**2.5
    weight = np.asarray(1.0 - fraction)
    if 0.0 < fraction < 1.0:
        weight = weight + a * b * fraction * (1.0 - fraction) / (
            a * fraction + b * (1.0 - fraction)
        )
    viscosity = of_water**weight * of_glycerol ** (1.0 - weight)
    return Liquid(
        density=_glycerol_density(t, fraction),
        viscosity=float(viscosity),
        vapour_pressure=None,
        surface_tension=None,
    )


def water_density(celsius: ArrayLike) -> NDArray[np.float64]:
    """Return the density of water free of air at 101 325 Pa.

    Parameters
    ----------
    celsius : float or ndarray
        Temperature, 0 to 40 °C. [°C]

    Returns
    -------
    ndarray
        Density. [kg/m³]

    Raises
    ------
    BadInput
        Outside 0 to 40 °C.

    Notes
    -----
    Tanaka, Davis, Peuto and Bettin, Metrologia 38, 301 (2001), equation 1; coefficients from
    memory, checked in the tests against an independent library.
    """
    t = _within(celsius, 0.0, 40.0, "the formula of Tanaka and others for water's density")
    a1, a2, a3, a4, a5 = _TANAKA
    return np.asarray(a5 * (1.0 - (t + a1) ** 2 * (t + a2) / (a3 * (t + a4))))


def water_viscosity(celsius: ArrayLike) -> NDArray[np.float64]:
    """Return the viscosity of water at 0.1 MPa.

    Parameters
    ----------
    celsius : float or ndarray
        Temperature, 0 to 100 °C. [°C]

    Returns
    -------
    ndarray
        Viscosity. [Pa·s]

    Raises
    ------
    BadInput
        Outside 0 to 100 °C.

    Notes
    -----
    IAPWS, Revised supplementary release on properties of liquid water at 0.1 MPa (2011),
    equation for viscosity; coefficients from memory, checked against an independent library.
    """
    t = _within(celsius, 0.0, 100.0, "the formula of IAPWS for water's viscosity")
    scaled = (t + ZERO_C) / 300.0
    return np.asarray(1e-6 * sum(a * scaled**b for a, b in _IAPWS_VISCOSITY))


def water_vapour_pressure(celsius: ArrayLike) -> NDArray[np.float64]:
    """Return the absolute pressure at which water boils.

    Parameters
    ----------
    celsius : float or ndarray
        Temperature, 0 to 100 °C. [°C]

    Returns
    -------
    ndarray
        Vapour pressure. [Pa]

    Raises
    ------
    BadInput
        Outside 0 to 100 °C.

    Notes
    -----
    Wagner and Pruß, J. Phys. Chem. Ref. Data 22, 783 (1993), equation 1; coefficients from
    memory, checked against an independent library.
    """
    kelvin = _within(celsius, 0.0, 100.0, "the formula of Wagner and Pruß") + ZERO_C
    tau = 1.0 - kelvin / _CRITICAL_K
    powers = sum(a * tau**b for a, b in _IAPWS_VAPOUR)
    return np.asarray(_CRITICAL_PA * np.exp(_CRITICAL_K / kelvin * powers))


def water_surface_tension(celsius: ArrayLike) -> NDArray[np.float64]:
    """Return the surface tension of water against air.

    Parameters
    ----------
    celsius : float or ndarray
        Temperature, 0 to 100 °C. [°C]

    Returns
    -------
    ndarray
        Surface tension. [N/m]

    Raises
    ------
    BadInput
        Outside 0 to 100 °C.

    Notes
    -----
    IAPWS release on surface tension of ordinary water substance (1994), from memory.
    """
    kelvin = _within(celsius, 0.0, 100.0, "the formula of IAPWS for surface tension") + ZERO_C
    tau = 1.0 - kelvin / _CRITICAL_K
    return np.asarray(0.2358 * tau**1.256 * (1.0 - 0.625 * tau))


def density_at(
    celsius: ArrayLike, *, known: ArrayLike, at_celsius: ArrayLike, expansion: ArrayLike
) -> NDArray[np.float64]:
    """Return a product's density at another temperature.

    Parameters
    ----------
    celsius : float or ndarray
        Temperature asked for. [°C]
    known : float or ndarray
        Density that was measured. [kg/m³]
    at_celsius : float or ndarray
        Temperature of that measurement. [°C]
    expansion : float or ndarray
        Cubic expansion. [1/K]

    Returns
    -------
    ndarray
        Density, on a straight line. [kg/m³]

    Raises
    ------
    BadInput
        If a figure is not finite, or the line has fallen to nothing.
    """
    away = all_finite(celsius, "celsius") - all_finite(at_celsius, "at_celsius")
    grown = 1.0 - all_finite(expansion, "expansion_per_k") * away
    if np.any(grown <= 0.0):
        message = "the straight line of density has fallen to nothing; measure nearer to it."
        raise BadInput(message, field="expansion_per_k", code="outside-model")
    return np.asarray(all_above_zero(known, "density_kg_m3") * grown)


def _glycerol_density(t: ArrayLike, fraction: float) -> float:
    """Return the density of glycerol in water [kg/m³] at a temperature [°C]."""
    at = float(np.asarray(t))
    of_glycerol = 1273.0 - 0.612 * at
    of_water = 1000.0 * (1.0 - (abs(at - 3.98) / 615.0) ** 1.71)
    if fraction == 0.0:
        return float(of_water)
    bend = 1.78e-6 * at**2 - 1.82e-4 * at + 1.41e-2
    kappa = 1.0 + bend * float(np.sin(np.pi * fraction**1.31)) ** 0.81
    part = 1.0 + of_glycerol / of_water * (1.0 / fraction - 1.0)
    return float(kappa * (of_water + (of_glycerol - of_water) / part))


def _within(celsius: ArrayLike, low: float, high: float, whose: str) -> NDArray[np.float64]:
    """Return the temperatures when a formula covers them."""
    t = all_finite(celsius, "temperature_c")
    if np.any((t < low) | (t > high)):
        wrong = float(t[(t < low) | (t > high)].flat[0])
        message = (
            f"temperature_c is {wrong:g}; {whose} covers {low:g} to {high:g} °C. Measure the "
            "product itself at that temperature."
        )
        allowed = f"{low:g} to {high:g}"
        raise BadInput(
            message, field="temperature_c", given=wrong, allowed=allowed, code="outside-model"
        )
    return t
