"""Charts of groups: limits by the known constants, unequal groups, signals, bad input."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fillwright import ask
from fillwright.errors import BadInput
from fillwright.science.chart_constants import chart_constants
from fillwright.science.group_chart import group_chart


def test_limits_are_those_of_the_constants():
    """With many equal groups the limits are A3, B3 and B4 times the mean sd."""
    draw = np.random.default_rng(3)
    groups = draw.normal(250.0, 0.4, (400, 5))

    chart = group_chart(groups.tolist())

    known = chart_constants(5)
    sbar = known.c4 * chart.sd_within
    assert chart.mean_high[0] - chart.centre == pytest.approx(known.A3 * sbar)
    assert chart.sd_high[0] == pytest.approx(known.B4 * sbar)
    assert chart.sd_low[0] == pytest.approx(known.B3 * sbar)
    assert chart.sd_within == pytest.approx(0.4, rel=0.03)
    assert float(np.mean(chart.sds)) == pytest.approx(sbar, rel=0.01)


def test_unequal_groups_are_pooled_by_their_degrees_of_freedom():
    """One large group weighs more; each group has limits of its own."""
    groups = [[0.0, 2.0], [1.0, 1.0, 1.0, 1.0, 1.0, 1.0]]

    chart = group_chart(groups)

    c4 = math.sqrt(2 / 6) * math.gamma(3.5) / math.gamma(3)
    assert chart.sd_within == pytest.approx(math.sqrt(2.0 / 6) / c4)
    assert chart.mean_high[0] > chart.mean_high[1]


@pytest.mark.parametrize(
    ("odd", "first"), [([250.9, 251.1, 251.0], 11), ([248.0, 252.0, 250.0], 11)]
)
def test_a_mean_and_a_scatter_are_found(odd, first):
    """A group off the middle signals, and so does one that scatters."""
    draw = np.random.default_rng(4)
    groups = [*draw.normal(250.0, 0.2, (10, 3)).tolist(), odd]

    chart = group_chart(groups)

    assert (chart.first_signal, chart.last_good) == (first, first - 1)


def test_equal_readings_give_no_signal():
    """All equal: no scatter, no signal, no warning."""
    chart = group_chart([[5.0, 5.0]] * 3)

    assert (chart.first_signal, chart.sd_within) == (None, 0.0)


def test_the_question_answers_it():
    """The same by name, and what does not belong is refused."""
    answer = ask("chart-run", {"chart": "groups", "groups": [[1, 3], [2, 4], [1.5, 3.5]]})

    assert answer["means"] == [2.0, 3.0, 2.5]
    assert answer["because"] == "No group gives a signal."
    for given, words in (
        ({"chart": "groups"}, "groups is missing"),
        ({"chart": "groups", "groups": [[1, 2], [3, 4]], "readings": [1, 2]}, "groups belongs"),
        ({"chart": "cusum", "groups": [[1, 2], [3, 4]]}, "groups belongs"),
        ({"chart": "groups", "groups": [[1], [3, 4]]}, "groups"),
    ):
        with pytest.raises(BadInput, match=words):
            ask("chart-run", given)


@pytest.mark.parametrize(
    ("groups", "words"),
    [
        ([[1.0, 2.0]], "groups holds 1"),
        ([[1.0, 2.0], [1.0]], r"groups\[1\]"),
        ([[1.0, 2.0], [1.0, math.nan]], r"groups\[1\]"),
    ],
)
def test_what_is_no_group_is_refused(groups, words):
    """One clear sentence."""
    with pytest.raises(BadInput, match=words):
        group_chart(groups)
