"""What may be shown of a spread, which scale would serve, what extremes prove."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from fillwright.errors import BadInput
from fillwright.science.proof import distribution_free_content, distribution_free_n, prove
from fillwright.science.rounding import spread_behind
from fillwright.science.scale_check import ScaleVerdict, scale_check, serving_readability


def test_a_fine_step_gives_a_figure_less_the_rounding():
    """s² - d²/12 (Sheppard, GUM terms): 1.633 g read to 2 g is 1.5275 g; bound by chi-square."""
    sd, upper = spread_behind([0.498, 0.502, 0.500, 0.500], readability=0.002)

    assert sd == pytest.approx(math.sqrt(8 / 3 - 4 / 12) * 1e-3)
    assert upper == pytest.approx(math.sqrt(8 / stats.chi2.ppf(0.05, 3)) * 1e-3)


@pytest.mark.parametrize(
    "row", [[0.5] * 10, [0.5, 0.501, 0.5, 0.5, 0.5], [0.5, 0.501, 0.5, 0.501]]
)
def test_a_coarse_step_gives_a_bound_only(row):
    """Above 1.5 sd, or in two neighbouring cells, no figure: a bound about that of chi-square."""
    step = 0.001
    sd, upper = spread_behind(row, readability=step)

    times = math.sqrt((len(row) - 1) / stats.chi2.ppf(0.05, len(row) - 1))
    raw = np.std(row, ddof=1)
    assert sd is None
    assert times * math.sqrt(max(raw**2 - step**2 / 12, 0)) < upper
    assert upper < (times * raw or step / 2)


def test_equal_readings_of_an_unknown_step_show_nothing():
    """Neither figure nor bound, and the proof says that the scale is too coarse."""
    found = prove([0.5] * 6, target=0.5, tolerance=0.005)

    assert (found.spread, found.spread_upper) == (None, None)
    assert found.verdict.value == "scale-too-coarse"


def test_ten_equal_readings_bound_the_spread_at_less_than_half_a_step():
    """0.443 d with 95 %, at the least favourable mean: [2Φ(d/2σ) - 1]¹⁰ = 0.05."""
    _, upper = spread_behind([0.5] * 10, readability=0.001)

    assert (2 * stats.norm.cdf(0.0005 / upper) - 1) ** 10 == pytest.approx(0.05)
    assert upper == pytest.approx(0.000443, abs=5e-7)


@pytest.mark.parametrize(
    ("tolerance", "tare_sd", "step"),
    [(2.5, 0.0, 0.2), (2.5, 0.25, 0.2), (2.5, 0.5, None), (0.1, 0.0, 0.01), (10.0, 0.0, 1.0)],
)
def test_which_readability_would_serve(tolerance, tare_sd, step):
    """The coarsest of 1, 2, 5: within a sixth of the tolerance; none for unlike empties."""
    found = serving_readability(tolerance, tare_sd=tare_sd)

    assert found == (None if step is None else pytest.approx(step))
    if found is not None:
        given = {"readability": found, "repeatability_sd": found / 2, "tare_sd": tare_sd}
        assert scale_check(tolerance, **given).verdict is ScaleVerdict.GOOD_ENOUGH


def test_weighing_one_container_again_does_not_average_its_tare():
    """Of one container the tare stays in every repeat; of several it averages."""
    given = {"readability": 0.1, "repeatability_sd": 0.05, "tare_sd": 0.5}

    assert scale_check(2.5, **given).verdict is ScaleVerdict.REPEATS
    same = scale_check(2.5, **given, same_container=True)
    assert same.verdict not in (ScaleVerdict.GOOD_ENOUGH, ScaleVerdict.REPEATS)
    assert same.u_single == pytest.approx(scale_check(2.5, **given).u_single)


@pytest.mark.parametrize("sides", [1, 2])
def test_content_of_the_extremes_undoes_their_number(sides):
    """So many readings prove just the content that asked for them (Wilks 1941)."""
    n = distribution_free_n(0.97, 0.9, sides=sides)

    assert distribution_free_content(n, 0.9, sides=sides) >= 0.97
    assert distribution_free_content(n - 1, 0.9, sides=sides) < 0.97


def test_content_of_the_extremes_of_drawn_readings():
    """What lies between the extremes of 30 is beta(29, 2): 95 % of 20,000 draws hold more."""
    drawn = np.sort(np.random.default_rng(4).random((20_000, 30)), axis=1)
    inside = drawn[:, -1] - drawn[:, 0]
    held = float(np.mean(inside >= distribution_free_content(30, 0.95)))

    assert held == pytest.approx(0.95, abs=3 * (0.95 * 0.05 / 20_000) ** 0.5)


def test_three_sides_are_refused():
    """One side or two."""
    with pytest.raises(BadInput, match="sides is 3"):
        distribution_free_content(30, 0.95, sides=3)
