"""Components of variance of a weighing study, by hand and by balance."""

from __future__ import annotations

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.science.repeatability import repeatability_study


def test_one_way_by_hand():
    """Two containers twice: 1, 3 and 5, 7: within 2, between 16, dose variance 7, F 8."""
    found = repeatability_study(["a", "a", "b", "b"], [1.0, 3.0, 5.0, 7.0])

    assert (found.ms_within, found.ms_between, found.f) == (2.0, 16.0, 8.0)
    assert found.between == 7.0
    assert found.operator is None
    # chi-square, 2 df: 7.37776 and 0.0506356 (general tables).
    assert found.within_sd_interval == pytest.approx(
        ((2 * 2 / 7.37776) ** 0.5, (2 * 2 / 0.0506356) ** 0.5), rel=1e-5
    )


def test_a_negative_component_is_zero():
    """Containers more alike than the scale can tell have no variance of their own."""
    assert repeatability_study(["a", "a", "b", "b"], [1.0, 3.0, 3.0, 1.0]).between == 0.0


def test_unequal_numbers_use_the_effective_one():
    """Three of one and one of another: n0 = 4 - 10/4 = 1.5, by hand."""
    found = repeatability_study(["a", "a", "a", "b"], [1.0, 2.0, 3.0, 6.0])

    # Within: 2 / 2 = 1; between: 3 (2 - 3)² + (6 - 3)² = 12; (12 - 1) / 1.5.
    assert found.between == pytest.approx(11 / 1.5)


def test_two_way_by_the_definition_of_its_mean_squares():
    """A built study: components from mean squares summed by definition over the cells."""
    rng = np.random.default_rng(2)
    dose, person = 0.01 * rng.standard_normal(6), np.array([0.0, 0.02])
    rows = [
        (c, p, dose[c] + person[p] + 0.003 * rng.standard_normal())
        for c in range(6)
        for p in range(2)
        for _ in range(3)
    ]
    found = repeatability_study(
        [r[0] for r in rows], [r[2] for r in rows], operators=[r[1] for r in rows]
    )

    y = np.array([r[2] for r in rows]).reshape(6, 2, 3)
    cell = y.mean(axis=2)
    within = np.sum((y - cell[:, :, None]) ** 2) / 24
    both = 3 * np.sum((cell - cell.mean(1, keepdims=True) - cell.mean(0) + cell.mean()) ** 2) / 5
    who = 18 * np.sum((cell.mean(0) - cell.mean()) ** 2)
    assert found.within == pytest.approx(within)
    assert found.interaction == pytest.approx(max(0.0, (both - within) / 3))
    assert found.operator == pytest.approx((who - both) / 18)
    assert found.df_within == 24


def test_one_operator_is_a_one_way_study():
    """Naming the one person who weighed changes nothing."""
    plain = repeatability_study(["a", "a", "b", "b"], [1.0, 3.0, 5.0, 7.0])
    named = repeatability_study(["a", "a", "b", "b"], [1.0, 3.0, 5.0, 7.0], operators=["p"] * 4)

    assert named == plain


def test_a_scale_without_scatter_has_no_ratio():
    """Equal repeats: F is not given."""
    found = repeatability_study(["a", "a", "b", "b"], [1.0, 1.0, 2.0, 2.0])

    assert (found.f, found.within) == (None, 0.0)
    assert "0%" in found.because


def test_all_equal_has_no_share():
    """Nothing varies at all: the scale makes nothing of nothing."""
    assert repeatability_study(["a", "a", "b"], [1.0, 1.0, 1.0]).between == 0.0


@pytest.mark.parametrize(
    ("containers", "readings", "operators", "message"),
    [
        (["a", "a"], [1.0, 2.0, 3.0], None, "containers holds 2 and readings 3"),
        (["a", "a", "a"], [1.0, 2.0, 3.0], None, "one container"),
        (["a", "b", "c"], [1.0, 2.0, 3.0], None, "one per container"),
        (["a", "a", "b", "b"], [1.0, 2.0, 3.0, 4.0], ["p"], "operators holds 1 and readings 4"),
        (["a", "a", "b", "b"], [1.0, 2.0, 3.0, 4.0], ["p", "q", "p", "q"], "not balanced"),
    ],
)
def test_studies_that_cannot_be_used_are_named(containers, readings, operators, message):
    """Rows of unequal length, one container, no repeats, unbalanced operators."""
    with pytest.raises(BadInput, match=message):
        repeatability_study(containers, readings, operators=operators)
