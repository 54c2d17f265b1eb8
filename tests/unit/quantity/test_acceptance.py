"""The chance of acceptance by its several ways."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.knowledge.load import rule_set
from fillwright.science.quantity import Method, OwnPlan, acceptance_chance

D = Decimal


def chance(rules="EU-76/211", **more):
    """Ask for a 100 g label (T = 4.5 g) at its label with a deviation of 2.5 g."""
    given = {
        "nominal": D(100),
        "unit": "g",
        "lot_size": 300,
        "process_mean": 100.0,
        "sd_within": 2.5,
        "rng": np.random.default_rng(7),
        **more,
    }
    return acceptance_chance(rule_set(rules), **given)


def test_the_best_way_is_chosen():
    """Exact where the bounds meet, conditioning on a whole sample, failures on a part."""
    assert chance(sd_within=0.5).method is Method.BOUNDS
    assert chance().method is Method.CONDITIONING
    assert chance(lot_size=5000).method is Method.FAILURES


def test_exact_answers_have_no_error_and_draw_nothing():
    """A tiny deviation leaves only the test of the mean: 99.5 %."""
    rng = np.random.default_rng(1)
    before = rng.bit_generator.state
    answer = chance(sd_within=0.5, rng=rng)

    assert (answer.standard_error, answer.lots) == (0.0, 0)
    assert answer.p_accept == pytest.approx(0.995, abs=5e-5)
    assert rng.bit_generator.state == before
    assert "±" not in answer.because


@pytest.mark.parametrize(
    ("rules", "plan", "lot", "more"),
    [
        ("EU-76/211", None, 300, {}),
        ("EU-76/211", None, 300, {"sd_between_lots": 0.6, "process_mean": 99.9}),
        ("EU-76/211", "destructive", 300, {"sd_between_lots": 0.6}),
        ("AU-2009/233", None, 300, {"sd_within": 3.5, "process_mean": 100.5}),
        ("UK-2006/659", None, 60, {}),
        ("US-HB133-A", None, 5, {}),
    ],
)
def test_conditioning_agrees_with_simulation(rules, plan, lot, more):
    """Within four standard errors of the difference, seeded."""
    shared = {"rules": rules, "plan": plan, "lot_size": lot, **more}
    by_residuals = chance(**shared, method=Method.CONDITIONING)
    simulated = chance(**shared, method=Method.SIMULATION)
    error = np.hypot(by_residuals.standard_error, simulated.standard_error)

    assert abs(by_residuals.p_accept - simulated.p_accept) < 4 * error
    assert by_residuals.standard_error < simulated.standard_error / 2
    assert by_residuals.lower <= by_residuals.p_accept <= by_residuals.upper


@pytest.mark.parametrize(("plan", "lot"), [("single", 300), ("double", 5000)])
def test_counting_failures_agrees_with_counting_acceptances(plan, lot):
    """The mean uses a part of the sample: both ways draw lots through the decision function."""
    shared = {"rules": "UK-2006/659", "plan": plan, "lot_size": lot, "sd_between_lots": 0.4}
    failures = chance(**shared)
    simulated = chance(**shared, method=Method.SIMULATION, rng=np.random.default_rng(8))
    error = np.hypot(failures.standard_error, simulated.standard_error)

    assert failures.method is Method.FAILURES
    assert abs(failures.p_accept - simulated.p_accept) < 4 * error


def test_the_second_limit_is_part_of_the_chance_where_the_rules_test_it():
    """Australia, σ = 3.5: one package in 197 is far short, which no count of three forgives."""
    answer = chance("AU-2009/233", sd_within=3.5)

    # Φ(-9/3.5) = Φ(-2.5714) = 0.00506; (1 - 0.00506)^50 = 0.776
    assert answer.p_t2 == pytest.approx(0.776, abs=1e-3)
    assert answer.p_accept < answer.p_t2
    assert chance().p_t2 is None


def test_an_own_plan_with_far_short_packages_allowed():
    """One far short allowed: the two counts together, by residuals and by drawing."""
    own = OwnPlan(n=10, k=D("0.5"), acceptance_number=2, t2_allowed=1)
    shared = {"sd_within": 5.0, "own_plan": own}
    by_residuals = chance(**shared)
    simulated = chance(**shared, method=Method.SIMULATION, rng=np.random.default_rng(9))
    error = np.hypot(by_residuals.standard_error, simulated.standard_error)

    assert by_residuals.method is Method.CONDITIONING
    assert abs(by_residuals.p_accept - simulated.p_accept) < 4 * error


def test_no_scatter_at_all():
    """A lot at the label passes, one below fails; lots that wander pass half the time."""
    assert chance(sd_within=0.0).p_accept == pytest.approx(1, abs=1e-12)
    assert chance(sd_within=0.0, process_mean=99.0).p_accept == 0.0
    wandering = chance(sd_within=0.0, sd_between_lots=1.0)
    # the sum over lot effects has its step at zero: half, to half a step
    assert wandering.p_mean == pytest.approx(0.5, abs=1e-12)
    assert wandering.p_accept == pytest.approx(0.5, abs=1e-3)
    assert chance(sd_within=0.0, process_mean=95.0).p_below_t1 == 1.0


def test_a_us_lot_of_one_is_a_coin_at_the_label():
    """The average of one package, no count."""
    answer = chance("US-HB133-A", lot_size=1)

    assert answer.p_accept == pytest.approx(0.5, abs=1e-9)
    assert (answer.p_individual, answer.method) == (1.0, Method.BOUNDS)


def test_nothing_seen_in_a_simulation_is_not_certainty():
    """All lots accepted still leaves a standard error."""
    answer = chance(sd_within=0.1, process_mean=101.0, method=Method.SIMULATION, lots=100)

    assert answer.p_accept == 1.0
    assert answer.standard_error > 0


def test_tare_scatter_is_seen_and_not_true():
    """The inspector sees it, the true share below T1 does not move."""
    bare, tared = chance(), chance(sd_tare=1.0)

    assert tared.p_individual < bare.p_individual
    assert tared.p_below_t1 == bare.p_below_t1
    # Φ(-4.5/2.5) = Φ(-1.8) = 0.03593
    assert bare.p_below_t1 == pytest.approx(0.03593, abs=5e-6)


@pytest.mark.parametrize(
    ("more", "code", "match"),
    [
        ({"lot_size": 50}, "not-available", "Below 100 the non-destructive test"),
        ({"sd_within": -1.0}, "range", "sd_within: -1.0 is below 0"),
        ({"process_mean": float("inf")}, "not-finite", "process_mean: inf is not finite"),
        ({"method": Method.BOUNDS}, "choice", "bounds does not apply here"),
        ({"lot_size": 5000, "method": Method.CONDITIONING}, "choice", "conditioning does not"),
        ({"lots": 1}, "range", "lots: 1 is too small"),
        ({"rules": "US-HB133-A", "unit": "mL"}, "not-available", "type it from the document"),
    ],
)
def test_bad_questions_are_refused(more, code, match):
    """No plan, no shortage, a figure out of range, or a way that does not apply."""
    with pytest.raises(BadInput, match=match) as error:
        chance(**more)

    assert error.value.code == code
