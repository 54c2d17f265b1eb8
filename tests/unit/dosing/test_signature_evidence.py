"""The evidence of each kind against an independent way of computing it.

Linear patterns: SciPy's multivariate Student density of the whole run, covariance written
out. Half-normal, short and heavy-tailed patterns: plain integration over a dense grid.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, special, stats

from fillwright.science.signature_evidence import LEVEL_VAR, SHAPE, SPREAD
from fillwright.science.signature_grid import HEAVY_DF, heavy_fit
from fillwright.science.signature_models import (
    FADES,
    PHIS,
    alternate_scan,
    autocorr_scan,
    creep_scan,
    level_scan,
    level_unknown_scan,
    purge_scan,
    scatter_scan,
    steady_scan,
    step_scan,
)
from fillwright.science.signature_pairs import creep_with_level_scan, step_with_scatter_scan
from fillwright.science.signature_scan import RATIOS
from fillwright.science.signature_short import MANY_GOOD, SHORT_PARTS, short_fit

N = 14
ORDER = np.arange(N)
ONE = np.ones(N)


@pytest.fixture(scope="module")
def z():
    """Fourteen readings with a step, about their median."""
    values = np.random.default_rng(3).standard_normal(N) + 2.0 * (ORDER > 6)
    return values - np.median(values)


@pytest.fixture(scope="module")
def height():
    """A hopper level about its mean, over its range."""
    level = np.random.default_rng(4).uniform(size=N)
    return (level - np.mean(level)) / np.ptp(level)


def student(z, columns=(), variances=(), noise=None):
    """Log density by SciPy: 2 a0 degrees of freedom, scale b0/a0 (C + XVX')."""
    x = np.array([ONE, *columns])
    prior = np.diag([LEVEL_VAR, *variances])
    cov = (np.eye(N) if noise is None else noise) + x.T @ prior @ x
    return stats.multivariate_t(shape=SPREAD / SHAPE * cov, df=2 * SHAPE).logpdf(z)


def mean_of(logs):
    """Log of the mean of densities."""
    return special.logsumexp(logs) - np.log(len(logs))


def from_the_start(logs):
    """Log of the mean with half the weight on the first."""
    return np.logaddexp(logs[0], mean_of(logs)) - np.log(2)


def total(scan):
    """Log evidence of a whole scan."""
    return special.logsumexp(scan.log_joint)


def grown(place, ratio):
    """Covariance of scatter that grows at once."""
    return np.diag(np.where(place <= ORDER, ratio, 1.0) ** 2)


def ramp(place):
    """A straight rise from a place, one at the last dose."""
    return np.maximum(ORDER - place + 1, 0) / (N - place)


def test_linear_kinds_have_the_density_of_a_multivariate_student(z, height):
    """Steady, step, creep, alternate and level agree with SciPy to 1e-6."""
    steps = [student(z, [place <= ORDER], [9]) for place in range(2, N - 1)]
    creeps = [student(z, [ramp(place)], [36]) for place in range(N - 5)]

    assert total(steady_scan(z)) == pytest.approx(student(z), abs=1e-6)
    assert total(step_scan(z)) == pytest.approx(mean_of(steps), abs=1e-6)
    assert total(creep_scan(z)) == pytest.approx(from_the_start(creeps), abs=1e-6)
    assert total(alternate_scan(z)) == pytest.approx(
        student(z, [(-1.0) ** ORDER], [2.25]), abs=1e-6
    )
    assert total(level_scan(z, height)) == pytest.approx(student(z, [height], [36]), abs=1e-6)


def test_growing_scatter_has_the_density_of_a_multivariate_student(z):
    """Scatter at once and in a straight line agree with SciPy to 1e-6."""
    at_once = [student(z, noise=grown(k, r)) for k in range(4, N - 3) for r in RATIOS]
    slowly = [
        student(z, noise=np.diag((1 + (r - 1) * ramp(k)) ** 2))
        for k in range(4, N - 3)
        for r in RATIOS
    ]

    both = np.logaddexp(mean_of(at_once), mean_of(slowly)) - np.log(2)

    assert total(scatter_scan(z)) == pytest.approx(both, abs=1e-6)


def test_alike_neighbours_have_the_density_of_a_multivariate_student(z):
    """Autocorrelation agrees with SciPy, correlation written out, to 1e-6."""
    apart = np.abs(np.subtract.outer(ORDER, ORDER))

    expected = mean_of([student(z, noise=phi**apart) for phi in PHIS])

    assert total(autocorr_scan(z)) == pytest.approx(expected, abs=1e-6)


def test_pairs_have_the_density_of_a_multivariate_student(z, height):
    """Creep with level and step with scatter agree with SciPy to 1e-6, from either side."""
    fallen = from_the_start([student(z, [ramp(k), height], [36, 36]) for k in range(N - 5)])
    places = range(4, N - 3)

    def jump(step, place, ratio):
        return student(z, [step <= ORDER], [9], grown(place, ratio))

    same = mean_of([jump(k, k, r) for k in places for r in RATIOS])
    apart = mean_of([jump(j, k, r) for j in places for k in places for r in RATIOS])
    creep = creep_with_level_scan(z, height)
    step = step_with_scatter_scan(z)

    for scan in (creep.first, creep.second):
        assert total(scan) == pytest.approx(fallen, abs=1e-6)
    for scan in (step.first, step.second):
        assert total(scan) == pytest.approx(np.logaddexp(same, apart) - np.log(2), abs=1e-6)


def test_air_that_leaves_has_the_density_of_a_half_normal_shortage(z):
    """Purge agrees with integration of the joint Student density over the shortage below zero."""

    def half(fade):
        column = np.exp(-ORDER / fade)
        cov = np.zeros((N + 1, N + 1))
        cov[0, 0] = 81.0
        cov[0, 1:] = cov[1:, 0] = 81.0 * column
        cov[1:, 1:] = np.eye(N) + LEVEL_VAR + 81.0 * np.outer(column, column)
        joint = stats.multivariate_t(shape=SPREAD / SHAPE * cov, df=2 * SHAPE)
        below = integrate.quad(
            lambda size: joint.pdf(np.concatenate([[size], z])), -60, 0, points=[-4, -1]
        )[0]
        return np.log(2 * below)

    assert total(purge_scan(z)) == pytest.approx(mean_of([half(f) for f in FADES]), abs=1e-4)


def test_a_level_that_was_not_given_averages_falls_and_refills(z):
    """The straight fall has half the prior: a run that falls straight has at least that."""
    falling = -3.0 * ORDER / (N - 1) + 0.1 * z

    fall = student(falling, [1 - ORDER / (N - 1)], [36])

    assert total(level_unknown_scan(falling)) >= fall - np.log(2) - 1e-6


def dense_grid(density):
    """Integrate over level and log sd on a plain grid; `density` gives the log at a node."""
    level, log_sd = np.meshgrid(
        np.linspace(-6, 6, 241), np.linspace(-2.3, 2.3, 181), indexing="ij"
    )
    sd = np.exp(log_sd)
    prior = (
        stats.norm.logpdf(level, 0, np.sqrt(LEVEL_VAR) * sd)
        + stats.invgamma.logpdf(sd**2, SHAPE, scale=SPREAD)
        + np.log(2 * sd**2)
    )
    cell = 0.05 * (4.6 / 180)
    return special.logsumexp(density(level, sd) + prior) + np.log(cell)


@pytest.mark.parametrize("drops", [(), (4.0,), (3.0, 7.0), (90.0,)])
def test_short_doses_are_summed_over_all_sets(drops):
    """Nine doses: a polynomial in the rate, exact over all 512 sets, on a dense grid."""
    z = np.random.default_rng(8).standard_normal(9)
    z[2 : 2 + len(drops)] -= drops
    z -= np.median(z)

    def density(level, sd):
        u = (z[:, None, None] - level) / sd
        good = stats.norm.logpdf(u) - np.log(sd)
        parts = [
            np.log(2 * w)
            + stats.norm.logpdf(u / np.hypot(1, v))
            - np.log(np.hypot(1, v) * sd)
            + special.log_ndtr(-u * v / np.hypot(1, v))
            for w, v in SHORT_PARTS
        ]
        odds = special.logsumexp(parts, axis=0) - good
        sets = np.full((10, *level.shape), -np.inf)
        sets[0] = 0.0
        for row in odds:
            sets[1:] = np.logaddexp(sets[1:], sets[:-1] + row)
        k = np.arange(1, 10)
        of_k = special.betaln(1 + k, MANY_GOOD + 9 - k) - special.betaln(1, MANY_GOOD)
        return np.sum(good, axis=0) + special.logsumexp(sets[1:] + of_k[:, None, None], axis=0)

    expected = dense_grid(density) - np.log(1 - MANY_GOOD / (MANY_GOOD + 9))

    assert short_fit(z).log_evidence == pytest.approx(expected, abs=0.02)


def test_heavy_tails_are_integrated_over_level_and_sd():
    """Fifteen readings with Student noise: SciPy's density on a dense grid."""
    z = np.random.default_rng(9).standard_t(4, 15)
    z -= np.median(z)
    shrink = np.sqrt((HEAVY_DF - 2) / HEAVY_DF)

    def density(level, sd):
        return np.sum(
            stats.t.logpdf(z[:, None, None], HEAVY_DF, loc=level, scale=shrink * sd), axis=0
        )

    assert heavy_fit(z).log_evidence == pytest.approx(dense_grid(density), abs=0.02)
