"""The probability plot's points and its envelope."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fillwright.errors import BadInput
from fillwright.science.envelope import normal_envelope, normal_points


@pytest.mark.parametrize("n", [2, 3, 11, 60, 473])
def test_points_are_those_of_a_general_library(n):
    """Filliben's medians (NIST/SEMATECH e-Handbook 1.3.3.21), as `scipy.stats.probplot` has them.

    The library takes the ends from the same two formulas.
    """
    (theirs, _), _ = stats.probplot(np.arange(float(n)))

    assert normal_points(n) == pytest.approx(theirs, abs=1e-12)


@pytest.mark.parametrize(("n", "step"), [(8, 0.0), (30, 0.5)])
def test_so_many_steady_runs_lie_wholly_inside(n, step):
    """Of 150 normal runs 95 % lie inside, less three standard errors, rounded or not."""
    rng = np.random.default_rng(29)
    runs = 150
    inside = 0
    for _ in range(runs):
        row = 250.0 + rng.standard_normal(n)
        if step:
            row = np.rint(row / step) * step
        inside += not normal_envelope(row, readability=step, rng=rng).outside
    error = (0.95 * 0.05 / runs) ** 0.5

    assert inside / runs > 0.95 - 3 * error


def test_a_short_dose_lies_outside_and_is_named():
    """Nineteen doses within 1 g and one short by 12 g: the short one is outside, in grams."""
    row = np.append(0.250 + 0.0005 * normal_points(19), 0.238)
    found = normal_envelope(row, rng=np.random.default_rng(1))

    assert found.outside[0] == 0
    assert "the farthest at 238 g" in found.because


def test_the_same_seed_draws_the_same_envelope():
    """A record that keeps the seed can be drawn again."""
    row = 0.250 + 0.001 * np.random.default_rng(5).standard_normal(20)
    one, other = (normal_envelope(row, rng=np.random.default_rng(9)) for _ in range(2))

    assert one == other


def test_equal_readings_are_no_spread():
    """All in one cell: line and envelope fall together, and the sentence says so."""
    found = normal_envelope([0.25] * 5, readability=0.001, rng=np.random.default_rng(1))

    assert found.low == found.high == (0.25,) * 5
    assert found.outside == ()
    assert found.because.startswith("All readings are equal")


@pytest.mark.parametrize("bad", [{"runs": 10}, {"level": 1.0}, {"readability": -1.0}])
def test_what_cannot_be_drawn_is_refused(bad):
    """One clear sentence, no traceback."""
    with pytest.raises(BadInput, match=f"{next(iter(bad))} is"):
        normal_envelope([0.25, 0.26], rng=np.random.default_rng(1), **bad)
