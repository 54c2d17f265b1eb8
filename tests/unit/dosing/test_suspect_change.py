"""How far back a change may lie, and that it only ever widens what is held."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fillwright import ask
from fillwright.errors import BadInput
from fillwright.science.suspect import Check, CheckOutcome, change_not_before, suspect_range


def _exact(z, probability):
    """The same by the joint normal density of every pattern, written out."""
    n = len(z)
    mass = np.zeros(n)
    for place in range(n):
        step = (np.arange(n) >= place).astype(float)
        ramp = np.maximum(np.arange(n) - place + 1.0, 0.0) / (n - place)
        for share, column, var in ((0.7, step, 9.0), (0.3, ramp, 36.0)):
            cov = np.eye(n) + var * np.outer(column, column)
            mass[place] += share * stats.multivariate_normal.pdf(z, cov=cov)
    below = np.cumsum(mass / mass.sum())
    return int(np.argmax(below >= 1 - probability))


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("probability", [0.5, 0.8, 0.95])
def test_the_place_is_that_of_the_joint_density(seed, probability):
    """Sums from the end give the quantile that multivariate normal densities give."""
    rng = np.random.default_rng([41, seed])
    z = rng.standard_normal(25) + 1.5 * (np.arange(25) >= 14)

    assert change_not_before(z, probability=probability) == _exact(z, probability)


def test_the_range_goes_back_to_where_the_change_may_lie():
    """Ten good checks, then an alarm: from the earlier of the last zero and the change."""
    checks = [
        Check(first=10 * n, last=10 * n, outcome=CheckOutcome.GOOD) for n in range(1, 11)
    ] + [Check(first=110, last=110, outcome=CheckOutcome.ALARM)]

    def first(**more):
        return suspect_range(checks, stopped_after=115, **more).first

    assert first() == 101
    assert first(alarm_zero_at_check=8) == 81
    assert first(alarm_zero_at_check=8, change_after_check=5) == 51
    assert first(alarm_zero_at_check=5, change_after_check=8) == 51
    assert first(change_after_check=0) == 1
    assert first(change_after_check=11) == 101


def test_the_question_takes_what_the_checks_read():
    """Six quiet checks and four high ones: held from well before the first high one."""
    given = {
        "checks": [{"at": 10 * n, "ok": True} for n in range(1, 10)]
        + [{"at": 100, "ok": "alarm"}],
        "stopped_after": 104,
        "alarm_zero_at_check": 7,
    }
    row = [0.2, -0.9, 0.4, -0.1, 0.6, 0.3, 2.1, 1.4, 2.6, 1.9]

    assert ask("suspect", given)["first"] == 71
    assert ask("suspect", given | {"deviations_in_sd": row})["first"] < 61
    assert ask("suspect", given | {"deviations_in_sd": row[-3:]})["first"] == 71


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"deviations_in_sd": [0.1] * 3}, "deviations_in_sd holds 3 figures"),
        ({"deviations_in_sd": []}, "deviations_in_sd"),
        ({"deviations_in_sd": ["x"]}, "deviations_in_sd"),
    ],
)
def test_readings_that_fit_no_alarm_are_refused(change, message):
    """More figures than checks, none, and a text are refused by name."""
    given = {"checks": [{"at": 10, "ok": True}, {"at": 20, "ok": "alarm"}], "stopped_after": 25}

    with pytest.raises(BadInput, match=message):
        ask("suspect", given | change)


def test_a_reading_that_is_no_number_is_refused():
    """NaN is not a deviation."""
    with pytest.raises(BadInput, match="finite"):
        change_not_before([0.1, float("nan")])
