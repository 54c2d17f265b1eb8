"""Numbers as people and instruments write them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fillwright.records.figures import Mark, Writing, figure, looks_like_figure, writing_of

POINT = Writing(mark=Mark.POINT, groups=False)
COMMA = Writing(mark=Mark.COMMA, groups=False)


@pytest.mark.parametrize(
    ("cells", "mark"),
    [
        (["250.1", "249"], Mark.POINT),
        (["250,1", "249"], Mark.COMMA),
        (["250", "249"], Mark.POINT),
        (["250.123"], Mark.POINT),
        (["250,123"], Mark.UNCLEAR),
        (["0,123"], Mark.COMMA),
        (["1250,123"], Mark.COMMA),
        (["1,234.5", "1,234"], Mark.POINT),
        (["1.234,5"], Mark.COMMA),
        (["1,234,567"], Mark.POINT),
        (["1.234.567"], Mark.COMMA),
        (["250.1", "250,1"], Mark.MIXED),
        (["250.1", "250,123"], Mark.MIXED),
        (["words", ""], Mark.POINT),
    ],
)
def test_a_whole_column_says_its_decimal_mark(cells, mark):
    """One clear cell decides the column; two that contradict each other say so."""
    assert writing_of(cells).mark is mark


def test_a_semicolon_file_means_a_decimal_comma():
    """Where semicolons stand between the cells, a comma in a number is the decimal mark."""
    assert writing_of(["250,123"], comma_means_decimal=True).mark is Mark.COMMA


@pytest.mark.parametrize(
    ("text", "writing", "value"),
    [
        ("250.1", POINT, "250.1"),
        (" 250.10 ", POINT, "250.10"),
        ("+5", POINT, "5"),
        ("-5", POINT, "-5"),
        ("\u22125.5", POINT, "-5.5"),
        (".5", POINT, "0.5"),
        ("250.", POINT, "250"),
        ("2.5E+02", POINT, "250"),
        ("250,1", COMMA, "250.1"),
        (",5", COMMA, "0.5"),
        ("1 234,5", COMMA, "1234.5"),
        ("1\u00a0234,5", COMMA, "1234.5"),
        ("1\u202f234,5", COMMA, "1234.5"),
        ("1'234.5", POINT, "1234.5"),
        ("1\u2019234.5", POINT, "1234.5"),
        ("1,234.5", POINT, "1234.5"),
        ("1.234,5", COMMA, "1234.5"),
    ],
)
def test_a_figure_is_read_exactly(text, writing, value):
    """Every way of writing gives the exact decimal."""
    found = figure(text, writing=writing)

    assert found is not None
    assert found.value == Decimal(value)


@pytest.mark.parametrize("text", ["250 g", "250g", "250  g"])
def test_the_unit_behind_a_figure_is_kept(text):
    """What stands behind a number is handed back as its unit."""
    found = figure(text, writing=POINT)

    assert found is not None
    assert (found.value, found.unit) == (250, "g")


@pytest.mark.parametrize(
    ("text", "writing"),
    [
        ("", POINT),
        ("abc", POINT),
        ("12abc", POINT),
        ("1,23.4", POINT),
        ("1 23", POINT),
        ("12 34", POINT),
        ("1.2.3", POINT),
        ("250,1", POINT),
        ("250.1", COMMA),
        ("250.123", COMMA),
        ("1,234", POINT),
        ("1" * 19, POINT),
        ("\u0663", POINT),
        ("nan", POINT),
        ("#N/A", POINT),
        ("5 grams", POINT),
    ],
)
def test_what_is_no_figure_or_could_be_two_is_none(text, writing):
    """Words, wrong grouping, too many digits and the other decimal mark are not read."""
    assert figure(text, writing=writing) is None


def test_a_grouped_thousand_needs_a_clear_neighbour():
    """``1,234`` is one thousand only where another cell of the column groups beyond doubt."""
    writing = writing_of(["1,234", "2,345.6"])

    found = figure("1,234", writing=writing)

    assert found is not None
    assert found.value == 1234


def test_header_words_are_no_figures():
    """A header is told from a number."""
    assert looks_like_figure("250 g")
    assert not looks_like_figure("net (g)")
