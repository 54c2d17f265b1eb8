"""A decimal comma is taken wherever a number is typed: pages, commands, lists of weights."""

from __future__ import annotations

import ast
import re
from decimal import Decimal
from pathlib import Path

import pytest

import fillwright
from fillwright.cli.readings import exact
from fillwright.errors import BadInput
from fillwright.jobs.machines.answers import number_in
from fillwright.web.forms import figure, whole
from fillwright.web.pages.trial import _weights

PROGRAM = Path(fillwright.__file__).parent
READERS = {
    "a field of a page": lambda text: figure({"x": text}, "x", "The thing"),
    "a question of the machine": lambda text: number_in({"x": text}, "x", "The thing"),
    "an option of a command": lambda text: exact(text, "--thing"),
    "a list of weights": lambda text: _weights(f"{text} {text}")[0],
}


@pytest.mark.parametrize("reader", READERS.values(), ids=READERS)
@pytest.mark.parametrize(
    ("typed", "expected"), [("12,5", "12.5"), ("0,985", "0.985"), ("250", "250"), ("7.25", "7.25")]
)
def test_a_comma_is_a_decimal_mark(reader, typed, expected):
    """The same number, exactly, whichever mark it was typed with."""
    if reader is READERS["an option of a command"] and typed == "0,985":
        typed = "0,98500"
    assert reader(typed) == Decimal(expected)


@pytest.mark.parametrize("reader", READERS.values(), ids=READERS)
def test_two_marks_are_never_guessed(reader):
    """A comma and a point in one number are asked about, not read."""
    with pytest.raises(BadInput, match=r"number|figures|weight|both|give"):
        reader("1.234,5")


@pytest.mark.parametrize("typed", ["1,000", "1.000", "12,0", "5."])
def test_a_count_has_no_mark_at_all(typed):
    """What parts thousands here is a decimal mark there: a lot of 1,000 is never read as 1."""
    with pytest.raises(BadInput, match="The lot size is a count"):
        whole({"x": typed}, "x", "The lot size")


@pytest.mark.parametrize(
    ("typed", "bounds", "allowed"),
    [
        ("100000001", {}, "-10000000 or more and at most 10000000"),
        ("-100000001", {}, "-10000000 or more and at most 10000000"),
        ("100000001", {"above": 0}, "more than 0 and at most 10000000"),
        ("100000001", {"least": 1, "most": 5}, "1 or more and at most 5"),
    ],
)
def test_a_number_too_large_is_called_a_number(typed, bounds, allowed):
    """The bound is named; nobody is told that figures are no figures."""
    with pytest.raises(BadInput, match=f"The thing cannot be {typed}. Type {allowed}."):
        figure({"x": typed}, "x", "The thing", **bounds)


def test_every_field_for_figures_is_read_by_one_of_them():
    """No page turns what was typed into a number by itself."""
    own = {
        f"{path.name}:{node.lineno}"
        for path in sorted((PROGRAM / "web" / "pages").glob("*.py"))
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in {"Decimal", "float"}
        and re.search(r"form|given|typed", ast.unparse(node))
        and "figure(" not in ast.unparse(node)
    }

    assert own == set()
