"""Average run lengths against published values (from memory) and by a second method.

Brook and Evans, An approach to the probability distribution of cusum run length, Biometrika
59 (1972): a Markov chain over slices of the sum; Champ and Woodall, Technometrics 29 (1987)
for the run rules; Lucas and Crosier, Technometrics 24 (1982) for the head start.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from fillwright.science.run_rules import RunRule, arl_rules
from fillwright.science.runlength import arl_cusum, arl_ewma, design_cusum, design_ewma

BEYOND_3 = RunRule(r_of=1, last=1, beyond=3.0)
TWO_OF_THREE = RunRule(r_of=2, last=3, beyond=2.0)
FOUR_OF_FIVE = RunRule(r_of=4, last=5, beyond=1.0)
EIGHT_IN_A_ROW = RunRule(r_of=8, last=8, beyond=0.0)


def _brook_evans(k: float, h: float, shift: float, states: int) -> float:
    """One-sided run length from zero by a Markov chain of so many states."""
    width = 2.0 * h / (2 * states - 1)
    middle = np.arange(states) * width
    upper = middle[None, :] + 0.5 * width - middle[:, None] + k - shift
    chain = ndtr(upper) - ndtr(upper - width)
    chain[:, 0] = ndtr(upper[:, 0])
    return float(np.linalg.solve(np.eye(states) - chain, np.ones(states))[0])


def _ewma_chain(weight: float, limit: float, shift: float, states: int) -> float:
    """Run length from zero by a Markov chain of so many slices between the limits."""
    edge = limit * np.sqrt(weight / (2.0 - weight))
    width = 2.0 * edge / states
    middle = -edge + width * (np.arange(states) + 0.5)
    low = (middle[None, :] - 0.5 * width - (1 - weight) * middle[:, None]) / weight - shift
    chain = ndtr(low + width / weight) - ndtr(low)
    return float(np.linalg.solve(np.eye(states) - chain, np.ones(states))[states // 2])


@pytest.mark.parametrize(
    ("h", "shift", "published", "half_a_digit"),
    [(5.0, 0.0, 465, 0.5), (5.0, 1.0, 10.4, 0.05), (4.0, 0.0, 168, 0.5), (4.0, 1.0, 8.38, 0.005)],
)
def test_cusum_run_lengths_are_the_published_ones(h, shift, published, half_a_digit):
    """Two-sided, k = 0.5: 465, 10.4, 168 and 8.38 as printed in the textbooks, from memory."""
    assert arl_cusum(0.5, h, shift=shift) == pytest.approx(published, abs=half_a_digit)


@pytest.mark.parametrize("h", [3.0, 4.0, 5.0])
@pytest.mark.parametrize("shift", [0.0, 0.5, 1.0, 2.0])
def test_cusum_run_lengths_agree_with_a_markov_chain(h, shift):
    """The chain of Brook and Evans with 400 states differs by a ten-thousandth at most."""
    one_sided = arl_cusum(0.5, h, shift=shift, sides=1)

    assert one_sided == pytest.approx(_brook_evans(0.5, h, shift, 400), rel=1e-4)


def test_both_sides_add_their_rates():
    """1/ARL of both sides is the sum of the two, by the chain of Brook and Evans."""
    rate = 1 / _brook_evans(0.5, 5.0, 1.0, 400) + 1 / _brook_evans(0.5, 5.0, -1.0, 400)

    assert arl_cusum(0.5, 5.0, shift=1.0) == pytest.approx(1 / rate, rel=1e-4)


def test_a_head_start_gives_the_published_lengths():
    """With k 0.5, h 5, start 2.5: 430 without and 6.35 with a shift of one sd, from memory."""
    assert arl_cusum(0.5, 5.0, head_start=2.5) == pytest.approx(430.0, rel=2e-3)
    assert arl_cusum(0.5, 5.0, head_start=2.5, shift=1.0) == pytest.approx(6.35, abs=5e-3)


@pytest.mark.parametrize(
    ("weight", "limit", "published"), [(0.1, 2.814, 500), (0.2, 2.962, 500), (0.4, 3.054, 500)]
)
def test_ewma_run_lengths_are_the_published_ones(weight, limit, published):
    """The classical pairs for a run length of 500 (from memory), and by a Markov chain."""
    found = arl_ewma(weight, limit)

    assert found == pytest.approx(published, rel=1.5e-3)
    assert found == pytest.approx(_ewma_chain(weight, limit, 0.0, 601), rel=5e-4)
    shifted = _ewma_chain(weight, limit, 1.0, 601)
    assert arl_ewma(weight, limit, shift=1.0) == pytest.approx(shifted, rel=5e-4)


@pytest.mark.parametrize(
    ("rules", "published"),
    [
        ((BEYOND_3,), 370.40),
        ((BEYOND_3, TWO_OF_THREE), 225.44),
        ((BEYOND_3, FOUR_OF_FIVE), 166.05),
        ((BEYOND_3, EIGHT_IN_A_ROW), 152.73),
        ((BEYOND_3, TWO_OF_THREE, FOUR_OF_FIVE, EIGHT_IN_A_ROW), 91.75),
    ],
)
def test_run_rules_have_the_published_lengths(rules, published):
    """Table 1 of Champ and Woodall 1987, from memory, to all printed digits."""
    assert arl_rules(rules) == pytest.approx(published, abs=6e-3)


def test_all_rules_find_a_shift_of_one_sd_as_published():
    """Champ and Woodall 1987: 9.22 readings with all four rules, from memory."""
    rules = (BEYOND_3, TWO_OF_THREE, FOUR_OF_FIVE, EIGHT_IN_A_ROW)

    assert arl_rules(rules, shift=1.0) == pytest.approx(9.22, abs=5e-3)


def test_designs_reach_the_length_they_were_asked_for():
    """A designed limit gives back the wanted run length."""
    assert arl_cusum(0.25, design_cusum(0.25, 500.0)) == pytest.approx(500.0, rel=1e-6)
    assert arl_ewma(0.1, design_ewma(0.1, 370.0)) == pytest.approx(370.0, rel=1e-6)
