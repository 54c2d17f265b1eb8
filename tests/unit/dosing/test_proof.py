"""Every verdict of a proving run, the order tests and the plan."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from fillwright.errors import BadInput
from fillwright.science.capability import capability
from fillwright.science.content import content_inside, content_upper_bound
from fillwright.science.order import order_tests
from fillwright.science.proof import (
    ProofVerdict,
    default_shots,
    prove,
    prove_chance,
    prove_plan,
)
from fillwright.science.tolerance import (
    content_proved,
    distribution_free_n,
    tolerance_factor,
)

# Thirty normal scores in a shuffled order: mean 0, and sd and order as a steady run has them.
SCORES = stats.norm.ppf((np.arange(30) + 0.5) / 30)[np.random.default_rng(3).permutation(30)]


def _run(sd, offset=0.0):
    """Thirty readings of 250 g with an sd and an offset in percent of it."""
    return 0.25 * (1.0 + 0.01 * (offset + sd * SCORES))


def _prove(sd, offset=0.0, **rest):
    """The verdict on 99 % within ±1 % at 95 %."""
    return prove(_run(sd, offset), target=0.25, tolerance=0.0025, **rest).verdict


def test_the_thirty_scores_are_steady():
    """The order of the invented scores does not itself look like a pattern."""
    assert order_tests(SCORES).p_joint > 0.3


@pytest.mark.parametrize(
    ("sd", "offset", "verdict"),
    [
        (0.25, 0.0, ProofVerdict.PROVED),
        (0.25, 0.3, ProofVerdict.NOT_PROVED),
        (0.35, 0.0, ProofVerdict.NOT_PROVED),
        (0.9, 0.0, ProofVerdict.IMPOSSIBLE),
        (0.2, 1.5, ProofVerdict.IMPOSSIBLE),
    ],
)
def test_verdicts_of_a_steady_run(sd, offset, verdict):
    """Narrow and centred holds, off centre or wider cannot say, wide or far off cannot be."""
    assert _prove(sd, offset) == verdict


@pytest.mark.parametrize("verdict_of", [0.25, 0.9])
def test_a_coarse_scale_comes_before_all_other_verdicts(verdict_of):
    """A step above 1.5 sample sds makes any figure of scatter worthless."""
    step = 0.0025 * verdict_of * 1.6
    assert _prove(verdict_of, readability=step) == ProofVerdict.SCALE_TOO_COARSE


def test_equal_readings_show_the_scale_not_the_machine():
    """Thirty equal readings are the scale's step, whatever it is said to be."""
    found = prove([0.25] * 30, target=0.25, tolerance=0.0025)

    assert found.verdict == ProofVerdict.SCALE_TOO_COARSE
    assert found.sd == 0.0


def test_a_step_as_wide_as_the_claim_is_too_coarse():
    """Rounding alone, k d/√12, fills the band: 3.35 · 2 g/√12 is above 1 g."""
    found = prove(_run(1.0), target=0.25, tolerance=0.001, readability=0.002, content=0.99)

    assert found.verdict == ProofVerdict.SCALE_TOO_COARSE


def test_a_creep_is_not_steady():
    """A slope of a tenth of a sd per dose voids the run, however narrow it is."""
    row = _run(0.1) + 0.25e-2 * 0.01 * np.arange(30)
    found = prove(row, target=0.25, tolerance=0.0025)

    assert found.verdict == ProofVerdict.NOT_STEADY
    assert "creep" in found.because


def test_one_short_dose_is_not_steady():
    """A dose six sds short is a finding; it is named by its number."""
    row = _run(0.1)
    row[12] = 0.25 * 0.994
    found = prove(row, target=0.25, tolerance=0.0025)

    assert found.verdict == ProofVerdict.NOT_STEADY
    assert found.order_tests.farthest == 12
    assert "Reading 13" in found.because


