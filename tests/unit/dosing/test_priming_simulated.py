"""What priming states against seeded purges; all invented, standard errors printed.

The long tables, with purges outside the model, are made by the calibration of the benchmarks.
"""

from __future__ import annotations

import math
import sys

import numpy as np
import pytest

from fillwright.science.priming import PrimingPrior, prime_start, prime_state, prime_take
from fillwright.science.priming_prior import curves_of, height


def _own_purge(rng, prior):
    """A purge drawn from the model's own prior: readings and shortfalls."""
    curves = curves_of(prior)
    curve = rng.choice(curves.span.size, p=np.exp(curves.log_weight))
    first = prior.first_shortfall * (1.4 if rng.random() < 0.6 else 0.3)
    heights = np.array([height(curves, shot)[curve] for shot in range(1, 20)])
    short = abs(first * rng.standard_normal()) * heights
    sd = prior.sd * math.exp(0.4 * rng.standard_normal())
    low = rng.random(19) < rng.beta(1.0, 9.0)
    bubble = low * (0.04 + 0.03 * rng.standard_normal(19))
    return 1.0 - short - bubble + sd * rng.standard_normal(19), short


def test_stated_probabilities_hold_on_purges_of_the_models_own_prior():
    """After 7 and 11 shots the mean stated probability is the share that is right."""
    rng = np.random.default_rng(43)
    gaps = []
    for _ in range(80):
        readings, short = _own_purge(rng, PrimingPrior())
        now = prime_start(1.0, sd_guess=0.003)
        for shot, reading in enumerate(readings[:11], 1):
            now = prime_take(now, reading)
            if shot in {7, 11}:
                gaps.append(prime_state(now).p_primed - (short[shot] < 0.003))
    error = float(np.std(gaps)) / math.sqrt(len(gaps) / 2)
    sys.stdout.write(f"stated less true {np.mean(gaps):.4f} with standard error {error:.4f}\n")

    assert np.mean(gaps) == pytest.approx(0.0, abs=3 * error)


def test_few_purges_end_with_air_left():
    """Bubbles, decay of 1 to 6 doses: 10 % with more than 0.3 % left, 14 shots on average."""
    rng = np.random.default_rng(42)
    ends = []
    for _ in range(40):
        t = np.arange(46.0)
        short = rng.uniform(0.01, 0.12) * np.exp(-t / rng.uniform(1.0, 6.0))
        bubble = rng.uniform(0.01, 0.08, 46)
        bubble *= rng.random(46) < rng.uniform(0.0, 0.25) * np.exp(-t / 10.0)
        readings = 1.0 - short - bubble + 0.003 * rng.standard_normal(46)
        now = prime_start(rng.uniform(0.97, 1.03), sd_guess=0.003)
        for shot in range(1, 46):
            now = prime_take(now, readings[shot - 1])
            if shot >= 6 and prime_state(now).primed:
                break
        ends.append((shot, short[shot] >= 0.003))
    shots, left = np.array(ends, dtype=float).T
    error = math.sqrt(max(left.mean() * (1 - left.mean()), 0.02) / left.size)
    sys.stdout.write(f"left {left.mean():.3f} ± {error:.3f}, shots {shots.mean():.1f}\n")

    assert left.mean() <= 0.10 + 2 * error
    assert shots.mean() <= 14 + 2 * shots.std() / math.sqrt(shots.size)
