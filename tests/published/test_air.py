"""Air density and buoyancy against general reference libraries and definitions."""

from __future__ import annotations

import pytest
from chemicals.iapws import iapws95_Psat
from scipy.constants import R

from fillwright.science.weighing import air_density, mass_from_reading

DRY_AIR = 28.9647e-3  # kg/mol, from memory
WATER = 18.01528e-3  # kg/mol, from memory


@pytest.mark.parametrize("celsius", [10.0, 20.0, 30.0])
@pytest.mark.parametrize("humidity", [0.0, 0.5, 0.8])
def test_air_is_an_ideal_mixture_of_dry_air_and_vapour(celsius, humidity):
    """Within 0.1 % of the ideal gas law with the vapour pressure of IAPWS-95."""
    kelvin = celsius + 273.15
    vapour = humidity * iapws95_Psat(kelvin)
    expected = ((101325.0 - vapour) * DRY_AIR + vapour * WATER) / (R * kelvin)

    found = air_density(kelvin, pressure=101325.0, humidity=humidity)

    assert found == pytest.approx(expected, rel=1e-3)


def test_weights_of_conventional_density_need_no_correction():
    """A body of 8000 kg/m³ shows its own mass in any air (OIML D 28, definition, from memory)."""
    assert mass_from_reading(0.25, liquid_density=8000.0, air_density=1.1) == 0.25


def test_the_balance_of_forces_holds():
    """Gravity less lift of the liquid equals that of the weights: Archimedes, by hand."""
    # 250 g shown, air 1.2: the scale sees the force of 0.25 kg of weights in air.
    mass = mass_from_reading(0.25, liquid_density=1000.0, air_density=1.2)

    force_of_weights = 0.25 - 1.2 * 0.25 / 8000.0
    assert mass - 1.2 * mass / 1000.0 == pytest.approx(force_of_weights, rel=1e-14)