def test_four_readings_prove_little():
    """498, 502, 500, 500 g: sd by hand √(8/3) g, chi-square and t intervals from tables."""
    found = prove([0.498, 0.502, 0.500, 0.500], target=0.5, tolerance=0.005)

    # chi-square, 3 df: 9.3484 and 0.21580; t, 3 df, 97.5 %: 3.18245 (general tables).
    sd = math.sqrt(8 / 3)
    assert found.verdict == ProofVerdict.NOT_PROVED
    assert 1e3 * found.sd == pytest.approx(sd)
    assert [1e3 * v for v in found.sd_interval] == pytest.approx(
        [sd * math.sqrt(3 / 9.3484), sd * math.sqrt(3 / 0.21580)], rel=1e-4
    )
    assert 1e3 * found.mean_interval[0] == pytest.approx(500 - 3.18245 * sd / 2, rel=1e-6)
    assert found.half_width_share == pytest.approx(found.k * sd / 500)
    # The provable content is the one whose factor just fits.
    fits = tolerance_factor(4, content=found.content_provable, confidence=0.95)
    assert fits == pytest.approx(5 / sd, rel=1e-9)


def test_a_claim_at_the_provable_content_just_holds():
    """A claim a hair below what is provable is proved, a hair above is not."""
    row = _run(0.25, 0.1)
    edge = prove(row, target=0.25, tolerance=0.0025).content_provable

    below = prove(row, target=0.25, tolerance=0.0025, content=edge - 1e-6)
    above = prove(row, target=0.25, tolerance=0.0025, content=edge + 1e-6)
    assert below.verdict == ProofVerdict.PROVED
    assert above.verdict == ProofVerdict.NOT_PROVED


def test_the_smallest_claim_is_proved():
    """The tolerance that is printed as provable is proved, one a hair narrower is not."""
    row = _run(0.25, 0.1)
    edge = prove(row, target=0.25, tolerance=0.0025).claim_half_width

    assert prove(row, target=0.25, tolerance=edge * 1.000001).verdict == ProofVerdict.PROVED
    assert prove(row, target=0.25, tolerance=edge * 0.999999).verdict == ProofVerdict.NOT_PROVED


def test_a_mean_outside_proves_nothing():
    """With the mean beyond the tolerance no content is provable."""
    assert prove(_run(0.2, 1.5), target=0.25, tolerance=0.0025).content_provable == 0.0


def test_order_tests_are_those_of_the_library():
    """Slope chance from the library's regression; ratio and lag from their definitions."""
    found = order_tests(SCORES)
    line = stats.linregress(np.arange(30), SCORES)
    off = SCORES - SCORES.mean()

    assert found.slope_per_dose == pytest.approx(line.slope)
    assert found.p_two_sided == pytest.approx(line.pvalue)
    assert found.von_neumann_ratio == pytest.approx(np.sum(np.diff(off) ** 2) / np.sum(off**2))
    assert found.lag1 == pytest.approx(np.sum(off[1:] * off[:-1]) / np.sum(off**2))


@pytest.mark.parametrize("row", [[1.0, 2.0], [1.0, 1.0, 1.0, 1.0]])
def test_too_little_says_nothing_of_order(row):
    """Two readings or equal ones are taken as steady, and the sentence says why."""
    found = order_tests(row)

    assert found.steady
    assert found.von_neumann_ratio is None
    assert "Too few" in found.because


def test_a_straight_line_is_not_steady():
    """Readings exactly on a slope have no scatter to excuse them."""
    found = order_tests(np.arange(8.0))

    assert found.p_two_sided == 0.0
    assert not found.steady


def test_alternating_readings_are_not_steady():
    """A high and a low one in turn: neighbours differ too much."""
    found = order_tests([1.0, -1.0] * 10 + [1.1])

    assert found.von_neumann_ratio > 3.5
    assert "alternate" in found.because


@pytest.mark.parametrize(
    ("sd", "offset", "n"),
    [(0.15, 0.0, 7), (0.2, 0.1, 15), (0.25, 0.0, 26), (0.25, 0.2, 80), (0.3, 0.1, 157)],
)
def test_the_plan_is_the_smallest_that_will_do(sd, offset, n):
    """80 % chance with n readings and less with n - 1, checked by simulation below."""
    plan = prove_plan(sd, offset=offset, tolerance=1.0)

    assert plan.n == n
    assert plan.chance >= 0.8
    assert prove_chance(n - 1, true_sd=sd, offset=offset, tolerance=1.0) < 0.8


def test_what_cannot_be_true_needs_no_plan():
    """With sd 0.36 and 0.2 off, Φ(0.8/0.36) - Φ(-1.2/0.36) is 98.6 %, below 99 %."""
    plan = prove_plan(0.36, offset=0.2, tolerance=1.0)

    assert plan.impossible
    assert plan.n is None
    assert plan.content_true == pytest.approx(0.9864, abs=1e-4)


