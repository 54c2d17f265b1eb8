"""Lives of seals against published figures and independent routes."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import CensoredData, poisson, weibull_min

from fillwright.errors import BadInput
from fillwright.science.life import life_prior, weibull_fit
from fillwright.science.life_policy import (
    age_replacement,
    cost_rate,
    failure_within,
    spares,
)

# NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3.
FAILED = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386]
CENSORED = [500] * 10


def test_the_handbook_example_is_met():
    """Shape 1.7208, scale 606.5280 and mean 540.737 of the NIST handbook."""
    fit = weibull_fit(FAILED, CENSORED)

    assert fit.shape == pytest.approx(1.7208, abs=5e-5)
    assert fit.scale == pytest.approx(606.5280, abs=2e-3)
    assert fit.mean == pytest.approx(540.737, abs=2e-3)


@pytest.mark.parametrize("seed", range(5))
def test_a_general_library_finds_the_same_life(seed):
    """The maximum that scipy finds numerically is ours, for seals censored at random."""
    rng = np.random.default_rng(seed)
    lives = rng.weibull(rng.uniform(0.8, 4), 40) * 20_000
    ends = rng.uniform(5_000, 40_000, 40)
    failed, good = lives[lives <= ends], ends[lives > ends]

    fit = weibull_fit(list(failed), list(good))
    data = CensoredData(uncensored=failed, right=good)
    shape, _, scale = weibull_min.fit(data, floc=0)

    assert fit.shape == pytest.approx(shape, rel=2e-4)
    assert fit.scale == pytest.approx(scale, rel=2e-4)


def test_intervals_end_where_the_likelihood_has_dropped():
    """At each end the best likelihood left is lower by half the 95 % point of chi-squared."""
    fit = weibull_fit(FAILED, CENSORED)
    data = CensoredData(uncensored=FAILED, right=CENSORED)

    def log_likelihood(shape, scale):
        return -weibull_min.nnlf((shape, 0, scale), np.array(FAILED)) + sum(
            weibull_min.logsf(CENSORED, shape, scale=scale)
        )

    top = log_likelihood(fit.shape, fit.scale)
    for shape in fit.shape_interval:
        _, _, scale = weibull_min.fit(data, f0=shape, floc=0)
        assert top - log_likelihood(shape, scale) == pytest.approx(1.9207, abs=1e-3)
    for scale in fit.scale_interval:
        shape, _, _ = weibull_min.fit(data, floc=0, fscale=scale)
        assert top - log_likelihood(shape, scale) == pytest.approx(1.9207, abs=1e-3)


def test_intervals_hold_the_truth_as_often_as_said():
    """Of 400 draws of 30 lives with 30 % censored, 95 % intervals hold the shape 92 to 98 %."""
    rng = np.random.default_rng(7)
    held = 0
    for _ in range(400):
        lives = rng.weibull(2.0, 30) * 10_000
        fit = weibull_fit(list(lives[lives <= 11_000]), [11_000.0] * int(sum(lives > 11_000)))
        held += fit.shape_interval[0] <= 2.0 <= fit.shape_interval[1]

    assert 0.92 <= held / 400 <= 0.98


def test_under_three_failures_nothing_is_fitted():
    """Two failures are refused; the belief is wider with fewer of them."""
    with pytest.raises(BadInput, match="too few"):
        weibull_fit([100, 200], [300])
    none, two = life_prior([], [1000, 2000]), life_prior([900, 1500], [1000, 2000])

    assert none.scale_interval[1] > two.scale_interval[1]
    assert none.scale > two.scale


@pytest.mark.parametrize(
    ("shape", "scale", "planned", "failure"),
    [(2.2, 900, 1, 6), (3, 60_000, 25, 140), (1.2, 5_000, 1, 30), (8, 1e6, 3, 4)],
)
def test_the_best_age_is_the_bottom_of_the_cost(shape, scale, planned, failure):
    """No age on a fine grid costs less, with the mean run integrated by quadrature."""
    best = age_replacement(shape, scale, cost_planned=planned, cost_failure=failure)

    def rate(age):
        run = quad(lambda t: math.exp(-((t / scale) ** shape)), 0, age)[0]
        alive = math.exp(-((age / scale) ** shape))
        return (planned * alive + failure * (1 - alive)) / run

    grid = [rate(best.age * factor) for factor in np.geomspace(0.2, 4, 400)]
    assert best.cost_rate == pytest.approx(rate(best.age), rel=1e-9)
    assert best.cost_rate <= min(grid) * (1 + 1e-9)
    assert best.cost_rate < best.run_to_failure_rate
    assert cost_rate(
        best.age, shape=shape, scale=scale, cost_planned=planned, cost_failure=failure
    ) == pytest.approx(best.cost_rate)


def test_a_life_without_wear_runs_to_failure():
    """With a constant hazard the cost falls with age for ever: closed form Cf over the mean."""
    for shape, planned, failure in ((1.0, 1, 10), (0.7, 1, 10), (3.0, 5, 5)):
        found = age_replacement(shape, 1000, cost_planned=planned, cost_failure=failure)

        assert found.age is None
        assert found.cost_rate == pytest.approx(failure / (1000 * math.gamma(1 + 1 / shape)))


def test_the_chance_to_fail_follows_the_conditional_survival():
    """The same as the survival of scipy gives; a constant hazard forgets the age."""
    for age in (0, 10_000, 30_000, 90_000):
        alive = weibull_min.sf([age, age + 5000], 3, scale=60_000)

        assert failure_within(3, 60_000, age=age, horizon=5000) == pytest.approx(
            1 - alive[1] / alive[0]
        )
        assert failure_within(1, 60_000, age=age, horizon=5000) == pytest.approx(
            1 - math.exp(-1 / 12)
        )


@pytest.mark.parametrize("mean", [0, 0.6, 1.8, 4, 55])
@pytest.mark.parametrize("service", [0.5, 0.95, 0.999])
def test_spares_are_the_quantile_of_poisson(mean, service):
    """The least stock that lasts is the quantile that scipy gives."""
    found = spares(mean, service)

    assert found.stock == int(poisson.ppf(service, mean))
    assert found.achieved == pytest.approx(poisson.cdf(found.stock, mean))
