"""What holds for every lot: scale, order, one and many, exact limits."""

from __future__ import annotations

from dataclasses import fields, replace
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fillwright.knowledge.load import rule_set, rule_sets
from fillwright.science.quantity import (
    LotOutcome,
    SuppliedShortage,
    content_volume,
    decide_lots,
    find_plan,
    lot_test,
    reading_for_volume,
    target_fill,
    tolerable_shortage,
)

D = Decimal
NAMES = st.sampled_from([name for name in rule_sets() if name != "OIML-R87-2016"])
SEEDS = st.integers(min_value=0, max_value=2**32 - 1)
LOTS = st.integers(min_value=101, max_value=6000)
NOMINALS = st.decimals(min_value=5, max_value=10_000, places=2)


def draw(seed, n, nominal, shortage, *, offset=0.0):
    """Return n contents in steps of 0.01, some of them near the limits."""
    rng = np.random.default_rng(seed)
    values = rng.normal(float(nominal) + offset, max(float(shortage) / 2.2, 0.02), n)
    return [D(round(value * 100)).scaleb(-2) for value in values]


@given(name=NAMES, seed=SEEDS, lot=LOTS, nominal=NOMINALS)
@settings(max_examples=60)
def test_one_lot_equals_the_same_lot_among_many(name, seed, lot, nominal):
    """The verdict on a list is the verdict on its row of divisions, second sample included."""
    rules = rule_set(name)
    shortage = tolerable_shortage(rules, nominal, unit="g").t
    plan = find_plan(rules, lot_size=lot).plan
    drawn = draw(seed, plan.n + (plan.n_second or 0), nominal, shortage)
    first, second = drawn[: plan.n], drawn[plan.n :]
    if len(drawn) > lot:
        second = second[: lot - plan.n]
    one = lot_test(rules, first, nominal=nominal, unit="g", lot_size=lot, second_sample=second)
    rows = [[int((value - nominal) * 100) for value in drawn]] * 2
    errors = np.array(rows)
    many = decide_lots(
        rules,
        errors[:, : plan.n],
        division=D("0.01"),
        nominal=nominal,
        unit="g",
        lot_size=lot,
        second_errors=errors[:, plan.n :] if plan.n_second else None,
    )

    assert bool(many.accepted[1]) == (one.verdict is LotOutcome.ACCEPTED)
    assert bool(many.rejected[1]) == (one.verdict is LotOutcome.REJECTED)
    assert int(many.count_below_t1[1]) == one.count_below_t1
    assert bool(many.mean_ok[1]) == one.mean_ok


@given(name=NAMES, seed=SEEDS, lot=LOTS, nominal=NOMINALS)
@settings(max_examples=60)
def test_the_decision_is_that_of_plain_fractions(name, seed, lot, nominal):
    """A slow reading of the rule in fractions gives the same answers."""
    rules = rule_set(name)
    answer_t = tolerable_shortage(rules, nominal, unit="g").t
    plan = find_plan(rules, lot_size=lot).plan
    sample = draw(seed, plan.n, nominal, answer_t)
    answer = lot_test(rules, sample, nominal=nominal, unit="g", lot_size=lot)

    label, t = Fraction(nominal), Fraction(answer_t)
    contents = [Fraction(value) for value in sample]
    averaged = contents[: plan.n_mean]
    mean = sum(averaged) / len(averaged)
    variance = sum((x - mean) ** 2 for x in averaged) / (len(averaged) - 1)
    mean_ok = mean >= label or Fraction(plan.k) ** 2 * variance >= (mean - label) ** 2

    assert answer.mean_ok is mean_ok
    assert answer.count_below_t1 == sum(x < label - t for x in contents)
    assert answer.count_below_t2 == sum(x < label - 2 * t for x in contents)


@given(seed=SEEDS, factor=st.sampled_from(["0.5", "2", "3", "0.1"]))
@settings(max_examples=30)
def test_the_verdict_does_not_depend_on_the_unit_of_weight(seed, factor):
    """All weights times a factor, the shortage with them: same verdict, same counts."""
    scale = D(factor)
    verdicts = []
    for by in (D(1), scale):
        page = SuppliedShortage(value=D(20) * by, edition="invented", page="1")
        sample = [value * by for value in draw(seed, 12, D(500), D(20), offset=-2)]
        answer = lot_test(
            rule_set("US-HB133-A"),
            sample,
            nominal=D(500) * by,
            unit="mL",
            lot_size=100,
            supplied=page,
        )
        verdicts.append((answer.verdict, answer.count_beyond_mav, answer.mean_ok))

    assert verdicts[0] == verdicts[1]


@given(name=NAMES, seed=SEEDS, lot=LOTS, more=st.sampled_from(["0.01", "1", "50"]))
@settings(max_examples=40)
def test_filling_every_package_by_the_same_more_never_harms(name, seed, lot, more):
    """A lot that is accepted is accepted with more in every package."""
    rules = rule_set(name)
    plan = find_plan(rules, lot_size=lot).plan
    sample = draw(seed, plan.n, D(500), D(15), offset=-1)
    richer = [value + D(more) for value in sample]
    before, after = (
        lot_test(rules, values, nominal=D(500), unit="g", lot_size=lot)
        for values in (sample, richer)
    )

    assert after.count_below_t1 <= before.count_below_t1
    assert after.mean_ok or not before.mean_ok
    if before.verdict is LotOutcome.ACCEPTED:
        assert after.verdict is LotOutcome.ACCEPTED


