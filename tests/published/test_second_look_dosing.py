"""Tolerance factors by tables and coverage, proofs at the edge, and the watch, a second time.

Factors: the widely reprinted tables of normal tolerance factors (Odeh and Owen 1980), as
remembered to three decimals; from memory. Everything else is simulated here from definitions.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import optimize, special, stats

from fillwright.science.order import order_tests
from fillwright.science.proof import prove_chance
from fillwright.science.tolerance import tolerance_factor
from fillwright.science.watch import (
    SignalSide,
    watch_confirms,
    watch_start,
    watch_take,
)

CONTENTS = (0.90, 0.95, 0.99)
# n, confidence: factors for contents 0.90, 0.95, 0.99; from memory
TWO_SIDED = {
    (10, 0.95): (2.856, 3.393, 4.437),
    (10, 0.99): (3.617, 4.294, 5.610),
    (20, 0.95): (2.319, 2.760, 3.621),
    (20, 0.99): (2.675, 3.184, 4.175),
    (50, 0.95): (1.999, 2.382, 3.129),
    (50, 0.99): (2.166, 2.580, 3.390),
}
ONE_SIDED = {
    (10, 0.95): (2.355, 2.911, 3.981),
    (10, 0.99): (3.048, 3.738, 5.074),
    (20, 0.95): (1.926, 2.396, 3.295),
    (20, 0.99): (2.276, 2.808, 3.832),
    (30, 0.95): (1.777, 2.220, 3.064),
    (30, 0.99): (2.030, 2.515, 3.447),
    (50, 0.95): (1.646, 2.065, 2.862),
    (50, 0.99): (1.821, 2.269, 3.125),
}


@pytest.mark.parametrize(("sides", "table"), [(2, TWO_SIDED), (1, ONE_SIDED)])
def test_factors_are_those_of_the_reprinted_tables(sides, table):
    """Three decimals, as printed; the last may be rounded the other way."""
    for (n, confidence), row in table.items():
        found = [
            tolerance_factor(n, content=p, confidence=confidence, sides=sides) for p in CONTENTS
        ]
        assert found == pytest.approx(row, abs=6e-4)


@pytest.mark.parametrize("n", [2, 5, 30, 300])
@pytest.mark.parametrize("content", CONTENTS)
def test_one_sided_factors_are_noncentral_t_quantiles(n, content):
    """The classical form t'(γ; n - 1, z√n)/√n, by scipy's own noncentral t."""
    delta = special.ndtri(content) * math.sqrt(n)

    found = tolerance_factor(n, content=content, confidence=0.95, sides=1)

    assert found == pytest.approx(stats.nct.ppf(0.95, n - 1, delta) / math.sqrt(n), rel=1e-8)


@pytest.mark.parametrize(("n", "content"), [(4, 0.99), (10, 0.95), (30, 0.99)])
def test_two_sided_intervals_hold_the_content_as_often_as_claimed(n, content):
    """Of 30,000 drawn samples 95 % give an interval with the content inside."""
    rng = np.random.default_rng(8)
    k = tolerance_factor(n, content=content, confidence=0.95)
    rows = rng.standard_normal((30_000, n))
    mean, half = rows.mean(axis=1), k * rows.std(axis=1, ddof=1)

    held = special.ndtr(mean + half) - special.ndtr(mean - half) >= content

    assert held.mean() == pytest.approx(0.95, abs=5 * math.sqrt(0.05 * 0.95 / 30_000))


@pytest.mark.parametrize("offset", [0.0, 0.2, 0.5])
@pytest.mark.parametrize("n", [10, 30, 60])
def test_a_claim_that_is_just_false_is_seldom_proved(n, offset):
    """Content exactly 99 %: proofs are as rare as computed, and rarer than one in twenty."""
    sd = optimize.brentq(
        lambda s: special.ndtr((1 - offset) / s) - special.ndtr((-1 - offset) / s) - 0.99,
        0.05,
        1,
    )
    rng = np.random.default_rng(9)
    rows = offset + sd * rng.standard_normal((20_000, n))
    k = tolerance_factor(n, content=0.99, confidence=0.95)

    proved = float((abs(rows.mean(axis=1)) + k * rows.std(axis=1, ddof=1) <= 1).mean())

    error = math.sqrt(proved * (1 - proved) / 20_000)
    assert proved < 0.05
    assert abs(proved - prove_chance(n, true_sd=sd, offset=offset, tolerance=1.0)) < 5 * error


def test_a_creeping_run_of_thirty_does_not_pass_as_a_proof():
    """A creep of three scatters over the run is called unsteady in 19 of 20, or not proved."""
    rng = np.random.default_rng(10)
    k = tolerance_factor(30, content=0.99, confidence=0.95)
    rows = 0.2 * (rng.standard_normal((800, 30)) + np.linspace(-1.5, 1.5, 30))
    fits = abs(rows.mean(axis=1)) + k * rows.std(axis=1, ddof=1) <= 1

    passes = [fit and order_tests(row).steady for fit, row in zip(fits, rows, strict=True)]

    assert np.mean(fits) > 0.5
    assert np.mean(passes) < 0.05


def _watch_on(rows):
    """A watch that has learnt from each row of good readings."""
    watches = []
    for row in rows:
        state = watch_start(k=0.5, h=1e6)
        for place, reading in enumerate(row, start=1):
            if abs(reading) < 3:
                state = watch_take(state, float(reading), position=place).state
        watches.append(state)
    return watches


def test_two_more_readings_confirm_by_chance_once_in_a_hundred_and_a_real_step_mostly():
    """Normal arithmetic: the mean of two is off by step·√2 sds, against a limit of 2.33.

    After 100 readings the own mean costs little, so the chances are about Φ(√2·step - 2.33):
    0.01 without a step, 0.69 at 2 sd, 0.97 at 3 sd.
    """
    rng = np.random.default_rng(11)
    watches = _watch_on(rng.standard_normal((60, 100)))

    def share(step):
        return np.mean(
            [
                watch_confirms(state, list(two - step), side=SignalSide.LOW)
                for state in watches
                for two in rng.standard_normal((12, 2))
            ]
        )

    assert share(0.0) < 0.03
    assert share(2.0) == pytest.approx(0.69, abs=0.1)
    assert share(3.0) > 0.85


def test_two_more_readings_confirm_their_own_side_only():
    """Two far above the mean confirm a high signal, not a low one, and nothing before data."""
    watch = _watch_on([[0.1, -0.2, 0.3, -0.1, 0.2, -0.3, 0.0, 0.1]])[0]

    assert watch_confirms(watch, [2.0, 2.0], side=SignalSide.HIGH)
    assert not watch_confirms(watch, [2.0, 2.0], side=SignalSide.LOW)
    assert not watch_confirms(watch_start(), [2.0, 2.0], side=SignalSide.HIGH)
