"""Limits and lot decisions, worked out a second time from other sources than the tables' own.

GOV.UK, Weights and measures: the law, page on packaged goods (read): the UK table and its
rounding. SI 2006/659 Schedule 2 paragraph 4 and Directive 76/211/EEC Annex II 2.2.2 on
legislation.gov.uk (read): criteria of the mean, batches below 100, the destructive plan.
Decisions are worked out again in plain fractions.
"""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction

import numpy as np
import pytest

from fillwright.knowledge.load import rule_set, rule_sets
from fillwright.science.quantity import (
    LotOutcome,
    OwnPlan,
    content_volume,
    find_plan,
    lot_test,
    reading_for_volume,
    tolerable_shortage,
)

D = Decimal
HAIR = D("1E-19")
ENDS = (50, 100, 200, 300, 500, 1000, 10_000, 15_000)
# GOV.UK: from, to, per cent or amount; the page has no figure of ours.
GOV_UK = (
    (5, 50, Fraction(9, 100), None),
    (50, 100, None, Fraction(9, 2)),
    (100, 200, Fraction(45, 1000), None),
    (200, 300, None, Fraction(9)),
    (300, 500, Fraction(3, 100), None),
    (500, 1000, None, Fraction(15)),
    (1000, 10_000, Fraction(15, 1000), None),
    (10_000, 15_000, None, Fraction(150)),
    (15_000, 25_000, Fraction(1, 100), None),
)


