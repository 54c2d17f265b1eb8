"""How often to weigh and how many: the least cost, the bound, and what cannot be."""

from __future__ import annotations

import math

import pytest

from fillwright import ask
from fillwright.errors import BadInput
from fillwright.science.check_plan import plan_checks
from fillwright.science.runlength import containers_to_alarm

USUAL = {
    "containers_between_shifts": 5000,
    "cost_of_a_weighing": 0.2,
    "cost_of_a_container_at_risk": 1.0,
}


def cost(group, between, *, chart="cusum", false=0.0):
    """Return the cost of a plan, written out."""
    waits = containers_to_alarm(group, between, 1.5, chart=chart)
    return 0.2 * group / between + waits / 5000 + false / (370.4 * between)


@pytest.mark.parametrize("chart", ["cusum", "mean"])
@pytest.mark.parametrize("false", [0.0, 50.0])
def test_no_other_plan_is_cheaper(chart, false):
    """Against every group up to eight and every interval up to three hundred, one by one."""
    plan = plan_checks(1.5, **USUAL, cost_of_a_false_alarm=false, chart=chart)

    best = min(
        cost(group, between, chart=chart, false=false)
        for group in range(1, 9)
        for between in range(group, 301)
    )
    assert plan.cost == pytest.approx(best, rel=1e-9)
    assert not plan.is_bounded


def test_the_alarm_comes_as_the_run_length_says():
    """Containers until the alarm are those of the question about the delay."""
    plan = plan_checks(1.5, **USUAL)

    given = {
        "checked_each_time": plan.checked_each_time,
        "containers_between_checks": plan.containers_between_checks,
        "shift_in_dose_sd": 1.5,
        "chart": "cusum",
    }
    assert ask("check-delay", given)["containers"] == pytest.approx(plan.containers_to_alarm)


def test_what_can_be_looked_at_again_bounds_the_interval():
    """The containers since the shift and one interval before it stay within the bound."""
    plan = plan_checks(1.5, **USUAL, most_to_look_at=30)

    assert plan.is_bounded
    assert plan.containers_to_alarm + plan.containers_between_checks <= 30


def test_a_dearer_weighing_is_made_less_often():
    """Four times the price, half as often: the square root of the price."""
    dear = plan_checks(1.5, **{**USUAL, "cost_of_a_weighing": 0.8})
    usual = plan_checks(1.5, **USUAL)

    ratio = dear.containers_between_checks / usual.containers_between_checks
    assert math.isclose(ratio, 2.0, abs_tol=0.1)


def test_the_sign_of_the_shift_says_nothing():
    """Up or down costs the same."""
    assert plan_checks(-1.5, **USUAL) == plan_checks(1.5, **USUAL)


@pytest.mark.parametrize(
    ("shift", "change", "words"),
    [
        (0.0, {}, "shift is 0"),
        (math.nan, {}, "shift is nan"),
        (1.5, {"cost_of_a_weighing": 0}, "cost_of_a_weighing is 0"),
        (1.5, {"containers_between_shifts": -1}, "containers_between_shifts is -1"),
        (0.1, {"most_to_look_at": 3}, "most_to_look_at is 3"),
        (1.5, {"chart": "luck"}, 'chart is "luck"'),
    ],
)
def test_what_cannot_be_is_refused(shift, change, words):
    """One clear sentence each."""
    with pytest.raises(BadInput, match=words):
        plan_checks(shift, **{**USUAL, **change})
