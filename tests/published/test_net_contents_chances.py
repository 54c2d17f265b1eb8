"""Operating characteristics of the plans against independent computation.

The tables were computed with the binomial and normal laws of scipy apart from this package; here
the same points are computed again by summing the laws directly.
"""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import binom, chi2, nct, norm

from fillwright.knowledge.load import rule_set
from fillwright.science.quantity import (
    Method,
    PlanNumbers,
    acceptance_chance,
    find_plan,
    sd_upper_factor,
    target_fill,
)
from fillwright.science.quantity.operating import individual_chance, mean_chance
from fillwright.science.quantity.plans import plan_from_numbers

D = Decimal


@pytest.mark.parametrize(
    ("rules", "plan", "lot", "shares"),
    [
        ("EU-76/211", "double", 300, "1.46 2.63 7.48 13.6"),
        ("EU-76/211", "double", 1000, "2.28 3.31 6.93 11.2"),
        ("EU-76/211", "double", 5000, "2.28 3.06 5.72 8.75"),
        ("UK-2006/659", "single", 300, "1.68 2.78 7.29 12.9"),
        ("UK-2006/659", "single", 1000, "2.28 3.32 7.06 11.3"),
        ("UK-2006/659", "single", 5000, "2.36 3.22 6.12 9.24"),
        ("EU-76/211", "destructive", 300, "0.76 1.81 8.25 18.1"),
        ("US-HB133-A", None, 100, "0.084 0.43 5.61 17.5"),
        ("US-HB133-A", None, 1000, "0.042 0.21 2.85 9.15"),
        ("US-HB133-A", None, 5000, "0.31 0.75 3.47 7.86"),
    ],
)
def test_shares_at_which_the_count_accepts(rules, plan, lot, shares):
    """True shares below T1, in percent, at which the count accepts with 99, 95, 50 and 10 %.

    The chance reaches the stated one within half a unit of the last digit of each share.
    """
    found = find_plan(rule_set(rules), lot_size=lot, plan=plan).plan
    for text, chance in zip(shares.split(), (0.99, 0.95, 0.50, 0.10), strict=True):
        half_digit = 0.5 * 10.0 ** -len(text.partition(".")[2])
        around = (float(text) + np.array([-half_digit, half_digit])) / 100
        high, low = individual_chance(around, plan=found)

        assert low <= chance <= high


def test_double_plan_by_adding_up_every_outcome():
    """30 + 30 at 2.5 %: 95.6 % of lots pass, summed over both counts; 20/1 passes 91.2 %."""
    found = find_plan(rule_set("EU-76/211"), lot_size=300).plan
    small = find_plan(rule_set("EU-76/211"), lot_size=300, plan="destructive").plan
    p = 0.025
    by_hand = sum(
        binom.pmf(first, 30, p) * binom.pmf(second, 30, p)
        for first in range(31)
        for second in range(31)
        if first <= 1 or (first == 2 and first + second <= 4)
    )

    assert individual_chance(p, plan=found)[0] == pytest.approx(by_hand, rel=1e-12)
    assert by_hand == pytest.approx(0.956, abs=5e-4)
    assert individual_chance(p, plan=small)[0] == pytest.approx(0.912, abs=5e-4)


@pytest.mark.parametrize("n", [2, 5, 12, 30, 125])
def test_mean_test_against_the_non_central_t(n):
    """P_mean = 1 - nct.cdf(-k σx/σm, ν, (µ - Qn)/σm), and against adaptive quadrature over s."""
    plan = plan_from_numbers(PlanNumbers(n=n, n_mean=n, k=D("0.4"), ac=0))
    sd_mean, offset = 1.3 / math.sqrt(n), -0.2
    got = float(mean_chance(offset, sd_seen=1.3, sd_mean=sd_mean, plan=plan)[0])
    by_nct = 1 - nct.cdf(-0.4 * 1.3 / sd_mean, n - 1, offset / sd_mean)

    def density(x):
        s = 1.3 * math.sqrt(x / (n - 1))
        return norm.cdf((offset + 0.4 * s) / sd_mean) * chi2.pdf(x, n - 1)

    by_quad = sum(
        quad(density, a, b, limit=200, epsabs=1e-12)[0]
        for a, b in ((0, 1e-3), (1e-3, n), (n, 20 * n + 100))
    )

    assert got == pytest.approx(by_nct, abs=1e-9)
    assert got == pytest.approx(by_quad, abs=1e-8)


