"""Chances of acceptance and targets against lots drawn by a few plain lines of numpy.

The drawing and the decision are written anew here from the definition of the tests, in floats
and without any of the program's code. Every comparison allows five standard errors.
"""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest

from fillwright.knowledge.load import rule_set
from fillwright.science.quantity import acceptance_chance, target_fill

LOTS = 10_000
# rules, plan, lot, label, T, n, packages in the mean, k, Ac, Re, second n, Ac of both, T2
CASES = {
    "EU double": ("EU-76/211", "double", 300, 100, 4.5, 30, 30, 0.503, 1, 3, 30, 4, False),
    "EU double, 50 of 80": (
        "EU-76/211",
        "double",
        5000,
        100,
        4.5,
        80,
        50,
        0.379,
        3,
        7,
        80,
        8,
        False,
    ),
    "EU destructive": (
        "EU-76/211",
        "destructive",
        900,
        100,
        4.5,
        20,
        20,
        0.640,
        1,
        2,
        0,
        0,
        False,
    ),
    "UK single, 50 of 125": (
        "UK-2006/659",
        None,
        5000,
        500,
        15,
        125,
        50,
        0.379,
        7,
        8,
        0,
        0,
        False,
    ),
    "UK whole lot": ("UK-2006/659", None, 60, 500, 15, 60, 60, 0.0, 3, 4, 0, 0, False),
    "AU": ("AU-2009/233", None, 200, 500, 15, 50, 50, 0.379, 3, 4, 0, 0, True),
    "NZ": ("NZ-1999/373-7A", None, 30, 250, 9, 12, 12, 0.746, 0, 1, 0, 0, False),
    "US": ("US-HB133-A", None, 4000, 113, 7.2, 48, 48, 0.291, 1, 2, 0, 0, False),
}


def _drawn(case, mean, sd, sd_lot, *, seed):
    """Share of drawn lots that pass, from the definition."""
    _, _, _, label, t, n, n_mean, k, ac, re, n2, ac2, has_t2 = CASES[case]
    rng = np.random.default_rng(seed)
    effect = mean - label + sd_lot * rng.standard_normal((LOTS, 1))
    errors = effect + sd * rng.standard_normal((LOTS, n))
    part = errors[:, :n_mean]
    passes = part.mean(axis=1) + k * part.std(axis=1, ddof=1) >= 0
    below = (errors < -t).sum(axis=1)
    counts = below <= ac
    if n2:
        more = (effect + sd * rng.standard_normal((LOTS, n2)) < -t).sum(axis=1)
        counts |= (below < re) & (below + more <= ac2)
    if has_t2:
        counts &= (errors < -2 * t).sum(axis=1) == 0
    return float((passes & counts).mean())


@pytest.mark.parametrize("case", list(CASES))
@pytest.mark.parametrize("sd_lot", [0.0, 0.1])
def test_the_chance_of_acceptance_is_the_share_of_drawn_lots(case, sd_lot):
    """Every kind of plan, near its limits, with and without a lot effect (in shares of T)."""
    rules, plan, lot, label, t, *_ = CASES[case]
    mean, sd = label - 0.02 * t, 0.5 * t
    answer = acceptance_chance(
        rule_set(rules),
        plan=plan,
        nominal=Decimal(label),
        unit="g",
        lot_size=lot,
        process_mean=mean,
        sd_within=sd,
        sd_between_lots=sd_lot * t,
        rng=np.random.default_rng(5),
    )

    found = _drawn(case, mean, sd, sd_lot * t, seed=17)

    error = math.hypot(answer.standard_error, math.sqrt(found * (1 - found) / LOTS))
    assert abs(answer.p_accept - found) < 5 * error


@pytest.mark.parametrize("case", list(CASES))
@pytest.mark.parametrize("sd_lot", [0.0, 0.25])
def test_at_the_target_lots_fail_as_often_as_was_allowed(case, sd_lot):
    """At the mean that the reference test alone would ask for, one lot in twenty is rejected."""
    rules, plan, lot, label, t, *_ = CASES[case]
    sd = 0.4 * t
    answer = target_fill(
        rule_set(rules),
        plan=plan,
        nominal=Decimal(label),
        unit="g",
        lot_size=lot,
        sd_within=sd,
        sd_between_lots=sd_lot * t,
        alpha=0.05,
    )

    passed = _drawn(case, answer.components.reference_test, sd, sd_lot * t, seed=23)

    # The target takes the two tests as independent, which costs less than two in a thousand.
    assert 1 - passed == pytest.approx(0.05, abs=0.002 + 5 * math.sqrt(0.05 * 0.95 / LOTS))
