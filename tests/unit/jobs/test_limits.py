"""The weights that a job is held to, and how a weight is judged."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from workshop import job, known_rules

from fillwright.errors import BadInput
from fillwright.jobs.limits import (
    content_of,
    density_at,
    judge_weight,
    limits_of,
    own_plan_of,
    rules_of,
    supplied_of,
)
from fillwright.records.entities import OwnPlanFacts, Product, SuppliedShortageFacts


@pytest.fixture(scope="module")
def limits():
    """The limits of the usual job: 250 g, aim 252 g, EU rules."""
    return limits_of(job(), known_rules())


def test_the_legal_limits_of_250_g(limits):
    """From 200 to 300 g the tolerable shortage is 9 g: T1 is 241 g, T2 is 232 g.

    Directive 76/211/EEC, Annex I, 2.4 (from memory).
    """
    assert (limits.t1_g, limits.t2_g) == (Decimal("241.0"), Decimal("232.0"))
    assert (limits.t1_exact_g, limits.t2_exact_g) == (241, 232)
    assert limits.label_g == Decimal("250.0")


def test_the_band_is_rounded_inwards(limits):
    """252 g ± 1 % is 249.48 to 254.52: 249.5 to 254.5 in steps of 0.1 g."""
    assert (limits.band_low_g, limits.band_high_g) == (Decimal("249.5"), Decimal("254.5"))
    assert limits.aim_g == Decimal("252.0")


def test_a_volume_is_weighed_in_air():
    """250 mL at 20 °C of apparent density 0.985 weighs 246.25 g; T1 241 mL is 237.385 g.

    By hand: 241 x 0.985 = 237.385, shown rounded up as 237.4.
    """
    product = {"density_g_per_ml": Decimal("0.985"), "is_apparent": True, "product_c": Decimal(20)}
    facts = job(product=product, unit="mL", aim_g=Decimal(248))

    found = limits_of(facts, known_rules())

    assert found.label_g == Decimal("246.3")
    assert found.t1_exact_g == Fraction("237.385")
    assert found.t1_g == Decimal("237.4")
    # The brim is a limit of the jar, at product temperature: 280 x 0.985 = 275.8.
    assert found.brim_g == Decimal("275.8")


def test_a_true_density_is_corrected_for_buoyancy():
    """From a true density the scale shows less: by 0.0012 of each mL, and 0.00015 more in all.

    By hand: 241 mL x (0.985 - 0.0012) / (1 - 0.0012/8) = 237.1314 g (OIML R 87 gives air
    0.0012 g/mL and weights of 8.0 g/mL; from memory).
    """
    facts = job(
        product={"density_g_per_ml": Decimal("0.985"), "product_c": Decimal(20)},
        unit="mL",
        aim_g=Decimal(248),
    )

    exact = limits_of(facts, known_rules()).t1_exact_g

    assert float(exact) == pytest.approx(241 * (0.985 - 0.0012) / (1 - 0.0012 / 8.0), rel=1e-12)


def test_density_falls_in_a_straight_line():
    """1 % of growth in ten kelvins takes 1 % off the density."""
    product = Product(
        name="x", density_g_per_ml=Decimal("1.000"), expansion_per_k=Decimal("0.001")
    )

    assert density_at(product, Decimal(30)) == Fraction("0.99")
    assert density_at(product, Decimal(10)) == Fraction("1.01")


def test_a_mass_label_compares_the_weight_itself():
    """For grams on the label the net weight is the content, digit for digit."""
    assert content_of(job(), Decimal("241.00")) == Decimal("241.00")
    assert str(content_of(job(), Decimal("241.00"))) == "241.00"


@pytest.mark.parametrize(
    ("net", "state"),
    [
        ("252.0", "on"),
        ("249.5", "on"),
        ("249.4", "low"),
        ("254.5", "on"),
        ("254.6", "high"),
        ("241.0", "low"),
        ("240.9", "short"),
        ("232.0", "short"),
        ("231.9", "far-short"),
        ("0", "far-short"),
    ],
)
def test_a_weight_exactly_on_a_limit_is_not_beyond_it(limits, net, state):
    """On T1 is not short, on T2 is not far short, on the edge of the band is in it."""
    assert judge_weight(limits, Decimal(net)) == state


def test_exactly_full_is_not_overfull(limits):
    """The brim is a limit like the others: on it is not over it."""
    assert judge_weight(replace(limits, brim_exact_g=Fraction(260)), Decimal(260)) == "high"
    assert (
        judge_weight(replace(limits, brim_exact_g=Fraction(260)), Decimal("260.1")) == "overfull"
    )


def test_the_exact_limit_decides_not_the_shown_one():
    """A volume limit of 237.385 g is met by 237.39 g, though 237.4 g is shown."""
    facts = job(
        product={"density_g_per_ml": Decimal("0.985"), "is_apparent": True},
        scale={"readability_g": Decimal("0.01")},
        unit="mL",
        aim_g=Decimal(248),
    )
    found = limits_of(facts, known_rules())
    # 237.385 is T1 at 20 °C, exactly between two steps of the scale.
    assert judge_weight(found, Decimal("237.385")) == "low"
    assert judge_weight(found, Decimal("237.384")) == "short"


def test_without_a_tolerable_shortage_nothing_is_short():
    """Where the table has no value yet, no weight is called short: it is not evaluated."""
    found = limits_of(job(rules="US-HB133-A", unit="mL", plan=None), known_rules())

    assert (found.t1_g, found.t1_exact_g, found.t2_g) == (None, None, None)
    assert judge_weight(found, Decimal(100)) == "low"


def test_a_rule_set_that_is_not_there():
    """The rule sets that are there are named."""
    with pytest.raises(BadInput, match=r"no rule set 'house'.*EU-76/211") as caught:
        rules_of(known_rules(), "house")

    assert (caught.value.code, caught.value.field) == ("choice", "rules")


def test_what_the_user_took_from_a_document():
    """A plan and a shortage of the user's own keep their figures exactly."""
    assert (own_plan_of(job()), supplied_of(job())) == (None, None)
    own = OwnPlanFacts(
        n=20, k=Decimal("0.640"), acceptance_number=1, t2_allowed=0, source="an invented page"
    )
    given = SuppliedShortageFacts(value_label_unit=Decimal("9.10"), edition="invented", page="7")

    plan, shortage = own_plan_of(job(own_plan=own)), supplied_of(job(supplied_shortage=given))

    assert (plan.n, plan.k, plan.acceptance_number, plan.t2_allowed) == (
        20,
        Decimal("0.640"),
        1,
        0,
    )
    assert (str(shortage.value), shortage.edition, shortage.page) == ("9.10", "invented", "7")


def test_limits_of_one_set_of_facts_are_worked_out_once():
    """Asked again for the same facts and rules, the very same limits come back."""
    assert limits_of(job(), known_rules()) is limits_of(job(), known_rules())
    assert limits_of(job(aim_g=Decimal(253)), known_rules()).aim_g == Decimal("253.0")
