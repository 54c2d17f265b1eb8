"""Conversions: exact where a scale's figure is concerned, and back again."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fillwright.errors import BadInput
from fillwright.records import units


@pytest.mark.parametrize(
    ("value", "unit", "in_g"),
    [
        ("250.10", "g", "250.10"),
        ("0.2501", "kg", "250.1"),
        ("250100", "mg", "250.1"),
        # The pound is 0.45359237 kg exactly, the ounce a sixteenth of it
        # (NIST Handbook 44, Appendix C, from memory).
        ("1", "lb", "453.59237"),
        ("16", "oz", "453.59237"),
        ("8.820", "oz", "250.04279396250"),
    ],
)
def test_a_reading_becomes_grams_exactly(value, unit, in_g):
    """No digit is lost or made up on the way to grams."""
    assert units.grams(Decimal(value), unit) == Decimal(in_g)


@pytest.mark.parametrize("unit", ["", "G", "t", "mL", "pound"])
def test_a_unit_that_is_not_known_is_refused(unit):
    """The unit is named, with those that would do."""
    with pytest.raises(BadInput, match=r"give one of g, kg, mg, lb, oz") as caught:
        units.grams(Decimal(1), unit)

    assert (caught.value.code, caught.value.field) == ("unit", "unit")


def test_there_and_back_gives_the_same():
    """Each pair of conversions is the inverse of each other."""
    assert units.g_from_kg(units.kg_from_g(250.1)) == pytest.approx(250.1, rel=1e-15)
    assert units.ml_from_m3(units.m3_from_ml(Decimal("250.1"))) == pytest.approx(250.1, rel=1e-15)
    si = units.kg_per_m3_from_g_per_mark(5.05, 5.0)
    assert units.g_per_mark_from_si(si, 5.0) == pytest.approx(5.05, rel=1e-15)
    assert units.pct_from_share(units.share_from_pct(Decimal("0.5"))) == pytest.approx(0.5)


def test_scales_of_si():
    """Water is 998 kg/m³, ice melts at 273.15 K, the standard atmosphere is 101 325 Pa.

    The zero of the Celsius scale and the atmosphere: SI Brochure, 9th edition (from memory).
    """
    assert units.kg_per_m3_from_g_per_ml(Decimal("0.998")) == pytest.approx(998.0)
    assert units.kelvin_from_c(0.0) == 273.15
    assert units.pa_from_hpa(1013.25) == pytest.approx(101_325.0)
