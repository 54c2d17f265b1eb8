"""What was typed in US customary units comes in as the record holds it."""

from __future__ import annotations

import pytest

from fillwright.errors import BadInput
from fillwright.web.forms import figure
from fillwright.web.typedunits import in_metric


@pytest.mark.parametrize(
    ("unit", "typed", "kept"),
    [
        ("g", "8.82", "250.0427939625"),
        ("g", "8,82", "250.0427939625"),
        ("mL", "8", "236.588236500"),
        ("°C", "70", "21.1111"),
        ("bar", "87", "5.998439"),
        ("mm", "0.55", "13.97"),
        ("g/mL", "8.5", "1.018524632"),
        ("1/kg", "2.5", "5.511556555"),
        ("g", "spilled", "spilled"),
        ("g row", "8.8 8.9", "249.4758035 252.3107558125"),
    ],
)
def test_a_figure_is_turned_once(unit, typed, kept):
    """By the unit that its field was shown with; what is no number stays."""
    form = in_metric({"a": typed, "in-a": f"{unit}=="})

    assert form["a"] == kept.rstrip("0") if "." in kept else kept
    assert "in-a" not in form


def test_a_field_left_alone_keeps_its_figure_to_the_last_digit():
    """Five bar are shown as 73 psi; sent back they are five bar still."""
    assert in_metric({"a": "73", "in-a": "bar=73=5"})["a"] == "5"
    assert in_metric({"a": "72", "in-a": "bar=73=5"})["a"] == "4.964225"
    assert in_metric({"a": "8,825", "in-a": "g=8.825=250.2"})["a"] == "250.2"


def test_a_form_in_metric_units_is_not_touched():
    """The very same form comes back."""
    form = {"a": "250", "b": "in"}

    assert in_metric(form) is form


def test_a_mark_that_says_no_unit_is_not_believed():
    """A sender who makes marks up gets what was typed."""
    assert in_metric({"a": "1", "in-a": "furlong=="})["a"] == "1"
    assert in_metric({"a": "1", "in-a": "g"})["a"] == "1"


def test_a_figure_out_of_bounds_is_answered_with_units():
    """The figure and its bounds stand with the metric unit, so that the page can turn them."""
    form = in_metric({"a": "10", "in-a": "g=="})

    with pytest.raises(BadInput, match=r"cannot be 283\.49523125 g\. Type at most 240 g\."):
        figure(form, "a", "The aim", most=240)
