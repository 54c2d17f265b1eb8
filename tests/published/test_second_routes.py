"""Every integral and every counted chance of dosing by a second, independent route.

Quadrature of a library in place of ours, a chain of states in place of an integral equation,
and plain counting with its standard error; each test says which.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import integrate, special, stats

from fillwright.science.chart_constants import chart_constants
from fillwright.science.content import content_chance, content_inside
from fillwright.science.proof import prove_chance
from fillwright.science.repeatability import repeatability_study
from fillwright.science.rounding import rounding_bias
from fillwright.science.run_rules import RunRule, arl_rules
from fillwright.science.runlength import arl_cusum, arl_ewma, containers_to_alarm
from fillwright.science.tolerance import tolerance_factor
from fillwright.science.weighing import conformance_probability


@pytest.mark.parametrize("n", [2, 5, 10, 25])
def test_range_constants_are_moments_of_order_statistics(n):
    """d2 and d3 from the joint density of smallest and range, by trapezoids over both."""
    x, dx = np.linspace(-9.0, 9.0, 1201, retstep=True)
    w, dw = np.linspace(0.0, 14.0, 1201, retstep=True)
    above = x[:, None] + w[None, :]
    between = special.ndtr(above) - special.ndtr(x[:, None])
    joint = stats.norm.pdf(x)[:, None] * stats.norm.pdf(above) * between ** (n - 2)
    density = n * (n - 1) * np.sum(joint, axis=0) * dx
    density[0] /= 2
    first, second = (float(np.sum(w**k * density) * dw) for k in (1, 2))
    found = chart_constants(n)

    assert float(np.sum(density) * dw) == pytest.approx(1.0, abs=1e-4)
    assert found.d2 == pytest.approx(first, abs=1e-4)
    assert found.d3 == pytest.approx(math.sqrt(second - first**2), abs=2e-4)


@pytest.mark.parametrize(
    ("weight", "limit", "shift"), [(0.1, 2.814, 0.0), (0.1, 2.814, 1.0), (0.4, 3.054, 0.5)]
)
def test_the_weighted_means_run_length_is_that_of_a_chain(weight, limit, shift):
    """501 states between the limits; Lucas and Saccucci 1990, from memory."""
    edge = limit * math.sqrt(weight / (2 - weight))
    states = 501
    wide = 2 * edge / states
    place = -edge + wide * (np.arange(states) + 0.5)
    step = (place[None, :] - (1 - weight) * place[:, None]) / weight - shift
    half = 0.5 * wide / weight
    moves = special.ndtr(step + half) - special.ndtr(step - half)
    lengths = np.linalg.solve(np.eye(states) - moves, np.ones(states))

    assert arl_ewma(weight, limit, shift=shift) == pytest.approx(lengths[states // 2], rel=3e-4)


@pytest.mark.parametrize(
    ("k", "h", "shift", "head_start"),
    [(0.5, 4.0, 0.0, 0.0), (0.5, 5.0, 1.0, 2.5), (0.25, 8.0, 0.5, 4.0), (1.0, 2.5, 2.0, 0.0)],
)
def test_run_lengths_of_both_sums_are_those_counted(k, h, shift, head_start):
    """20,000 runs of both sums at once, within four standard errors."""
    rng = np.random.default_rng(81)
    runs = 20_000
    up, down = np.full(runs, head_start), np.full(runs, head_start)
    length, going = np.zeros(runs), np.arange(runs)
    while going.size:
        z = shift + rng.standard_normal(going.size)
        up, down = np.maximum(0, up + z - k), np.maximum(0, down - z - k)
        length[going] += 1
        left = (up <= h) & (down <= h)
        up, down, going = up[left], down[left], going[left]
    error = length.std() / math.sqrt(runs)

    found = arl_cusum(k, h, shift=shift, head_start=head_start)
    assert found == pytest.approx(length.mean(), abs=4 * error)


@pytest.mark.parametrize("shift", [0.0, 1.0])
def test_run_rules_alarm_as_often_as_counted(shift):
    """Beyond 3, 2 of 3 beyond 2, 8 in a row on one side: 4,000 runs, four standard errors."""
    rules = [(1, 1, 3.0), (2, 3, 2.0), (8, 8, 0.0)]
    rng = np.random.default_rng(82)
    runs, longest = 4000, 2000
    z = shift + rng.standard_normal((runs, longest))
    alarm = np.zeros((runs, longest), dtype=bool)
    for need, last, beyond in rules:
        for side in (z > beyond, z < -beyond):
            total = np.cumsum(np.pad(side, ((0, 0), (last, 0))).astype(int), axis=1)
            alarm |= total[:, last:] - total[:, :-last] >= need
    length = np.where(alarm.any(axis=1), alarm.argmax(axis=1) + 1.0, longest)
    error = length.std() / math.sqrt(runs)
    named = [RunRule(r_of=r, last=s, beyond=a) for r, s, a in rules]

    assert arl_rules(named, shift=shift) == pytest.approx(length.mean(), abs=4 * error)


@pytest.mark.parametrize(("n", "sd", "offset"), [(5, 0.2, 0.0), (30, 0.28, 0.2), (12, 0.25, -0.3)])
def test_the_chance_of_a_proof_by_double_quadrature(n, sd, offset):
    """Over the sample sd by adaptive quadrature, the mean by the normal distribution."""
    k = tolerance_factor(n, content=0.99, confidence=0.95)

    def at(s):
        room = (1 - k * sd * s) / sd
        if room <= 0:
            return 0.0
        root = math.sqrt(n)
        off = offset / sd
        inside = special.ndtr((room - off) * root) - special.ndtr((-room - off) * root)
        df = n - 1
        return inside * stats.chi2.pdf(df * s * s, df) * 2 * df * s

    edge = 1 / (k * sd)
    expected = integrate.quad(at, 0, edge, epsabs=1e-11, limit=400)[0]

    assert prove_chance(n, true_sd=sd, offset=offset, tolerance=1.0) == pytest.approx(
        expected, abs=1e-8
    )


@pytest.mark.parametrize(("offset", "sd", "n"), [(0.1, 0.3, 8), (0.4, 0.25, 20)])
def test_the_posterior_of_the_content_by_drawing_it(offset, sd, n):
    """Mean and sd drawn from their posterior 400,000 times, within four standard errors."""
    rng = np.random.default_rng(83)
    sds = sd * np.sqrt((n - 1) / rng.chisquare(n - 1, 400_000))
    means = offset + sds / math.sqrt(n) * rng.standard_normal(400_000)
    inside = special.ndtr((1 - means) / sds) - special.ndtr((-1 - means) / sds)
    above = float(np.mean(inside >= 0.98))
    error = math.sqrt(above * (1 - above) / inside.size)

    found = content_chance(0.98, offset=offset, sd=sd, n=n, tolerance=1.0)
    assert found == pytest.approx(above, abs=4 * error)


def test_the_content_inside_by_quadrature():
    """The normal density between the limits."""
    expected = integrate.quad(stats.norm(0.3, 0.5).pdf, -1, 1)[0]

    assert content_inside(0.3, 0.5, tolerance=1.0) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("deviation", "uncertainty"), [(0.0, 0.4), (0.8, 0.2), (1.2, 0.5)])
def test_conformance_by_quadrature(deviation, uncertainty):
    """The density of the true value about the reading, between the limits."""
    expected = integrate.quad(stats.norm(deviation, uncertainty).pdf, -1, 1)[0]

    found = conformance_probability(deviation, tolerance=1.0, standard_uncertainty=uncertainty)
    assert found == pytest.approx(expected, abs=1e-10)


@pytest.mark.parametrize("sd", [0.05, 0.15, 0.25, 0.5])
def test_what_repeats_cannot_remove_by_summing_over_cells(sd):
    """Mean of all rounded readings less the true mean, squared and averaged over the cell."""
    cells = np.arange(-6, 7)
    squares = []
    for centre in (np.arange(400) + 0.5) / 400 - 0.5:
        below = special.ndtr((cells - 0.5 - centre) / sd)
        above = special.ndtr((cells + 0.5 - centre) / sd)
        squares.append((cells @ (above - below) - centre) ** 2)

    assert rounding_bias(1.0, sd=sd) == pytest.approx(math.sqrt(np.mean(squares)), abs=2e-5)


@pytest.mark.parametrize(("each", "shift"), [(1, 1.5), (3, 1.0)])
def test_containers_to_the_alarm_are_those_counted(each, shift):
    """A check of so many every 50; the shift at any container; 20,000 runs."""
    rng = np.random.default_rng(84)
    runs, between = 20_000, 50
    means = shift * math.sqrt(each) + rng.standard_normal((runs, 800))
    beyond = np.abs(means) > 3
    assert beyond.any(axis=1).all()
    filled = rng.uniform(0, between, runs) + between * beyond.argmax(axis=1)
    error = filled.std() / math.sqrt(runs)

    found = containers_to_alarm(each, between, shift, chart="mean")
    assert found == pytest.approx(filled.mean(), abs=4 * error)


def test_components_of_variance_are_those_drawn():
    """Forty containers weighed three times by two people, 60 studies: means within their error."""
    rng = np.random.default_rng(85)
    within, between = [], []
    for _ in range(60):
        dose = 0.6 * rng.standard_normal(40)
        rows = [
            (str(jar), str(person), 250 + dose[jar] + 0.2 * rng.standard_normal())
            for jar, person, _ in itertools.product(range(40), range(2), range(3))
        ]
        jars, people, readings = zip(*rows, strict=True)
        found = repeatability_study(jars, readings, operators=people)
        within.append(found.within)
        between.append(found.between)
    for values, true in ((within, 0.04), (between, 0.36)):
        error = np.std(values) / math.sqrt(len(values))
        assert np.mean(values) == pytest.approx(true, abs=4 * error)
