"""Volumes from weights against reference data for water.

Density of water: IAPWS-95 as carried by the `chemicals` library.  Factor 1.0029 mL/g at 20 °C and
1013 hPa: ISO 8655-6, table of Z (read as reprinted).
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from chemicals import iapws95_rho

from fillwright.science.quantity import content_volume
from fillwright.science.quantity.content import volume_per_gram

D = Decimal


def test_label_of_half_a_litre_of_water():
    """498.6 g at 0.9982 g/mL are 500.025 mL."""
    volume = content_volume(D("498.6"), density_20_g_per_ml=D("0.9982"), buoyancy=True)

    assert float(volume) == pytest.approx(500.025, abs=5e-4)


def test_density_of_water_at_20_degrees():
    """IAPWS-95 at 293.15 K and 101 325 Pa gives 0.9982 g/mL to four decimals."""
    assert iapws95_rho(293.15, 101325.0) / 1000 == pytest.approx(0.9982, abs=5e-5)


def test_factor_of_water():
    """With the reference density one gram on the scale is 1.0029 mL."""
    density = D(str(round(iapws95_rho(293.15, 101325.0) / 1000, 6)))
    factor = volume_per_gram(density_20_g_per_ml=density, buoyancy=True)

    assert float(factor) == pytest.approx(1.0029, abs=5e-5)


@pytest.mark.parametrize(
    ("density", "percent"), [("0.998", 0.105), ("0.79", 0.137), ("1.26", 0.080)]
)
def test_leaving_buoyancy_out_understates_the_volume(density, percent):
    """By 0.105 % at 0.998 g/mL, 0.137 % at 0.79, 0.080 % at 1.26 (hand: ρa/ρ - ρa/ρw)."""
    plain, corrected = (
        content_volume(D(1000), density_20_g_per_ml=D(density), buoyancy=buoyancy)
        for buoyancy in (False, True)
    )

    assert float(corrected / plain - 1) * 100 == pytest.approx(percent, abs=6e-4)
