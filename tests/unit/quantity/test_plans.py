"""Which sample is drawn from a lot."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fillwright.errors import BadInput
from fillwright.knowledge.load import rule_set, rule_sets
from fillwright.knowledge.types import PlanKind
from fillwright.science.quantity.plans import (
    OwnPlan,
    PlanNumbers,
    find_plan,
    plan_from_numbers,
)

OWN = OwnPlan(n=35, k=Decimal("0.450"), acceptance_number=2)


@pytest.mark.parametrize(
    ("rules", "plan", "lot", "figures"),
    [
        # n, n_mean, k, accept, reject, n_second, accept_total, reject_total
        ("EU-76/211", None, 100, (30, 30, "0.503", 1, 3, 30, 4, 5)),
        ("EU-76/211", "double", 500, (30, 30, "0.503", 1, 3, 30, 4, 5)),
        ("EU-76/211", None, 501, (50, 50, "0.379", 2, 5, 50, 6, 7)),
        ("EU-76/211", None, 3200, (50, 50, "0.379", 2, 5, 50, 6, 7)),
        ("EU-76/211", None, 3201, (80, 50, "0.379", 3, 7, 80, 8, 9)),
        ("EU-76/211", "destructive", 100, (20, 20, "0.640", 1, 2, None, None, None)),
        ("UK-2006/659", None, 100, (50, 30, "0.503", 3, 4, None, None, None)),
        ("UK-2006/659", "single", 501, (80, 50, "0.379", 5, 6, None, None, None)),
        ("UK-2006/659", None, 3201, (125, 50, "0.379", 7, 8, None, None, None)),
        ("UK-2006/659", "double", 3201, (80, 50, "0.379", 3, 7, 80, 8, 9)),
        ("UK-2006/659", None, 99, (99, 99, "0", 4, 5, None, None, None)),
        ("UK-2006/659", "double", 20, (20, 20, "0", 1, 2, None, None, None)),
        ("UK-2006/659", "census", 19, (19, 19, "0", 0, 1, None, None, None)),
        ("OIML-R87-2004", None, 100, (50, 50, "0.379", 3, 4, None, None, None)),
        ("OIML-R87-2016", None, 101, (50, 50, "0.379", 3, 4, None, None, None)),
        ("OIML-R87-2016", None, 501, (80, 80, "0.295", 5, 6, None, None, None)),
        ("AU-2009/233", None, 3201, (125, 125, "0.234", 7, 8, None, None, None)),
        ("NZ-1999/373-7A", None, 2, (2, 2, "0", 0, 1, None, None, None)),
        ("NZ-1999/373-7A", None, 13, (12, 12, "0.746", 0, 1, None, None, None)),
        ("NZ-1999/373-7A", None, 40, (12, 12, "0.826", 1, 2, None, None, None)),
        ("NZ-1999/373-7A", None, 149, (12, 12, "0.860", 2, 3, None, None, None)),
        ("NZ-1999/373-7A", None, 399, (32, 32, "0.465", 3, 4, None, None, None)),
        ("NZ-1999/373-7A", None, 4000, (32, 32, "0.483", 4, 5, None, None, None)),
        ("NZ-1999/373-7A", None, 4001, (80, 80, "0.295", 6, 7, None, None, None)),
        ("US-HB133-A", None, 2, (2, 2, "8.985", 0, 1, None, None, None)),
        ("US-HB133-A", None, 11, (11, 11, "0.672", 0, 1, None, None, None)),
        ("US-HB133-A", None, 12, (12, 12, "0.635", 0, 1, None, None, None)),
        ("US-HB133-A", None, 251, (24, 24, "0.422", 0, 1, None, None, None)),
        ("US-HB133-A", None, 3201, (48, 48, "0.291", 1, 2, None, None, None)),
    ],
)
def test_plan_of_a_lot(rules, plan, lot, figures):
    """Every row of every table stands where its lots begin and end."""
    found = find_plan(rule_set(rules), lot_size=lot, plan=plan).plan

    assert found is not None
    assert figures == (
        found.n,
        found.n_mean,
        str(found.k),
        found.accept,
        found.reject,
        found.n_second,
        found.accept_total,
        found.reject_total,
    )


def test_a_us_lot_of_one_has_no_count_and_no_factor():
    """One package is judged on the average only."""
    found = find_plan(rule_set("US-HB133-A"), lot_size=1).plan

    assert found is not None
    assert (found.n, found.accept, found.reject, found.k_printed) == (1, None, None, False)


@pytest.mark.parametrize(
    ("rules", "plan", "lot", "words"),
    [
        ("EU-76/211", None, 99, "Below 100 the non-destructive test"),
        ("EU-76/211", "destructive", 99, "destructive tests are not made"),
        ("EU-76/211", "census", 300, "has no census plan for a lot of 300"),
        ("UK-2006/659", "destructive", 99, "there is no destructive plan"),
        ("OIML-R87-2004", None, 99, "start at a lot of 100"),
        ("OIML-R87-2016", None, 99, "Edition 2016 has a plan for this lot size"),
        ("OIML-R87-2016", None, 100, "a lot of exactly 100"),
        ("AU-2009/233", None, 99, "starts at a lot of 100"),
        ("NZ-1999/373-7A", None, 1, "starts at a lot of 2"),
    ],
)
def test_lots_without_a_plan_say_why(rules, plan, lot, words):
    """No plan is guessed; the answer says what to do."""
    found = find_plan(rule_set(rules), lot_size=lot, plan=plan)

    assert found.plan is None
    assert words in found.because


def test_t2_is_part_of_the_test_only_where_the_rules_say_so():
    """OIML and Australia test T2; EU, UK, US and NZ do not."""
    tested = {
        name: find_plan(rules, lot_size=5000).plan.t2_allowed
        for name, rules in rule_sets().items()
    }

    assert tested == {
        "AU-2009/233": 0,
        "EU-76/211": None,
        "NZ-1999/373-7A": None,
        "OIML-R87-2004": 0,
        "OIML-R87-2016": 0,
        "UK-2006/659": None,
        "US-HB133-A": None,
    }


@pytest.mark.parametrize("plan", [None, "own"])
def test_a_plan_typed_from_a_document_is_taken(plan):
    """The user's figures become the plan, and the answer says that they are the user's."""
    found = find_plan(rule_set("OIML-R87-2016"), lot_size=70, plan=plan, own_plan=OWN)

    assert found.plan is not None
    assert (found.plan.kind, found.plan.n, found.plan.n_mean) == (PlanKind.OWN, 35, 35)
    assert (found.plan.accept, found.plan.reject, found.plan.t2_allowed) == (2, 3, 0)
    assert "typed in by the user" in found.notes[0]


def test_an_own_plan_has_no_t2_limit_where_the_rules_have_none():
    """The US rules know no second limit, whatever is typed."""
    found = find_plan(rule_set("US-HB133-A"), lot_size=70, own_plan=OWN)

    assert found.plan is not None
    assert found.plan.t2_allowed is None


@pytest.mark.parametrize(
    ("arguments", "code", "match"),
    [
        ({"lot_size": 0}, "range", "lot_size: 0 is too small; give 1 or more"),
        ({"lot_size": 10.5}, "type", "lot_size: 10.5 is not a whole number"),
        ({"lot_size": True}, "type", "lot_size: True is not a whole number"),
        ({"lot_size": 300, "plan": "triple"}, "choice", "no plan 'triple'; choose one of double"),
        ({"lot_size": 300, "plan": "single"}, "choice", "no plan 'single'"),
        ({"lot_size": 300, "plan": "own"}, "missing", "own_plan: the figures are missing"),
        (
            {"lot_size": 300, "plan": "double", "own_plan": OWN},
            "inconsistent",
            "the plan named is double; name the plan own",
        ),
        ({"lot_size": 30, "own_plan": OWN}, "inconsistent", "n is 35, but the lot has 30"),
        (
            {"lot_size": 30, "own_plan": OwnPlan(n=1, k=Decimal(1), acceptance_number=0)},
            "range",
            "own_plan n: 1 is too small",
        ),
        (
            {"lot_size": 30, "own_plan": OwnPlan(n=9, k=Decimal(-1), acceptance_number=0)},
            "range",
            "own_plan k: -1 is below zero",
        ),
    ],
)
def test_bad_plans_are_refused(arguments, code, match):
    """A plan that does not exist or contradicts itself is refused with a sentence."""
    with pytest.raises(BadInput, match=match) as error:
        find_plan(rule_set("EU-76/211"), **arguments)

    assert error.value.code == code


def test_a_plan_by_its_figures_fills_in_what_is_left_out():
    """Rejection is one above acceptance; a second sample is as large as the first."""
    single = plan_from_numbers(PlanNumbers(n=50, n_mean=30, k=Decimal("0.503"), ac=3))
    double = plan_from_numbers(PlanNumbers(n=30, n_mean=30, k=Decimal("0.503"), ac=1, re=3, ac2=4))

    assert (single.reject, single.n_second, single.kind) == (4, None, PlanKind.OWN)
    assert (double.n_second, double.reject_total, double.kind) == (30, 5, PlanKind.DOUBLE)


@pytest.mark.parametrize(
    ("numbers", "match"),
    [
        (PlanNumbers(n=5, n_mean=6, k=Decimal(1), ac=0), "n_mean is above n"),
        (PlanNumbers(n=5, n_mean=5, k=Decimal(1), ac=1, re=1), "re is not above ac"),
        (PlanNumbers(n=5, n_mean=5, k=Decimal(1), ac=1, re=3), "but ac2 is missing"),
        (PlanNumbers(n=0, n_mean=0, k=Decimal(1), ac=1), "plan_numbers n: 0 is too small"),
    ],
)
def test_figures_that_contradict_each_other_are_refused(numbers, match):
    """A plan by its figures must be a plan."""
    with pytest.raises(BadInput, match=match):
        plan_from_numbers(numbers)
