"""Printed sample correction factors against Student's t.

Sources of the printed factors: Directive 76/211/EEC with the French order of 20 October 1978
(read), SI 2006/659 Schedule 2 (read), National Trade Measurement Regulations 2009 regulation 4.34
(read, decoded), SR 1999/373 Schedule 7A (read), NIST Handbook 133 Table 2-1 (from memory).
Outside reference: the t distribution of scipy.
"""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from scipy.stats import t as student

from fillwright.knowledge.load import rule_set, rule_sets
from fillwright.knowledge.types import PlanKind

ROWS = sorted(
    {
        (name, row.n_mean or row.lot_to, str(row.k), row.lot_to if rules.mean_population else None)
        for name, rules in rule_sets().items()
        for row in rules.plan_rows
        if row.k is not None and row.k > 0
    },
    key=str,
)
NOT_REPRODUCED = {("US-HB133-A", 48): "0.290", ("US-HB133-A", 6): "1.049"}


def factor(rules, n):
    """Return t(p; n - 1)/√n at the rule set's own probability."""
    quantile = float(rules.mean_quantile)
    return float(student.ppf(quantile, n - 1)) / math.sqrt(n)


@pytest.mark.parametrize(("name", "n", "k", "lot"), [row for row in ROWS if row[3] is None])
def test_printed_factor_is_the_rounded_quantile(name, n, k, lot):
    """The factor is t(p; n-1)/√n to three decimals; two US factors are not."""
    computed = f"{factor(rule_set(name), n):.3f}"

    assert lot is None
    assert computed == NOT_REPRODUCED.get((name, n), k)


def test_two_printed_factors_do_not_reproduce():
    """0.291 (n = 48, t gives 0.29037) and 1.050 (n = 6, t gives 1.04944) stand as printed."""
    us = rule_set("US-HB133-A")
    printed = {row.n or row.lot_to: str(row.k) for row in us.plan_rows}

    assert (printed[48], printed[6]) == ("0.291", "1.050")
    assert factor(us, 48) == pytest.approx(0.29037, abs=5e-6)
    assert factor(us, 6) == pytest.approx(1.04944, abs=5e-6)


@pytest.mark.parametrize(
    ("n", "value"),
    [(20, 0.63972), (30, 0.50324), (50, 0.37900), (80, 0.29511), (125, 0.23399)],
)
def test_quantiles_of_the_design_table(n, value):
    """t(0.995; n - 1)/√n to five decimals."""
    assert factor(rule_set("EU-76/211"), n) == pytest.approx(value, abs=5e-6)


@pytest.mark.parametrize(
    ("n", "top", "printed", "value"),
    [
        (12, 39, "0.746", 0.7460),
        (12, 79, "0.826", 0.8257),
        (12, 149, "0.860", 0.8597),
        (32, 399, "0.465", 0.4652),
        (32, 4000, "0.483", 0.4831),
    ],
)
def test_new_zealand_corrects_for_the_lot(n, top, printed, value):
    """SR 1999/373 Sch. 7A: t(0.995; n-1)/√n · √(1 - n/N) with N the top of the row.

    The form √((N - n)/(N - 1)) does not give the printed figures.
    """
    rules = rule_set("NZ-1999/373-7A")
    row = next(row for row in rules.plan_rows if row.lot_to == top)
    corrected = factor(rules, n) * math.sqrt(1 - n / top)
    other = factor(rules, n) * math.sqrt((top - n) / (top - 1))

    assert str(row.k) == printed
    assert corrected == pytest.approx(value, abs=5e-5)
    assert f"{corrected:.3f}" == printed
    if top < 149:
        assert f"{other:.3f}" != printed


def test_large_new_zealand_lots_have_no_top():
    """Above 4 000: 0.295 is t(0.995; 79)/√80 without correction."""
    rules = rule_set("NZ-1999/373-7A")
    last = rules.plan_rows[-1]

    assert (last.lot_to, last.k) == (None, Decimal("0.295"))
    assert f"{factor(rules, 80):.3f}" == "0.295"


def test_us_factors_run_over_all_small_lots():
    """Lots of 2 to 11 are weighed whole, each with its own factor."""
    small = [
        row for row in rule_set("US-HB133-A").plan_rows if row.kind is PlanKind.CENSUS and row.k
    ]

    assert [row.lot_from for row in small] == list(range(2, 12))
    assert all(row.lot_from == row.lot_to for row in small)
