"""From readings to contents, and from labels to weights."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from fillwright.errors import BadInput
from fillwright.science.quantity import (
    content_volume,
    content_volumes,
    reading_for_volume,
    target_weight,
)

D = Decimal
RHO = D("0.9982")


def test_without_buoyancy_it_is_a_plain_division():
    """100 g at 0.8 g/mL are 125 mL."""
    assert content_volume(D(100), density_20_g_per_ml=D("0.8"), buoyancy=False) == 125


def test_with_buoyancy_it_is_the_exact_fraction():
    """W (1 - 0.0012/8)/(rho - 0.0012) = 498.6 x 0.99985/0.997, as a fraction."""
    volume = content_volume(D("498.6"), density_20_g_per_ml=RHO, buoyancy=True)

    assert volume == Fraction(4986, 10) * Fraction(99985, 100000) / Fraction(997, 1000)


def test_lists_give_the_same_as_one_at_a_time():
    """Fast lists are exact lists, fractions among them."""
    nets = [D("498.6"), D("0"), Fraction(1, 3), 7]
    whole = content_volumes(nets, density_20_g_per_ml=RHO, buoyancy=True)

    assert list(whole) == [
        content_volume(net, density_20_g_per_ml=RHO, buoyancy=True) for net in nets
    ]
    assert content_volumes([], density_20_g_per_ml=RHO, buoyancy=True) == ()


def test_a_limit_in_millilitres_becomes_a_limit_on_the_scale():
    """Reading and volume are inverse to each other, exactly."""
    reading = reading_for_volume(D(485), density_20_g_per_ml=RHO, buoyancy=True)

    assert content_volume(reading, density_20_g_per_ml=RHO, buoyancy=True) == 485


@pytest.mark.parametrize(
    ("net", "density", "code", "match"),
    [
        (D(-1), RHO, "range", "net_g: -1 is below zero"),
        (1.5, RHO, "type", "is not an exact number"),
        (D(1), D("0.0012"), "range", "0.0012 g/mL is not the density of a liquid"),
        (D(1), D("998.2"), "range", "998.2 g/mL is not the density of a liquid; give g/mL"),
        (D(1), D("NaN"), "not-finite", "density_20_g_per_ml: NaN is not finite"),
    ],
)
def test_bad_readings_and_densities_are_refused(net, density, code, match):
    """Kilograms per cubic metre, air and negative weights are caught."""
    for call in (content_volume, lambda n, **more: content_volumes([D(3), n], **more)):
        with pytest.raises(BadInput, match=match) as error:
            call(net, density_20_g_per_ml=density, buoyancy=True)

        assert error.value.code == code


def test_target_weight_of_a_hot_product():
    """500 mL of 0.95 g/mL at 20 °C, expansion 7e-4 per K, filled at 60 °C.

    Mass 475 g whatever the temperature; density at 60 °C = 0.95 (1 - 0.028) = 0.9234;
    stroke = 475/0.9234 = 514.403 mL; reading = 500 (0.95 - 0.0012)/0.99985 = 474.4712 g.
    """
    answer = target_weight(
        D(500),
        density_g_per_ml=D("0.95"),
        density_temp_c=D(20),
        expansion_per_k=D("0.0007"),
        product_c=D(60),
        buoyancy=True,
    )

    assert answer.target_g == 475
    assert answer.density_product_g_per_ml == Fraction(9234, 10000)
    assert float(answer.stroke_ml_at_product_temp) == pytest.approx(514.403, abs=5e-4)
    assert float(answer.reading_g) == pytest.approx(474.4712, abs=5e-5)
    assert answer.because.startswith("500 mL at 20 °C weigh 475 g; the scale shows 474.471 g")


def test_a_density_measured_warm_is_brought_to_20_degrees():
    """Measured 0.94 at 30 °C with 1e-3 per K: 0.94 (1 + 0.01) = 0.9494 at 20 °C."""
    answer = target_weight(
        D(100),
        density_g_per_ml=D("0.94"),
        density_temp_c=D(30),
        expansion_per_k=D("0.001"),
        product_c=D(30),
        buoyancy=False,
    )

    assert answer.density_20_g_per_ml == Fraction(9494, 10000)
    assert answer.target_g == answer.reading_g == Fraction(9494, 100)
    assert answer.stroke_ml_at_product_temp == 101
    assert "apparent" in answer.assumptions[0]


def test_mass_does_not_move_with_product_temperature():
    """Only the stroke does."""
    cold, hot = (
        target_weight(
            D(100),
            density_g_per_ml=RHO,
            density_temp_c=D(20),
            expansion_per_k=D("0.0003"),
            product_c=D(at),
            buoyancy=True,
        )
        for at in (5, 80)
    )

    assert (cold.target_g, cold.reading_g) == (hot.target_g, hot.reading_g)
    assert cold.stroke_ml_at_product_temp < 100 < hot.stroke_ml_at_product_temp


def test_an_impossible_expansion_is_refused():
    """A density that falls to nothing at product temperature is an input error."""
    with pytest.raises(BadInput, match=r"density at product_c: -0\.2 g/mL is not the density"):
        target_weight(
            D(100),
            density_g_per_ml=D(1),
            density_temp_c=D(20),
            expansion_per_k=D("0.02"),
            product_c=D(80),
            buoyancy=True,
        )