def test_what_is_out_of_reach_says_so():
    """Sd 0.32 and 0.2 off is true to 99.37 % but takes more than 5000 readings."""
    plan = prove_plan(0.32, offset=0.2, tolerance=1.0)

    assert (plan.n, plan.impossible, plan.chance) == (None, False, None)
    assert "Out of reach" in plan.because


def test_a_hopeless_spread_has_no_chance():
    """A band below what the smallest sample sd can meet gives a chance of zero."""
    assert prove_chance(1000, true_sd=1.0, tolerance=0.5) == 0.0


@pytest.mark.parametrize(
    ("expected", "shots"), [(None, 30), (0.05, 10), (0.2, 19), (0.25, 47), (0.5, 60)]
)
def test_shots_planned_before_the_first(expected, shots):
    """30 where nothing is known, never below 10 or above 60."""
    assert default_shots(expected_sd=expected, tolerance=1.0) == shots


def test_content_bounds_at_the_ends():
    """No scatter seen: all or nothing; far inside: all; far outside: nothing."""
    assert content_upper_bound(0.5, 0.0, 10, tolerance=1.0) == 1.0
    assert content_upper_bound(1.5, 0.0, 10, tolerance=1.0) == 0.0
    assert content_upper_bound(0.0, 0.01, 10, tolerance=1.0) == 1.0
    assert content_upper_bound(9.0, 0.01, 10, tolerance=1.0) == 0.0
    assert content_proved(1e-17, 2, confidence=0.95) == 0.0
    assert content_proved(math.inf, 10, confidence=0.95) == 1.0
    assert content_proved(40.0, 30, confidence=0.95) == 1.0
    assert content_inside(0.0, 0.5, tolerance=1.0) == pytest.approx(0.9545, abs=1e-4)


def test_capability_by_hand():
    """Limits ±1 about 0, mean 0.2, sd 0.25: Pp 4/3, Ppk 0.8/0.75; intervals by chi-square."""
    found = capability(30, mean=0.2, sd_overall=0.25, lower=-1.0, upper=1.0)

    # chi-square, 29 df: 16.0471 and 45.7223 (general tables).
    assert found.pp == pytest.approx(4 / 3)
    assert found.ppk == pytest.approx(0.8 / 0.75)
    assert found.pp_interval == pytest.approx(
        (4 / 3 * math.sqrt(16.0471 / 29), 4 / 3 * math.sqrt(45.7223 / 29)), rel=1e-5
    )
    assert found.ppk_lower == pytest.approx(
        0.8 / 0.75 - 1.644854 * math.sqrt(1 / 270 + (0.8 / 0.75) ** 2 / 58)
    )
    assert found.share_outside == pytest.approx(stats.norm.sf(3.2) + stats.norm.sf(4.8))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: prove([0.25], target=0.25, tolerance=0.01), "readings holds 1"),
        (lambda: prove([0.2, 0.3], target=0.0, tolerance=0.01), "target is 0"),
        (lambda: tolerance_factor(1, content=0.9, confidence=0.9), "n is 1"),
        (lambda: tolerance_factor(5, content=0.9, confidence=0.9, sides=3), "sides is 3"),
        (lambda: tolerance_factor(5, content=1.0, confidence=0.9), "content is 1"),
        (lambda: distribution_free_n(0.9, 0.9, sides=0), "sides is 0"),
        (lambda: order_tests([[1.0, 2.0]]), "2 dimensions"),
        (
            lambda: capability(9, mean=0.0, sd_overall=1.0, lower=1.0, upper=-1.0),
            "upper is -1; give one above lower",
        ),
    ],
)
def test_what_cannot_be_used_is_named(call, message):
    """The field, what was given and what would do are in the sentence."""
    with pytest.raises(BadInput, match=message):
        call()


def test_a_pooled_sd_brings_its_own_degrees_of_freedom():
    """With many degrees of freedom the factor of n = 1 nears that of a known sd."""
    pooled = tolerance_factor(1, content=0.9, confidence=0.5, df=1e6)

    # Known sd, one reading: Φ(z + k) - Φ(z - k) = 0.9 at the median |z| of 0.67449.
    z = 0.67449
    assert stats.norm.cdf(z + pooled) - stats.norm.cdf(z - pooled) == pytest.approx(0.9, abs=1e-4)
