"""The rule sets load, and a damaged file is refused by name and row."""

from __future__ import annotations

from decimal import Decimal
from importlib.resources import files

import pytest

from fillwright.errors import BadInput, KnowledgeError
from fillwright.knowledge.check import check
from fillwright.knowledge.load import parse_rule_set, rule_set, rule_sets
from fillwright.knowledge.types import Basis, PlanKind, SecondLimit

EU = (files("fillwright.knowledge") / "data" / "rules" / "eu-76-211.toml").read_text("utf-8")
FILE = "eu.toml"


def test_seven_rule_sets_load_once():
    """The seven names of the reference are there, and the mapping is read only once."""
    assert list(rule_sets()) == [
        "AU-2009/233",
        "EU-76/211",
        "NZ-1999/373-7A",
        "OIML-R87-2004",
        "OIML-R87-2016",
        "UK-2006/659",
        "US-HB133-A",
    ]
    assert rule_sets() is rule_sets()


def test_an_unknown_name_lists_the_known_ones():
    """A wrong name is a choice error that says what there is."""
    with pytest.raises(
        BadInput, match="there is no rule set 'EU'; choose one of AU-2009/233"
    ) as e:
        rule_set("EU")

    assert e.value.code == "choice"
    assert e.value.field == "rules"


def test_figures_are_exact_decimals_with_their_basis():
    """A printed factor keeps its last zero, and rows say how they are held."""
    rules = rule_set("EU-76/211")
    destructive = next(row for row in rules.plan_rows if row.kind is PlanKind.DESTRUCTIVE)

    assert str(destructive.k) == "0.640"
    assert destructive.basis is Basis.READ
    assert [row.basis for row in rules.shortages][-1] is Basis.MEMORY
    assert rules.second_limit is SecondLimit.COMPLIANCE
    assert "2.2.2; and" not in rules.source_text(destructive.source)
    assert rules.source_text(destructive.source).startswith("Directive 76/211/EEC, Annex II 2.2.2")


def test_scope_ends_are_included_as_stated():
    """The EU covers 5 itself and 10 000 itself; an open low end leaves zero out."""
    assert rule_set("EU-76/211").scope.covers(Decimal(5))
    assert rule_set("EU-76/211").scope.covers(Decimal(10000))
    assert not rule_set("EU-76/211").scope.covers(Decimal("10000.1"))
    assert not rule_set("EU-76/211").scope.covers(Decimal("4.999"))
    assert not rule_set("AU-2009/233").scope.covers(Decimal(0))


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('name = "EU-76/211"', "name = ", "not readable as TOML"),
        ('name = "EU-76/211"', 'name = "eu"', r"name: found 'eu', expected text of the form"),
        ('edition = "', 'edition_of = "', "edition is missing; add it"),
        ("second_allowed = 0", "second_allowed = -1", "found -1, expected at least 0"),
        ("second_allowed = 0", "second_allowed = true", "expected a value of type integer"),
        ("may_supply = false", 'may_supply = "no"', "expected a value of type boolean"),
        ('k = "0.503"', "k = 0.503", r"plan row 1, k: found 0.503, expected a value of type str"),
        ('k = "0.503"', 'k = "about"', "plan row 1, k: found 'about', expected text of the form"),
        ('percent = "9"', 'percentage = "9"', "shortage row 1: percentage is not known here"),
        ('percent = "9"', 'percent = "9"\namount = "1"', "row 1: give either percent or amount"),
        (
            'above = "50"',
            'above = "60"',
            r"shortage row 2: starts at 60.*ends at 50; close the gap",
        ),
        ('basis = "R"', 'basis = "X"', "found 'X', expected one of R, C, M, D"),
        ("n_mean = 30", "n_mean = 31", "plan row 1: n_mean 31 is above n 30"),
        ("lot_to = 500", "lot_to = 50", "plan row 1: lot_to 50 is below lot_from 100"),
        ("n_second = 30\n", "", "plan row 1: n_second, accept_total and reject_total belong"),
        ("n = 30\n", "", "plan row 1: n is left out for a census"),
        ('k = "0.640"\n', "", "plan row 4: accept and k are missing"),
        ('key = "scope"', 'key = "range"', "source 'scope' is used but not listed"),
    ],
)
def test_a_damaged_file_is_refused_by_name_and_row(old, new, message):
    """Each kind of damage names the file and the place, and nothing is repaired."""
    assert old in EU
    with pytest.raises(KnowledgeError, match=message) as error:
        parse_rule_set(EU.replace(old, new, 1), file=FILE)

    assert str(error.value).startswith(FILE)


def test_a_schema_word_that_is_not_known_is_refused():
    """A schema cannot ask for something that is silently not checked."""
    with pytest.raises(KnowledgeError, match="the schema uses maximum, which is not supported"):
        check(3, {"type": "integer", "maximum": 2}, file="x.toml")


def test_lists_may_be_free_of_a_schema_for_their_items():
    """A list without items, and a table that allows more names, pass."""
    check({"a": [1, "b"]}, {"type": "object", "properties": {"a": {"type": "array"}}}, file="x")
    check({"c": 1}, {"type": "object"}, file="x")
