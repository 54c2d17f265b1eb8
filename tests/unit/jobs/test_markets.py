"""One run labelled for two markets, and lots under the smallest plan."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal

import pytest
from tests.fakes.workshop import Workshop, job, known_rules

from fillwright.errors import BadInput
from fillwright.jobs.limits import judge_weight, limits_of
from fillwright.jobs.papers import batch_record
from fillwright.jobs.release.aiming import market_aims, propose_aim
from fillwright.jobs.release.lot import judge_in
from fillwright.jobs.release.markets import SMALL_LOT, check_second, markets_of, small_lot_words
from fillwright.report.batch_words import batch_blocks
from fillwright.report.blocks import Pictures

BOTH = {"second_rules": "US-HB133-A"}


def test_the_stricter_aim_of_two_markets_is_used():
    """Each market has its own aim; the job gets the higher one and says both."""
    shop = Workshop(job(**BOTH))

    one, other = market_aims(shop.desk, shop.facts)
    aim = propose_aim(shop.desk, shop.facts)

    assert (one.rules, other.rules) == ("EU-76/211", "US-HB133-A")
    assert aim.aim_g == max(one.aim_g, other.aim_g)
    assert aim.markets == (one, other)
    assert "EU-76/211" in aim.because
    assert "US-HB133-A" in aim.because


def test_the_weights_of_two_markets_are_the_stricter_of_both():
    """250 g: T is 9 g in one and 12.7 g in the other, so T1 is 241 g; T2 is that of the first."""
    facts = job(**BOTH)

    limits = limits_of(facts, known_rules())

    assert [(m.rules, m.t1_g, m.t2_g) for m in limits.markets] == [
        ("EU-76/211", Decimal("241.0"), Decimal("232.0")),
        ("US-HB133-A", Decimal("237.3"), None),
    ]
    assert (limits.t1_g, limits.t2_g) == (Decimal("241.0"), Decimal("232.0"))
    assert judge_weight(limits, Decimal("240.9")) == "short"


def test_the_order_of_the_markets_does_not_change_a_weight():
    """Whichever market is named first, the same weights are short."""
    first = limits_of(job(**BOTH), known_rules())
    turned = limits_of(job(rules="US-HB133-A", second_rules="EU-76/211", plan=None), known_rules())

    assert (first.t1_g, first.t2_g) == (turned.t1_g, turned.t2_g)


def test_the_same_market_twice_is_refused():
    """A second market that is the first again says nothing."""
    shop = Workshop()

    with pytest.raises(BadInput, match="as the first"):
        check_second(shop.desk, replace(shop.facts, second_rules="EU-76/211"))


@pytest.mark.parametrize(
    ("rules", "plan", "size", "is_small", "words"),
    [
        ("EU-76/211", "double", 99, True, SMALL_LOT),
        ("EU-76/211", "double", 100, False, ""),
        ("AU-2009/233", None, 1, True, SMALL_LOT),
        ("UK-2006/659", "single", 99, False, "tests every one"),
        ("NZ-1999/373-7A", None, 12, False, "tests every one"),
        ("NZ-1999/373-7A", None, 1, True, SMALL_LOT),
        ("OIML-R87-2016", None, 100, True, SMALL_LOT),
        ("US-HB133-A", None, 1, False, "tests every one"),
        ("US-HB133-A", None, 13, False, ""),
    ],
)
def test_a_lot_without_a_plan_gets_our_own_rule(rules, plan, size, is_small, words):
    """The rule set's own census goes first; where it has none, our stricter rule is named."""
    shop = Workshop()
    facts = replace(shop.facts, rules=rules, plan=plan, lot_size=size)

    [market] = markets_of(shop.desk, facts)

    assert market.is_small is is_small
    if is_small:
        assert (market.own_plan.n, market.own_plan.k) == (size, 0)
        assert (market.own_plan.acceptance_number, market.own_plan.t2_allowed) == (0, 0)
    assert words in small_lot_words(shop.desk, facts)
    assert bool(words) == bool(small_lot_words(shop.desk, facts))


@pytest.mark.parametrize("plan", ["double", "own"])
def test_a_plan_that_the_rules_do_not_know_is_said_where_the_lot_is_judged(plan):
    """Match and the aim go on without it; nothing is called a small lot for its sake."""
    shop = Workshop()
    facts = replace(shop.facts, rules="AU-2009/233", plan=plan)

    assert small_lot_words(shop.desk, facts) == ""
    assert propose_aim(shop.desk, facts).binding == "none"


@pytest.mark.parametrize(
    ("nets", "verdict"),
    [
        (["252.0"] * 12, "accepted"),
        (["250.0"] * 12, "accepted"),
        (["249.9"] + ["250.0"] * 11, "rejected"),
        (["240.9"] + ["252.0"] * 11, "rejected"),
        (["241.0"] + ["252.0"] * 11, "accepted"),
    ],
)
def test_our_own_rule_allows_no_short_one_and_no_low_average(nets, verdict):
    """By hand: T1 is 241 g; an average 8 mg below 250 g is turned down, no k s in its favour."""
    shop = Workshop()
    facts = replace(shop.facts, lot_size=12)
    [market] = markets_of(shop.desk, facts)

    found = judge_in(market, facts, 12, [Decimal(net) for net in nets])

    assert found.verdict.verdict.value == verdict
    assert (found.used, found.wanted) == (12, 12)


def test_the_batch_record_shows_both_markets():
    """Verdict, rules and calculation stand for each; the limits of each alone too."""
    shop = Workshop(job(rules="UK-2006/659", plan=None, second_rules="US-HB133-A")).to_judged()

    sheet = batch_record(shop.desk, shop.state)
    text = json.dumps(batch_blocks(sheet, Pictures()))

    assert (sheet.lot.rules, sheet.other_lot.rules) == ("UK-2006/659", "US-HB133-A")
    assert "The other market: Lot test passed." in text
    assert "Under UK-2006/659:" in text
    assert "Under US-HB133-A:" in text
    assert [line.name for line in sheet.limits].count("T1 alone") == 2