@pytest.mark.parametrize("rules", ["EU-76/211", "AU-2009/233", "US-HB133-A"])
def test_a_steady_filler_at_the_label_passes_at_the_stated_rate(rules):
    """At µ = Qn without drift the test of the mean accepts 99.5 % (US 97.5 %), by its design."""
    found = rule_set(rules)
    answer = acceptance_chance(
        found,
        nominal=D(500),
        unit="g",
        lot_size=1000,
        process_mean=500.0,
        sd_within=2.0,
        rng=np.random.default_rng(0),
    )

    # the printed k has three digits: 5e-4 of k moves the chance by up to 2e-4
    assert answer.p_mean == pytest.approx(float(found.mean_quantile), abs=2e-4)


@pytest.mark.parametrize(
    ("n", "k", "margins"),
    [
        (30, "0.503", (-0.048, 0.009, 0.149, 0.332, 0.749)),
        (50, "0.379", (-0.036, 0.035, 0.200, 0.400, 0.835)),
        (80, "0.295", (-0.028, 0.059, 0.242, 0.453, 0.899)),
        (125, "0.234", (-0.023, 0.080, 0.277, 0.496, 0.949)),
        (12, "0.635", (0.115, 0.152, 0.251, 0.394, 0.757)),
        (24, "0.422", (0.078, 0.130, 0.262, 0.439, 0.847)),
        (48, "0.291", (0.053, 0.125, 0.289, 0.488, 0.923)),
    ],
)
def test_margins_of_the_mean_test(n, k, margins):
    """Margin for 99 % acceptance, in units of the deviation, lots wandering by 0 to 0.5 of it.

    T is far away, so that the mean alone decides.
    """
    for drift, margin in zip((0, 0.1, 0.2, 0.3, 0.5), margins, strict=True):
        answer = target_fill(
            rule_set("US-HB133-A"),
            nominal=D(1000),
            unit="g",
            sd_within=1.0,
            sd_between_lots=drift,
            t=D(100),
            plan_numbers=PlanNumbers(n=n, n_mean=n, k=D(k), ac=3),
        )

        # the printed figure, and one unit of its last digit for the rounding of the source
        assert answer.components.reference_test - 1000 == pytest.approx(margin, abs=6e-4)


@pytest.mark.parametrize(
    ("rules", "lot", "nominal", "t", "mean", "sd", "simulated", "error"),
    [
        ("EU-76/211", 300, 100, "4.5", 100.0, 2.5, 0.88641, 0.00022),
        ("US-HB133-A", 100, 454, "19.9", 453.0, 7.0, 0.89753, 0.00021),
        ("US-HB133-A", 5000, 113, "7.2", 113.0, 3.5, 0.74109, 0.00031),
    ],
)
def test_joint_chance_check_points(rules, lot, nominal, t, mean, sd, simulated, error):
    """Three points simulated with two million samples by a program apart from this one."""
    shared = {
        "nominal": D(nominal),
        "unit": "g",
        "lot_size": lot,
        "process_mean": mean,
        "sd_within": sd,
        "t": D(t),
    }
    rng = np.random.default_rng(11)
    exact = acceptance_chance(rule_set(rules), rng=rng, **shared)
    drawn = acceptance_chance(rule_set(rules), rng=rng, method=Method.SIMULATION, **shared)

    assert exact.method is Method.CONDITIONING
    assert exact.p_accept == pytest.approx(simulated, abs=4 * error)
    assert exact.standard_error < error
    assert drawn.p_accept == pytest.approx(simulated, abs=4 * drawn.standard_error)


def test_drift_check_point():
    """Australia, n = 125, label 500, σ = 4, drift 1: one lot in five fails at nominal (0.8101)."""
    answer = acceptance_chance(
        rule_set("AU-2009/233"),
        nominal=D(500),
        unit="g",
        lot_size=5000,
        process_mean=500.0,
        sd_within=4.0,
        sd_between_lots=1.0,
        rng=np.random.default_rng(0),
    )

    assert answer.p_mean == pytest.approx(0.8101, abs=5e-5)
    assert answer.p_accept == pytest.approx(0.8098, abs=6e-4)
    assert answer.standard_error == 0


@pytest.mark.parametrize(
    ("n", "factor"), [(5, 2.372), (10, 1.645), (20, 1.370), (30, 1.280), (50, 1.202)]
)
def test_upper_limits_of_a_deviation(n, factor):
    """√(ν/χ²(0.05; ν)), computed with scipy; χ²(0.05; 9) = 3.325 in every table of the law."""
    assert sd_upper_factor(n, confidence=0.95) == pytest.approx(factor, abs=5e-4)
    assert sd_upper_factor(10, confidence=0.95) == pytest.approx(math.sqrt(9 / 3.325), abs=5e-4)
