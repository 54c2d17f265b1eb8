"""The target fill: what binds, and what each constraint would cost."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.knowledge.load import rule_set
from fillwright.science.quantity import (
    Constraint,
    Method,
    OwnPlan,
    PlanNumbers,
    SuppliedShortage,
    acceptance_chance,
    sd_upper_factor,
    share_for_lot,
    target_fill,
)

D = Decimal
# z(0.95), z(0.975), z(0.9999): tables of the normal law
Z95, Z975, Z9999 = 1.644854, 1.959964, 3.719016


def aim(rules="EU-76/211", **more):
    """Ask for the target of a 100 g label: T = 4.5 g."""
    given = {"nominal": D(100), "unit": "g", "sd_within": 1.0, **more}
    return target_fill(rule_set(rules), **given)


def test_a_steady_fine_filler_aims_at_the_label():
    """Small scatter: nothing but the average binds, and it binds at the label."""
    answer = aim(sd_within=0.5, lot_size=1000)

    assert (answer.target, answer.giveaway) == (100.0, 0.0)
    assert answer.binding is Constraint.AVERAGE
    assert answer.components.reference_test < 100
    assert answer.saving_per_sd == 0.0


def test_each_constraint_by_its_own_formula():
    """Qn + z u; Qn - T + z σ_tot; Qn - 2T + z σ_tot, with σ_tot = √(1.2² + 0.9²) = 1.5."""
    answer = aim(sd_within=1.2, sd_between_lots=0.9, u_bias=0.2)

    assert answer.components.average == pytest.approx(100 + Z95 * 0.2, abs=1e-6)
    assert answer.components.t1_fraction == pytest.approx(95.5 + Z975 * 1.5, abs=1e-5)
    assert answer.components.t2_fraction == pytest.approx(91 + Z9999 * 1.5, abs=1e-5)
    assert answer.components.reference_test is None
    assert "No lot size was given" in answer.assumptions[1]


def test_wide_scatter_makes_the_short_packages_bind():
    """σ = 3: 95.5 + 1.96 x 3 = 101.38, and a unit of σ costs 1.96 g."""
    answer = aim(sd_within=3.0, p2_max=0.01)

    assert answer.binding is Constraint.T1_FRACTION
    assert answer.giveaway == pytest.approx(1.37989, abs=1e-4)
    assert answer.saving_per_sd == pytest.approx(Z975, abs=1e-4)
    assert answer.because.startswith("The share of packages below T1 sets the target: 101.38 g")


def test_the_far_short_packages_may_bind():
    """σ = 3: 91 + 3.719 x 3 = 102.157 with the rule set's own shares."""
    answer = aim(sd_within=3.0)

    assert answer.binding is Constraint.T2_FRACTION
    assert answer.target == pytest.approx(102.157, abs=5e-4)


def test_drift_makes_the_reference_test_bind():
    """Lots that wander by half a standard deviation: n = 50 needs 0.835 σ (quantity tables)."""
    answer = aim("AU-2009/233", sd_within=1.0, sd_between_lots=0.5, lot_size=300)

    assert answer.binding is Constraint.REFERENCE_TEST
    assert answer.giveaway == pytest.approx(0.835, abs=5e-4)


def test_us_rules_ask_for_no_shares_unless_told():
    """(c) and (d) are off; the user may turn them on."""
    off = aim("US-HB133-A", lot_size=100)
    on = aim("US-HB133-A", lot_size=100, p1_max=0.025)

    assert (off.components.t1_fraction, off.components.t2_fraction) == (None, None)
    assert on.components.t1_fraction is not None
    assert "No limit on the share of packages below T2 was asked for." in on.assumptions


def test_an_estimated_deviation_is_taken_at_its_upper_limit():
    """Twenty doses at 95 %: factor 1.370 (√(19/χ²(0.05; 19)) = √(19/10.117))."""
    answer = aim(sd_within=2.0, sd_estimated_from_n=20)

    assert answer.sd_factor == pytest.approx((19 / 10.117) ** 0.5, rel=1e-4)
    assert answer.sd_within_used == pytest.approx(2.740, abs=1e-3)
    assert answer.giveaway_if_sd_known == 0.0
    assert answer.giveaway == pytest.approx(91 + Z9999 * 2.7408 - 100, abs=1e-3)
    assert "The deviation within a lot is taken at its upper limit." in answer.assumptions


def test_the_target_keeps_its_promise_in_the_whole_test():
    """At the target the true chance is 99 % or a little more, within the product's small error."""
    rules = rule_set("EU-76/211")
    answer = aim(sd_within=2.2, sd_between_lots=0.3, lot_size=300, p2_max=0.5, p1_max=0.5)
    chance = acceptance_chance(
        rules,
        nominal=D(100),
        unit="g",
        lot_size=300,
        process_mean=answer.target,
        sd_within=2.2,
        sd_between_lots=0.3,
        rng=np.random.default_rng(20),
        method=Method.CONDITIONING,
    )

    assert answer.binding is Constraint.REFERENCE_TEST
    assert 0.99 - 1e-6 <= chance.p_accept <= 0.9905


