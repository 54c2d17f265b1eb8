"""How much may one package be short."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from fillwright.errors import BadInput
from fillwright.knowledge.load import rule_set, rule_sets
from fillwright.knowledge.types import Basis
from fillwright.science.quantity import ShortageVerdict, SuppliedShortage, tolerable_shortage

PAGE = SuppliedShortage(value=Decimal("13.0"), edition="2020", page="A-20")


@pytest.mark.parametrize(
    ("rules", "nominal", "expected"),
    [
        # 1.5 % of 1 250 = 18.75: next tenth, next whole, and as it is
        ("EU-76/211", "1250", "18.8"),
        ("UK-2006/659", "1250", "18.8"),
        ("AU-2009/233", "1250", "19"),
        ("OIML-R87-2004", "1250", "19"),
        ("OIML-R87-2016", "1250", "19"),
        ("NZ-1999/373-7A", "1250", "18.75"),
        # 4.5 % of 140 = 6.3 exactly: an exact tenth stays
        ("EU-76/211", "140", "6.3"),
        ("AU-2009/233", "140", "6.3"),
        # 4.5 % of 141 = 6.345
        ("AU-2009/233", "141", "6.4"),
        ("NZ-1999/373-7A", "141", "6.345"),
        # 3 % of 333 = 9.99 -> 10.0
        ("EU-76/211", "333", "10"),
        # 1 % of 20 001 = 200.01
        ("UK-2006/659", "20001", "200.1"),
        ("AU-2009/233", "20001", "201"),
    ],
)
def test_rounding_goes_up_to_the_next_step(rules, nominal, expected):
    """Each rule set rounds up by its own step, and an exact step stays as it is."""
    answer = tolerable_shortage(rule_set(rules), Decimal(nominal), unit="mL")

    assert str(answer.t) == expected
    assert answer.t1_limit == Decimal(nominal) - Decimal(expected)
    assert answer.t2_limit == Decimal(nominal) - 2 * Decimal(expected)
    assert answer.verdict is ShortageVerdict.OK


def test_raw_and_rounded_are_both_kept():
    """The figure before rounding is there for the report."""
    answer = tolerable_shortage(rule_set("EU-76/211"), Decimal(23), unit="g")

    assert (answer.t_raw, answer.t) == (Decimal("2.07"), Decimal("2.1"))
    assert answer.t1_limit == Decimal("20.9")
    assert answer.rounding_step == Decimal("0.1")
    assert answer.because == "The row up to 50 g gives 9 % of 23, rounded up to 2.1 g."


def test_a_row_from_memory_is_said_to_be_unchecked():
    """A row or a rounding that was not read leaves its note, a row that was read does not."""
    read = tolerable_shortage(rule_set("EU-76/211"), Decimal(500), unit="mL")
    rounded = tolerable_shortage(rule_set("EU-76/211"), Decimal(141), unit="mL")
    memory = tolerable_shortage(rule_set("EU-76/211"), Decimal(2000), unit="mL")

    assert (read.basis, read.notes) == (Basis.READ, ())
    assert rounded.notes == (
        "table not checked against the source: rounding of the tolerable negative error",
    )
    assert memory.basis is Basis.MEMORY
    assert memory.notes == (
        (
            "table not checked against the source: tolerable negative error, "
            "row above 1000 up to 10000"
        ),
    )


@pytest.mark.parametrize(
    ("rules", "nominal", "words"),
    [
        ("EU-76/211", "4.9", "covers from 5 to 10000 mL; 4.9 mL is outside"),
        ("EU-76/211", "10001", "covers from 5 to 10000"),
        ("UK-2006/659", "25000.5", "covers from 5 to 25000"),
        ("AU-2009/233", "50001", "covers above 0 to 50000"),
    ],
)
def test_outside_the_range_there_is_no_figure(rules, nominal, words):
    """A label outside the range gets no computed shortage."""
    answer = tolerable_shortage(rule_set(rules), Decimal(nominal), unit="mL")

    assert answer.verdict is ShortageVerdict.OUT_OF_SCOPE
    assert words in answer.because
    assert (answer.t, answer.t1_limit, answer.t2_limit, answer.row) == (None, None, None, None)


@pytest.mark.parametrize(("nominal", "expected"), [("5", "0.5"), ("10000", "150")])
def test_the_ends_of_the_range_are_inside(nominal, expected):
    """The EU covers 5 (9 % = 0.45, up to 0.5) and 10 000 (1.5 % = 150) themselves."""
    answer = tolerable_shortage(rule_set("EU-76/211"), Decimal(nominal), unit="g")

    assert answer.t == Decimal(expected)


def test_us_volume_labels_have_no_table():
    """The US volume table is not held, and the weight table is never used for it."""
    answer = tolerable_shortage(rule_set("US-HB133-A"), Decimal(500), unit="mL")

    assert answer.verdict is ShortageVerdict.NOT_AVAILABLE
    assert "type it from the document" in answer.because
    assert answer.t is None


def test_a_supplied_figure_carries_its_edition_and_page():
    """What the user read in the handbook is used and named, for volume and weight."""
    for unit in ("mL", "g"):
        answer = tolerable_shortage(rule_set("US-HB133-A"), Decimal(500), unit=unit, supplied=PAGE)

        assert (answer.t, answer.basis) == (Decimal("13.0"), Basis.SUPPLIED)
        assert answer.t1_limit == Decimal(487)
        assert "edition 2020, page A-20" in answer.sources[0]


def test_a_supplied_figure_does_not_widen_the_range():
    """Outside the range a supplied figure changes nothing."""
    answer = tolerable_shortage(rule_set("US-HB133-A"), Decimal(60000), unit="g", supplied=PAGE)

    assert answer.verdict is ShortageVerdict.OUT_OF_SCOPE


@pytest.mark.parametrize(
    ("nominal", "row", "expected"),
    [
        ("36", "up to 36", "3.6"),
        ("36.1", "above 36 up to 54", "3.6"),
        ("117", "above 81 up to 117", "7.2"),
        ("117.1", "above 117 up to 154", "9"),
        ("30000", "above 24670", "600"),
    ],
)
def test_us_rows_own_their_upper_end(nominal, row, expected):
    """A US row runs up to and including its limit; 2 % above the last."""
    answer = tolerable_shortage(rule_set("US-HB133-A"), Decimal(nominal), unit="g")

    assert (answer.row, str(answer.t)) == (row, expected)


@pytest.mark.parametrize("name", list(rule_sets()))
def test_every_quantity_in_range_finds_a_row(name):
    """Tables reach from the smallest to the largest quantity covered."""
    rules = rule_set(name)
    for nominal in (rules.scope.low + Decimal("0.001"), Decimal(100), rules.scope.high):
        assert tolerable_shortage(rules, nominal, unit="g").verdict is ShortageVerdict.OK


@pytest.mark.parametrize(
    ("nominal", "unit", "code", "match"),
    [
        (Decimal(0), "g", "range", "nominal: 0 is not above zero"),
        (Decimal(-5), "g", "range", "nominal: -5 is not above zero"),
        (Decimal("NaN"), "g", "not-finite", "nominal: NaN is not finite"),
        (Decimal("1E+999999999"), "g", "range", "far beyond any weight"),
        (500.0, "g", "type", "nominal: 500.0 is not an exact number"),
        (True, "g", "type", "nominal: True is not an exact number"),
        (Decimal(500), "kg", "unit", "unit: 'kg' is not a unit of content"),
    ],
)
def test_bad_input_is_refused_with_a_sentence(nominal, unit, code, match):
    """Nothing that is not an exact label quantity in g or mL gets through."""
    with pytest.raises(BadInput, match=match) as error:
        tolerable_shortage(rule_set("EU-76/211"), nominal, unit=unit)

    assert error.value.code == code


@pytest.mark.parametrize(
    ("rules", "supplied", "code", "match"),
    [
        ("EU-76/211", PAGE, "inconsistent", "has its own table"),
        (
            "US-HB133-A",
            SuppliedShortage(value=Decimal(0), edition="2020", page="1"),
            "range",
            "supplied value: 0 is not above zero",
        ),
        (
            "US-HB133-A",
            SuppliedShortage(value=Decimal(1), edition=" ", page="1"),
            "missing",
            "the edition or the page is missing",
        ),
    ],
)
def test_a_supplied_figure_is_checked(rules, supplied, code, match):
    """A supplied figure needs a rule set that asks for it, a value, an edition and a page."""
    with pytest.raises(BadInput, match=match) as error:
        tolerable_shortage(rule_set(rules), Decimal(500), unit="mL", supplied=supplied)

    assert error.value.code == code


def test_a_fraction_as_label_is_exact_too():
    """A label given as a fraction of a decimal works like the decimal."""
    answer = tolerable_shortage(rule_set("AU-2009/233"), Decimal(1) / Decimal(8), unit="g")

    # 9 % of 0.125 = 0.01125 -> 0.1
    assert answer.t_raw == Decimal("0.01125")
    assert Fraction(answer.t or 0) == Fraction(1, 10)
