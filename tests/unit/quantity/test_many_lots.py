"""Many lots in one array."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.knowledge.load import rule_set
from fillwright.science.quantity import OwnPlan, decide_lots

D = Decimal


def decide(rules, errors, **more):
    """Decide lots of a 500 g label in divisions of 0.1 g."""
    given = {"division": D("0.1"), "nominal": D(500), "unit": "g", "lot_size": 300, **more}
    return decide_lots(rule_set(rules), np.asarray(errors), **given)


def test_rows_are_decided_each_for_itself():
    """T = 15 g is 150 divisions: -150 is on the limit, -151 below it."""
    good = [0] * 50
    on = [-150] * 4 + [50] * 46
    short = [-151] * 4 + [50] * 46
    far = [-301] + [50] * 49
    low = [-1] * 50
    answer = decide("AU-2009/233", [good, on, short, far, low])

    assert answer.accepted.tolist() == [True, True, False, False, False]
    assert answer.rejected.tolist() == [False, False, True, True, True]
    assert answer.mean_ok.tolist() == [True, True, True, True, False]
    assert answer.count_below_t1.tolist() == [0, 0, 4, 1, 0]
    assert answer.count_below_t2.tolist() == [0, 0, 0, 1, 0]
    assert answer.t2_ok.tolist() == [True, True, True, False, True]
    assert not answer.second_sample.any()


def test_second_samples_are_used_only_in_open_rows():
    """Row one is accepted by its first sample, row two by both, row three not."""
    first = [[50] * 30, [-151] * 2 + [50] * 28, [-151] * 2 + [50] * 28]
    second = [[-151] * 30, [-151] * 2 + [50] * 28, [-151] * 3 + [50] * 27]
    alone = decide("EU-76/211", first)
    both = decide("EU-76/211", first, second_errors=np.asarray(second))

    assert alone.second_sample.tolist() == [False, True, True]
    assert both.accepted.tolist() == [True, True, False]
    assert both.count_below_t1_total.tolist() == [0, 4, 5]
    assert not both.second_sample.any()


def test_a_division_finer_than_the_limit_is_exact():
    """Label 23, T = 2.1, division 0.03: T is 70 divisions exactly, and 0.04: 52.5."""
    rows = np.array([[-70] * 4 + [99] * 46, [-71] * 4 + [99] * 46])
    exact = decide("AU-2009/233", rows, nominal=D(23), division=D("0.03"))
    rows = np.array([[-52] * 4 + [99] * 46, [-53] * 4 + [99] * 46])
    between = decide("AU-2009/233", rows, nominal=D(23), division=D("0.04"))

    assert exact.count_below_t1.tolist() == [0, 4]
    assert between.count_below_t1.tolist() == [0, 4]


@pytest.mark.parametrize("kind", [np.int16, np.int32, np.int64, np.object_])
def test_every_width_of_integer_gives_the_same(kind):
    """Narrow arrays do not overflow; unbounded integers are allowed."""
    rows = np.array([[-30_000, 30_000] * 25, [-30_000] * 50]).astype(kind)
    answer = decide("AU-2009/233", rows, division=D("0.0001"))

    assert answer.sum_errors.tolist() == [0, -1_500_000]
    # n Σe² - (Σe)²: 50·50·9e8, and zero for equal errors
    assert answer.spread.tolist() == [2_250_000_000_000, 0]


def test_large_errors_leave_64_bits_and_stay_exact():
    """Errors of 1e12 divisions: the squares need 90 bits."""
    rows = np.array([[-(10**12), 10**12] * 25])
    answer = decide("AU-2009/233", rows, division=D("1E-12"))

    assert answer.spread.tolist() == [50 * 50 * 10**24]


def test_a_close_mean_is_decided_by_integers():
    """Three errors (m - h, m, m + h): the limit is m = -k h, here exactly and one part in 1e15.

    US lot of 3, k = 2.484, h = 1e15 divisions: m = -2.484e15 accepts, one division less rejects.
    """
    h, m = 10**15, -2_484_000_000_000_000
    rows = np.array([[m - h, m, m + h], [m - 1 - h, m - 1, m - 1 + h]])
    answer = decide("US-HB133-A", rows, division=D("1E-15"), nominal=D(500), lot_size=3)

    assert answer.mean_ok.tolist() == [True, False]


def test_a_close_mean_within_64_bits_is_decided_by_integers():
    """The same with h = 1e6: the sides differ by 8e-7 of themselves, and by nothing."""
    h, m = 10**6, -2_484_000
    rows = np.array([[m - h, m, m + h], [m - 1 - h, m - 1, m - 1 + h]])
    answer = decide("US-HB133-A", rows, division=D("1E-6"), nominal=D(500), lot_size=3)

    assert answer.mean_ok.tolist() == [True, False]


@pytest.mark.parametrize(
    ("more", "code", "match"),
    [
        ({"errors": np.zeros((2, 50))}, "type", "an array of float64 in 2 dimensions"),
        ({"errors": np.zeros(50, dtype=int)}, "type", "in 1 dimensions; give whole"),
        ({"errors": np.zeros((2, 49), dtype=int)}, "inconsistent", "49 packages a lot"),
        ({"lot_size": 99}, "not-available", "starts at a lot of 100"),
        ({"nominal": D(60_000)}, "not-available", "covers above 0 to 50000"),
        ({"division": D(0)}, "range", "division: 0 is not above zero"),
    ],
)
def test_bad_arrays_are_refused(more, code, match):
    """Rows of whole numbers, long enough, with a plan and a shortage."""
    errors = more.pop("errors", np.zeros((2, 50), dtype=int))
    with pytest.raises(BadInput, match=match) as error:
        decide("AU-2009/233", errors, **more)

    assert error.value.code == code


def test_second_samples_must_match_the_first():
    """One second sample a lot, long enough."""
    first = np.zeros((2, 30), dtype=int)
    with pytest.raises(BadInput, match="second_errors: 1 rows, but errors has 2"):
        decide("EU-76/211", first, second_errors=first[:1])
    with pytest.raises(BadInput, match="second_errors: 29 packages a lot"):
        decide("EU-76/211", first, second_errors=first[:, :29])


def test_an_own_plan_decides_many_lots():
    """The user's plan of two, with a factor of 1."""
    own = OwnPlan(n=2, k=D(1), acceptance_number=0)
    answer = decide("AU-2009/233", [[-3, 1], [-3, -3]], lot_size=10, own_plan=own)

    # -3, 1: mean -1, s = 2.83; -3, -3: mean -3, s = 0
    assert answer.accepted.tolist() == [True, False]
