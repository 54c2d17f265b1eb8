"""Planned looks against a published factor and against exact chances of one look.

NIST/SEMATECH e-Handbook of Statistical Methods, section 7.2.6.3 (read), and the quadrature of
`prove_chance`, which draws nothing.
"""

from __future__ import annotations

import numpy as np
import pytest

from fillwright.science.proof import prove_chance
from fillwright.science.sequential import sequential_chance, sequential_plan
from fillwright.science.sequential_rates import edge_sd


def test_a_single_look_needs_the_handbooks_factor():
    """One look at 43, content 90 %, confidence 0.99: the handbook prints 2.217, approximate."""
    plan = sequential_plan(
        (43,), content=0.90, confidence=0.99, runs=20_000, rng=np.random.default_rng(51)
    )

    assert plan.look_confidence == 0.99
    assert plan.factors[0] == pytest.approx(2.217, rel=3e-3)


@pytest.mark.parametrize("offset", [0.0, 0.1, 0.2, 0.4, 0.7])
def test_false_claims_of_one_look_equal_the_exact_chance(offset):
    """One look at 30: the counted share agrees with quadrature within 3.5 standard errors."""
    plan = sequential_plan((30,), runs=40_000, rng=np.random.default_rng(52))
    exact = prove_chance(
        30,
        true_sd=edge_sd(offset, content=0.99),
        offset=offset,
        tolerance=1.0,
        content=0.99,
        confidence=plan.look_confidence,
    )

    counted = plan.false_claims[plan.offsets.index(offset)]
    assert counted == pytest.approx(exact, abs=3.5 * (exact / 40_000) ** 0.5)


def test_two_looks_equal_an_exact_triple_quadrature():
    """Looks at 4 and 5 by Gauss-Legendre over mean, sum of squares and the fifth dose.

    The fifth reading joins mean and squares by the pooling formula (textbook, from memory).
    """
    plan = sequential_plan((4, 5), runs=4000, rng=np.random.default_rng(53))
    k4, k5 = plan.factors
    sd = 0.09

    def passes_late(mean, squares):
        """Chance that the fifth reading brings a proof: a window about the middle."""
        grid = np.linspace(-6, 6, 2001)
        joined = mean + (grid - mean) / 5
        spread = np.sqrt((squares + 0.8 * (grid - mean) ** 2) / 4)
        enough = np.abs(sd * joined) + k5 * sd * spread <= 1
        density = np.exp(-0.5 * grid**2) / np.sqrt(2 * np.pi)
        return float(np.sum(density * enough) * (grid[1] - grid[0]))

    def given(squares, mean):
        # Mean of four is N(0, 1/4), their sum of squares chi-square with 3 degrees of freedom.
        density = np.exp(-2 * mean**2) * np.sqrt(2 / np.pi)
        density *= np.sqrt(squares) * np.exp(-0.5 * squares) / np.sqrt(2 * np.pi)
        early = abs(sd * mean) + k4 * sd * np.sqrt(squares / 3) <= 1
        return density * (1.0 if early else passes_late(mean, squares))

    nodes, weights = np.polynomial.legendre.leggauss(40)
    squares, w_squares = 10 * (nodes + 1), 10 * weights
    means, w_means = 2.5 * nodes, 2.5 * weights
    exact = sum(
        wm * ws * given(s, m)
        for m, wm in zip(means, w_means, strict=True)
        for s, ws in zip(squares, w_squares, strict=True)
    )
    counted = sequential_chance(
        plan, sd, tolerance=1.0, futility=False, runs=40_000, rng=np.random.default_rng(54)
    )

    assert counted.chance == pytest.approx(exact, abs=0.01)