def test_inspectors_see_the_scatter_of_the_tare():
    """Tare scatter moves the reference test, not the true shares."""
    bare = aim("AU-2009/233", sd_within=2.0, lot_size=300)
    tared = aim("AU-2009/233", sd_within=2.0, sd_tare=1.0, lot_size=300)

    assert tared.components.reference_test > bare.components.reference_test
    assert tared.components.t1_fraction == bare.components.t1_fraction


def test_a_filler_without_scatter_needs_no_margin():
    """σ = 0: every figure is at the label or below."""
    answer = aim(sd_within=0.0, lot_size=300)

    assert answer.target == 100.0
    assert answer.components.reference_test == 100.0
    assert answer.saving_per_sd == 0.0


def test_lots_that_wander_without_scatter():
    """σ = 0, σ_b = 1: the mean itself must reach the label 99 times in 100: z = 2.326."""
    answer = aim(sd_within=0.0, sd_between_lots=1.0, lot_size=300)

    assert answer.components.reference_test == pytest.approx(102.326, abs=0.01)


def test_a_lot_without_a_plan_leaves_the_test_out():
    """The reason is among the assumptions."""
    answer = aim("AU-2009/233", lot_size=50)

    assert (answer.components.reference_test, answer.plan_row) == (None, None)
    assert "The reference test is left out: The table of plans starts at" in answer.assumptions[1]


def test_other_sources_of_shortage_and_plan():
    """T by hand, from the document, and a plan of the user's own."""
    by_hand = aim(t=D(2))
    page = SuppliedShortage(value=D(2), edition="2020", page="A-20")
    supplied = aim("US-HB133-A", unit="mL", supplied=page)
    own = aim(lot_size=90, own_plan=OwnPlan(n=30, k=D("0.5"), acceptance_number=9))

    assert (by_hand.shortage, supplied.shortage) == (2.0, 2.0)
    assert own.plan_row == "own plan"


@pytest.mark.parametrize(
    ("more", "code", "match"),
    [
        ({"sd_within": -1.0}, "range", "sd_within: -1.0 is below 0"),
        ({"sd_within": float("nan")}, "not-finite", "sd_within: nan is not finite"),
        ({"alpha": 1.0}, "range", "alpha: 1.0 is not between 0 and 1"),
        ({"p1_max": 0.0}, "range", "p1_max: 0.0 is not between"),
        ({"sd_estimated_from_n": 1}, "range", "sd_estimated_from_n: 1 is too small"),
        ({"nominal": D(3)}, "not-available", "covers from 5"),
        ({"t": D(2), "unit": "oz"}, "unit", "'oz' is not a unit"),
        (
            {"lot_size": 300, "plan_numbers": PlanNumbers(n=2, n_mean=2, k=D(1), ac=0)},
            "inconsistent",
            "give one of them",
        ),
    ],
)
def test_bad_figures_are_refused(more, code, match):
    """Each with its field and what would do."""
    with pytest.raises(BadInput, match=match) as error:
        aim(**more)

    assert error.value.code == code


def test_share_for_a_whole_lot():
    """1 - (1 - 0.05)^(1/500) = 1.0258e-4; 500 such packages are all fine 95 times in 100."""
    share = share_for_lot(0.05, lot_size=500)

    assert share == pytest.approx(1.0258e-4, rel=1e-4)
    assert (1 - share) ** 500 == pytest.approx(0.95)


def test_upper_factor_comes_down_with_more_doses():
    """More doses, less to pay."""
    factors = [sd_upper_factor(n, confidence=0.95) for n in (5, 10, 50, 500)]

    assert factors == sorted(factors, reverse=True)
    assert all(factor > 1 for factor in factors)


def test_a_large_factor_lets_the_test_accept_below_the_label():
    """Two packages and k = 8.985: the test alone would let the mean lie below the label.

    P(accept at the label) = 0.975 by design, so 90 % is reached below it; the target stays at it.
    """
    answer = aim("US-HB133-A", lot_size=2, alpha=0.1, t=D(10))

    assert answer.components.reference_test < 99
    assert (answer.target, answer.binding) == (100.0, Constraint.AVERAGE)


def test_a_count_that_allows_everything_leaves_the_mean_alone():
    """An acceptance number of the whole sample never rejects."""
    lenient = PlanNumbers(n=5, n_mean=5, k=D("0.5"), ac=5)
    strict = PlanNumbers(n=5, n_mean=5, k=D("0.5"), ac=0)
    answers = [aim(sd_within=3.0, plan_numbers=numbers) for numbers in (lenient, strict)]

    assert answers[0].components.reference_test < answers[1].components.reference_test