@given(name=NAMES, seed=SEEDS, lot=LOTS)
@settings(max_examples=40)
def test_order_matters_only_to_the_mean_of_a_part(name, seed, lot):
    """Shuffled within the averaged part and within the rest, nothing changes."""
    rules = rule_set(name)
    plan = find_plan(rules, lot_size=lot).plan
    sample = draw(seed, plan.n, D(500), D(15))
    shuffle = np.random.default_rng(seed).permutation
    part = [sample[i] for i in shuffle(plan.n_mean)]
    rest = [sample[plan.n_mean + i] for i in shuffle(plan.n - plan.n_mean)]
    turned = sample[::-1]
    answers = [
        lot_test(rules, values, nominal=D(500), unit="g", lot_size=lot)
        for values in (sample, part + rest, turned)
    ]

    assert answers[0] == answers[1]
    assert answers[0].count_below_t1 == answers[2].count_below_t1
    if plan.n_mean == plan.n:
        assert answers[0] == answers[2]


@given(name=NAMES, nominal=NOMINALS, places=st.integers(min_value=0, max_value=12))
@settings(max_examples=60)
def test_a_content_on_a_limit_is_not_short_and_one_step_below_is(name, nominal, places):
    """Whatever the label, x = Qn - T is not counted and x = Qn - T - 10^-places is; so is 2T."""
    rules = rule_set(name)
    shortage = tolerable_shortage(rules, nominal, unit="g")
    step = D(1).scaleb(-places)
    for limit, count in (
        (shortage.t1_limit, "count_below_t1"),
        (shortage.t2_limit, "count_below_t2"),
    ):
        for content, counted in ((limit, 0), (limit - step, 1)):
            answer = lot_test(rules, [content], nominal=nominal, unit="g", lot_size=5000)

            assert getattr(answer, count) == counted


@pytest.mark.parametrize("name", list(rule_sets()))
@given(one=NOMINALS, other=NOMINALS)
@settings(max_examples=40)
def test_a_larger_label_never_allows_a_smaller_shortage(name, one, other):
    """The shortage rises with the label, except where the US table turns to a percentage."""
    rules = rule_set(name)
    low, high = sorted((one, other))
    small, large = (tolerable_shortage(rules, nominal, unit="g").t for nominal in (low, high))

    assert small <= large


@given(nominal=NOMINALS, name=NAMES)
@settings(max_examples=60)
def test_rounding_up_adds_less_than_a_step(nominal, name):
    """T is T_raw or less than one step above it."""
    answer = tolerable_shortage(rule_set(name), nominal, unit="g")

    assert answer.t_raw <= answer.t
    assert answer.t - answer.t_raw < (answer.rounding_step or D("1E-9"))


@given(
    volume=st.decimals(min_value=0, max_value=50_000, places=3),
    density=st.decimals(min_value="0.5", max_value=20, places=5),
    buoyancy=st.booleans(),
)
def test_volume_and_reading_are_exact_inverses(volume, density, buoyancy):
    """There and back again without loss."""
    reading = reading_for_volume(volume, density_20_g_per_ml=density, buoyancy=buoyancy)

    assert content_volume(reading, density_20_g_per_ml=density, buoyancy=buoyancy) == volume


@given(
    sd=st.floats(min_value=0.1, max_value=6),
    more=st.floats(min_value=0.01, max_value=2),
    drift=st.floats(min_value=0, max_value=2),
    name=st.sampled_from(["EU-76/211", "UK-2006/659", "AU-2009/233", "US-HB133-A"]),
)
@settings(max_examples=12)
def test_the_target_is_never_below_the_label_and_rises_with_scatter(sd, more, drift, name):
    """More scatter never lowers a target; the target is the highest of its constraints."""
    low, high = (
        target_fill(
            rule_set(name),
            nominal=D(250),
            unit="g",
            sd_within=deviation,
            sd_between_lots=drift,
            lot_size=1000,
        )
        for deviation in (sd, sd + more)
    )
    parts = [getattr(low.components, field.name) for field in fields(low.components)]

    assert low.target == max(250.0, *(part for part in parts if part is not None))
    # a little more scatter buys a little benefit of the doubt where drift alone binds
    assert high.target >= low.target - 0.6 * more


@given(seed=SEEDS)
@settings(max_examples=20)
def test_a_census_is_the_whole_lot(seed):
    """A UK batch below 100 counts every package, and its mean has no benefit of the doubt."""
    lot = 20 + seed % 80
    sample = draw(seed, lot, D(500), D(15), offset=1)
    answer = lot_test(rule_set("UK-2006/659"), sample, nominal=D(500), unit="g", lot_size=lot)
    mean_ok = sum(sample) >= lot * 500
    short = sum(value < 485 for value in sample)

    assert (answer.required_n, answer.mean_ok, answer.count_below_t1) == (lot, mean_ok, short)
    assert (answer.verdict is LotOutcome.ACCEPTED) == (mean_ok and short * 20 <= lot)


def test_verdicts_can_be_compared_and_changed_only_by_making_new_ones():
    """Verdicts are frozen records with equality."""
    answer = lot_test(rule_set("EU-76/211"), [], nominal=D(500), unit="g", lot_size=300)

    assert replace(answer) == answer
    with pytest.raises(AttributeError, match="cannot assign"):
        answer.verdict = LotOutcome.ACCEPTED
