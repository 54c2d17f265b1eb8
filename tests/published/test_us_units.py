"""The US customary units against their published definitions.

NIST Handbook 44, Appendix C, and NIST SP 811, Appendix B.8 and B.9; the figures are from memory
and were not checked against the documents.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from fillwright.records.units import US_CUSTOMARY, label_in_metric, metric_from_us

EXACT = {
    ("g", "oz"): "28.349523125",
    ("kg", "lb"): "0.45359237",
    ("mL", "fl oz"): "29.5735295625",
    ("L", "gal"): "3.785411784",
    ("mm", "in"): "25.4",
    ("m", "ft"): "0.3048",
    ("L/min", "scfm"): "28.316846592",
}
ROUNDED = {
    # Handbook, SP 811 B.8: psi to kPa, lb/gal to kg/L, inHg (conventional) to kPa.
    ("kPa", "psi"): "6.894757",
    ("bar", "psi"): "0.06894757",
    ("g/mL", "lb/gal"): "0.1198264",
    ("hPa", "inHg"): "33.86389",
}


@pytest.mark.parametrize(("pair", "size"), EXACT.items())
def test_units_that_are_defined_are_exact(pair, size):
    """One of the US unit is that many of the metric one, to the last digit."""
    metric, us = pair

    assert US_CUSTOMARY[metric].name == us
    assert US_CUSTOMARY[metric].size_factor == Fraction(Decimal(size))


@pytest.mark.parametrize(("pair", "size"), ROUNDED.items())
def test_units_that_follow_agree_with_the_table(pair, size):
    """One of the US unit is what the table gives, to the digits it gives."""
    metric, us = pair
    places = len(size.partition(".")[2])

    assert US_CUSTOMARY[metric].name == us
    assert round(float(US_CUSTOMARY[metric].size_factor), places) == float(size)


@pytest.mark.parametrize(
    ("shown_f", "kept_c"), [("32", "0"), ("212", "100"), ("68", "20"), ("-40", "-40")]
)
def test_the_two_scales_of_temperature_meet_where_they_should(shown_f, kept_c):
    """SP 811 B.8: the Celsius figure is that in Fahrenheit less 32, over 1.8."""
    assert metric_from_us(Decimal(shown_f), "°C") == Decimal(kept_c)


def test_sixteen_ounces_are_a_pound_and_a_gallon_is_128_fluid_ounces():
    """Handbook 44, Appendix C: the units of one system fit each other."""
    assert 16 * US_CUSTOMARY["g"].size_factor == 1000 * US_CUSTOMARY["kg"].size_factor
    assert 128 * US_CUSTOMARY["mL"].size_factor == 1000 * US_CUSTOMARY["L"].size_factor
    # A US gallon is 231 cubic inches.
    inch = US_CUSTOMARY["mm"].size_factor / 10
    assert 231 * inch**3 == 1000 * US_CUSTOMARY["L"].size_factor


def test_a_label_comes_to_exact_grams_and_millilitres():
    """8 fl oz, 5 lb and 2 L, to the last digit."""
    assert label_in_metric(Decimal(8), "fl oz") == (Decimal("236.5882365"), "mL")
    assert label_in_metric(Decimal(5), "lb") == (Decimal("2267.96185"), "g")
    assert label_in_metric(Decimal(2), "L") == (Decimal(2000), "mL")