def _by_gov_uk(nominal):
    """The shortage by the page: percentages go up to the next tenth."""
    exact = Fraction(nominal)
    for low, high, percent, amount in GOV_UK:
        if low <= exact <= high:
            raw = amount if percent is None else percent * exact
            return Fraction(-(-raw * 10 // 1), 10)
    raise AssertionError(nominal)


@pytest.mark.parametrize("end", ENDS)
@pytest.mark.parametrize("off", [D(0), HAIR, -HAIR, D("0.01"), D("-0.01"), D(1), D(-1)])
def test_the_uk_shortage_is_that_of_the_public_page_on_and_beside_every_end(end, off):
    """At each end of a row, and a hair to either side, T is what GOV.UK says."""
    answer = tolerable_shortage(rule_set("UK-2006/659"), D(end) + off, unit="mL")

    assert Fraction(answer.t) == _by_gov_uk(D(end) + off)
    assert Fraction(answer.t2_limit) == Fraction(D(end) + off) - 2 * Fraction(answer.t)


def test_the_range_of_the_uk_rules_is_that_of_the_public_page():
    """GOV.UK: between 5 g and 25 kg or 5 mL and 25 L, both ends included."""
    rules = rule_set("UK-2006/659")

    inside = [tolerable_shortage(rules, D(q), unit="g").t for q in ("5", "25000")]
    outside = [tolerable_shortage(rules, D(q), unit="g").t for q in ("4.999", "25000.001")]

    assert inside == [D("0.5"), D("250")]
    assert outside == [None, None]


@pytest.mark.parametrize(
    ("lot", "plan", "n_mean", "k"),
    [
        # SI 2006/659 Schedule 2, 4.5 and 4.6: 100 to 500 inclusive, above 500, destructive
        (100, "double", 30, "0.503"),
        (500, "double", 30, "0.503"),
        (501, "double", 50, "0.379"),
        (3201, "double", 50, "0.379"),
        (500, "single", 30, "0.503"),
        (501, "single", 50, "0.379"),
        (100, "destructive", 20, "0.640"),
        (9000, "destructive", 20, "0.640"),
    ],
)
def test_the_criteria_of_the_mean_are_those_of_schedule_2(lot, plan, n_mean, k):
    """Packages in the test of the mean and the factor, at each end of the printed rows."""
    found = find_plan(rule_set("UK-2006/659"), lot_size=lot, plan=plan).plan

    assert (found.n_mean, found.k) == (n_mean, D(k))


def test_a_small_batch_must_reach_the_label_on_average():
    """Schedule 2, 4.7: below 100, equal to or greater than the label; no factor helps."""
    rules = rule_set("UK-2006/659")
    label, short = [D(500)] * 99, [D(500)] * 98 + [D("499.99")]

    given = {"nominal": D(500), "unit": "g", "lot_size": 99}

    assert lot_test(rules, label, **given).verdict is LotOutcome.ACCEPTED
    assert lot_test(rules, short, **given).verdict is LotOutcome.REJECTED


@pytest.mark.parametrize("name", ["EU-76/211", "UK-2006/659"])
@pytest.mark.parametrize(
    ("lot", "n", "ac", "re", "ac2"),
    [
        (300, 30, 1, 3, 4),
        (1000, 50, 2, 5, 6),
        (5000, 80, 3, 7, 8),
    ],
)
def test_every_pair_of_counts_of_a_double_plan(name, lot, n, ac, re, ac2):
    """All counts of 0 to 9 in both samples, against the definition of double sampling."""

    def sample(short):
        return [D("484.9")] * short + [D("520")] * (n - short)  # T is 15, T1 is 485

    given = {"nominal": D(500), "unit": "g", "lot_size": lot, "plan": "double"}
    for first in range(10):
        open_ = ac < first < re
        alone = lot_test(rule_set(name), sample(first), **given)
        assert (alone.verdict is LotOutcome.SECOND_SAMPLE) == open_
        for second in range(10):
            both = lot_test(rule_set(name), sample(first), second_sample=sample(second), **given)
            passes = first <= ac or (open_ and first + second <= ac2)
            assert (both.verdict is LotOutcome.ACCEPTED) == passes


@pytest.mark.parametrize("short", ["0.1", "0.0000000001", "1E-20"])
@pytest.mark.parametrize(
    ("k", "passes"),
    [("0.5", True), ("0.4999999999999999999999", False), ("0.5000000000000000001", True)],
)
def test_the_mean_on_its_limit_accepts_and_a_hair_below_rejects(short, k, passes):
    """Errors 0, 0, 0, -x have mean -x/4 and s = x/2 (by hand), so k = 1/2 is the limit itself."""
    answer = lot_test(
        rule_set("AU-2009/233"),
        [D(500)] * 3 + [D(500) - D(short)],
        nominal=D(500),
        unit="g",
        lot_size=200,
        plan="own",
        own_plan=OwnPlan(n=4, k=D(k), acceptance_number=0),
    )

    assert (answer.verdict is LotOutcome.ACCEPTED) == passes


def test_the_precision_of_the_callers_decimals_changes_no_verdict():
    """Five digits of context precision, and contents that need twenty-six."""
    hair_below = [D("484.99999999999999999999999")] * 4 + [D(520)] * 46
    on_it = [D(485)] * 4 + [D(520)] * 46
    given = {"nominal": D(500), "unit": "g", "lot_size": 200}

    with localcontext() as context:
        context.prec = 5
        counts = [
            lot_test(rule_set("AU-2009/233"), sample, **given).count_below_t1
            for sample in (hair_below, on_it)
        ]

    assert counts == [4, 0]


def _accepts(plan, first, second, nominal, shortage):
    """The reference test in plain fractions, without a root."""
    errors = [x - nominal for x in first[: plan.n_mean]]
    mean = sum(errors) / len(errors)
    square = sum((e - mean) ** 2 for e in errors) / max(len(errors) - 1, 1)
    below = sum(x < nominal - shortage for x in first)
    counts_ok = below <= plan.accept
    if plan.n_second is not None and plan.accept < below < plan.reject:
        counts_ok = below + sum(x < nominal - shortage for x in second) <= plan.accept_total
    if plan.t2_allowed is not None:
        counts_ok &= sum(x < nominal - 2 * shortage for x in first) <= plan.t2_allowed
    return counts_ok and (mean >= 0 or Fraction(plan.k) ** 2 * square >= mean**2)


@pytest.mark.parametrize("name", list(rule_sets()))
def test_contents_on_the_limits_and_in_thirds(name):
    """Samples full of contents exactly on, and 1E-25 below, label, T1 and T2, in fractions."""
    rng, rules, verdicts = np.random.default_rng(41), rule_set(name), []
    shares = np.array([10, 2, 0.3, 0.1, 4, 4]) / 20.4
    for lot in (2, 3, 11, 12, 13, 40, 80, 101, 250, 251, 400, 501, 3200, 3201, 4001):
        plan = find_plan(rules, lot_size=lot).plan
        if plan is None:
            continue
        nominal = D(rng.choice(["23", "140", "250", "49.9999999", "1000.0001", "333.33"]))
        t, q = Fraction(tolerable_shortage(rules, nominal, unit="g").t), Fraction(nominal)
        pool = [q, q - t, q - t - Fraction(1, 10**25), q - 2 * t, q + t / 3, q + t]
        first = [pool[i] for i in rng.choice(6, plan.n, p=shares)]
        second = [pool[i] for i in rng.choice(6, plan.n_second or 0, p=shares)]
        answer = lot_test(
            rules, first, nominal=nominal, unit="g", lot_size=lot, second_sample=second
        )
        verdicts.append((answer.verdict is LotOutcome.ACCEPTED, (plan, first, second, q, t)))

    assert verdicts
    assert all(said == _accepts(*case) for said, case in verdicts)


@pytest.mark.parametrize("density", ["0.79", "0.9982", "1.26", "13.5"])
@pytest.mark.parametrize("buoyancy", [True, False])
def test_volume_and_reading_are_each_others_inverse_to_the_last_digit(density, buoyancy):
    """A limit in millilitres on the scale and back is the same fraction, thirds included."""
    given = {"density_20_g_per_ml": D(density), "buoyancy": buoyancy}

    for volume in (Fraction(1, 3), Fraction(485), Fraction(10**9, 7)):
        there = reading_for_volume(volume, **given)
        assert content_volume(there, **given) == volume
