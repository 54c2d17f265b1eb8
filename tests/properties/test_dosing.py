"""What must hold of dosing statistics whatever the numbers: scale, order, mirror, growth."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from fillwright.science.charts import cusum_chart, ewma_chart
from fillwright.science.content import content_inside
from fillwright.science.drift import drift, watch_drift
from fillwright.science.proof import prove, prove_chance
from fillwright.science.rounding import rounding_bias
from fillwright.science.self_starting import self_starting
from fillwright.science.suspect import Check, CheckOutcome, suspect_range
from fillwright.science.tolerance import tolerance_factor
from fillwright.science.trim import ShotGroup, next_setting
from fillwright.science.watch import watch_start, watch_take
from fillwright.science.weighing import (
    acceptance_limit,
    conformance_probability,
    mass_from_reading,
)

DEVIATION = st.floats(-0.005, 0.005)
READINGS = st.lists(st.integers(-400, 400), min_size=4, max_size=40).map(
    lambda steps: [0.25 + 1e-5 * step for step in steps]
)
COUNT = st.integers(2, 400)
CONTENT = st.floats(0.05, 0.999)
CONFIDENCE = st.floats(0.05, 0.999)


@given(COUNT, CONTENT, CONFIDENCE, st.sampled_from([1, 2]))
def test_a_higher_claim_needs_a_larger_factor(n, content, confidence, sides):
    """The factor grows with content and with confidence."""
    more = content + 0.5 * (1 - content)
    surer = confidence + 0.5 * (1 - confidence)
    k = tolerance_factor(n, content=content, confidence=confidence, sides=sides)

    assert tolerance_factor(n, content=more, confidence=confidence, sides=sides) > k
    assert tolerance_factor(n, content=content, confidence=surer, sides=sides) > k


@given(COUNT, CONTENT, st.floats(0.5, 0.999))
def test_more_readings_need_a_smaller_factor(n, content, confidence):
    """From 50 % confidence on the two-sided factor falls with the number of readings."""
    few = tolerance_factor(n, content=content, confidence=confidence)

    assert tolerance_factor(2 * n, content=content, confidence=confidence) < few


@given(READINGS, st.sampled_from([0.5, 2.0, 1024.0]))
@settings(max_examples=25)
def test_a_proof_does_not_depend_on_the_unit(readings, factor):
    """All masses times the same power of two: the same verdict, all masses times it."""
    assume(np.ptp(readings) > 0)
    one = prove(readings, target=0.25, tolerance=0.0025)
    other = prove(np.multiply(readings, factor), target=0.25 * factor, tolerance=0.0025 * factor)

    assert other.verdict == one.verdict
    assert other.half_width == pytest.approx(one.half_width * factor, rel=1e-12)
    assert other.content_provable == pytest.approx(one.content_provable, abs=1e-9)


@given(READINGS)
@settings(max_examples=25)
def test_a_proof_runs_the_same_backwards(readings):
    """Readings in reverse order give the same verdict and the opposite slope."""
    one = prove(readings, target=0.25, tolerance=0.0025)
    back = prove(readings[::-1], target=0.25, tolerance=0.0025)

    assert back.verdict == one.verdict
    assert back.order_tests.slope_per_dose == pytest.approx(
        -one.order_tests.slope_per_dose, abs=1e-12
    )


@given(READINGS, st.floats(1.0, 4.0))
@settings(max_examples=25)
def test_a_wider_claim_is_never_proved_less(readings, factor):
    """A wider tolerance proves at least the content of a narrower one."""
    assume(np.ptp(readings) > 0)
    narrow = prove(readings, target=0.25, tolerance=0.002)
    wide = prove(readings, target=0.25, tolerance=0.002 * factor)

    assert wide.content_provable >= narrow.content_provable - 1e-9
    assert wide.content_upper >= narrow.content_upper - 1e-7


@given(st.integers(2, 200), st.floats(0.1, 0.5), st.floats(-0.8, 0.8))
def test_the_chance_of_a_proof_is_a_chance_and_mirrors(n, sd, offset):
    """A mean above the target is as good as one below, and the chance lies in 0 to 1."""
    above = prove_chance(n, true_sd=sd, offset=offset, tolerance=1.0)

    assert 0.0 <= above <= 1.0
    assert prove_chance(n, true_sd=sd, offset=-offset, tolerance=1.0) == above


@given(st.integers(2, 60), st.floats(0.0, 0.9), st.floats(0.05, 3.0))
def test_a_false_claim_is_proved_no_more_often_than_allowed(n, offset, sd):
    """Where fewer doses than claimed are inside, the chance of a proof is below 5 %."""
    assume(content_inside(offset, sd, tolerance=1.0) <= 0.99)

    assert prove_chance(n, true_sd=sd, offset=offset, tolerance=1.0) <= 0.05 + 1e-9


@given(st.floats(1e-6, 1e-2), st.floats(1e-7, 1e-1))
def test_rounding_left_after_repeats_is_below_one_rounding(step, sd):
    """The left-over rounding lies between nothing and d/√12 and falls with the scatter."""
    left = rounding_bias(step, sd=sd)

    assert 0.0 <= left <= step / np.sqrt(12.0) * (1 + 1e-9)
    assert rounding_bias(step, sd=1.5 * sd) <= left + 1e-12 * step


@given(DEVIATION, st.floats(1e-4, 1e-2), st.floats(1e-5, 5e-3))
def test_conformance_mirrors_and_is_a_chance(deviation, tolerance, uncertainty):
    """High is as bad as low, and the figure lies in 0 to 1."""
    given_above = conformance_probability(
        deviation, tolerance=tolerance, standard_uncertainty=uncertainty
    )

    assert 0.0 <= given_above <= 1.0
    assert given_above == conformance_probability(
        -deviation, tolerance=tolerance, standard_uncertainty=uncertainty
    )


@given(st.floats(1e-4, 1e-2), st.floats(1e-5, 5e-3), st.floats(0.5, 0.999))
def test_the_acceptance_limit_has_the_probability_asked_for(tolerance, uncertainty, wanted):
    """At the limit the probability of conformance is the wanted one, or none reaches it."""
    found = acceptance_limit(tolerance, standard_uncertainty=uncertainty, probability=wanted)
    there = 0.0 if found.limit is None else found.limit
    chance = conformance_probability(there, tolerance=tolerance, standard_uncertainty=uncertainty)

    if found.limit is None:
        assert chance < wanted
    else:
        assert chance == pytest.approx(wanted, abs=1e-9)


@given(st.floats(1e-3, 10.0), st.floats(600.0, 2000.0), st.floats(0.9, 1.3))
def test_mass_is_in_proportion_to_the_reading(reading, liquid, air):
    """Twice the reading is twice the mass, and a light liquid gains."""
    one = mass_from_reading(reading, liquid_density=liquid, air_density=air)

    assert mass_from_reading(2 * reading, liquid_density=liquid, air_density=air) == 2 * one
    assert one > reading


@given(st.lists(st.floats(-3, 3), min_size=1, max_size=200), st.floats(0, 4))
def test_whole_run_sums_equal_the_recursion(values, head_start):
    """The vectorised CUSUM and EWMA are the recursions of their definition."""
    chart = cusum_chart(values, head_start=head_start)
    mean = ewma_chart(values, weight=0.2)
    up = down = head_start
    z = 0.0
    for place, value in enumerate(values):
        up, down = max(0.0, up + value - 0.5), max(0.0, down - value - 0.5)
        z = 0.2 * value + 0.8 * z
        assert chart.up[place] == pytest.approx(up, abs=1e-12)
        assert chart.down[place] == pytest.approx(down, abs=1e-12)
        assert mean.ewma[place] == pytest.approx(z, abs=1e-12)


@given(
    st.lists(st.floats(-0.004, 0.004), min_size=3, max_size=160),
    st.sampled_from([None, 0.0]),
    st.sampled_from([None, 0.001]),
)
@settings(max_examples=60)
def test_the_live_watch_equals_the_whole_run(values, target, sd):
    """Until it signals, the watch gives the z, the sums and the line of the whole run."""
    state = watch_start(
        sd=sd, sd_readings=0 if sd is None else 30, target=target, readability=1e-5
    )
    z = self_starting(values, centre=target, sd=sd, sd_df=29, known_after=100, readability=1e-5)
    sums = cusum_chart(np.nan_to_num(z), h=5.0)
    for place, value in enumerate(values):
        take = watch_take(state, value, position=place + 1.0)
        state = take.state
        if take.signal.z is None:
            assert np.isnan(z[place])
        else:
            assert take.signal.z == pytest.approx(z[place], abs=1e-9)
        assert state.up == pytest.approx(sums.up[place], abs=1e-9)
        assert state.down == pytest.approx(sums.down[place], abs=1e-9)
        if state.alarmed:
            break
    else:
        whole = drift(np.arange(1.0, len(values) + 1), values, limit=0.005)
        live = watch_drift(state, limit=0.005)
        assert live.slope == pytest.approx(whole.slope, abs=1e-12)
        assert live.level_now == pytest.approx(whole.level_now, abs=1e-12)


@given(st.lists(st.sampled_from(list(CheckOutcome)), min_size=1, max_size=12), st.data())
def test_the_suspect_range_goes_back_to_the_last_good_check(outcomes, data):
    """It holds every container after the last good check before the first trouble."""
    checks = [
        Check(first=10 * n, last=10 * n, outcome=outcome) for n, outcome in enumerate(outcomes, 1)
    ]
    zero = data.draw(st.none() | st.integers(0, len(checks)))
    found = suspect_range(checks, stopped_after=10 * len(checks) + 5, alarm_zero_at_check=zero)
    trouble = [c for c in checks if c.outcome in {CheckOutcome.BAD, CheckOutcome.ALARM}]
    if not trouble:
        assert (found.first, found.last) == (None, None)
        return
    good = [c.last for c in checks if c.outcome is CheckOutcome.GOOD and c.last < trouble[0].first]

    assert found.first <= (good[-1] + 1 if good else 1)
    assert found.last == 10 * len(checks) + 5


@given(
    st.floats(0.1, 0.9),
    st.lists(st.floats(-0.02, 0.02), min_size=0, max_size=4),
    st.sampled_from([0.25, 2.0, 8.0]),
)
@settings(max_examples=40)
def test_trim_does_not_depend_on_the_unit(fill, errors, factor):
    """All volumes and masses times the same power of two: the same advice."""
    target = fill * 0.25

    def ask(by):
        groups = [
            ShotGroup(
                setting=by * target / 1000, readings=tuple(by * target * (1 + e) for e in errors)
            )
        ]
        return next_setting(
            groups if errors else (),
            target=by * target,
            upper_limit=by * target * 1.01,
            within=0.005,
            probability=0.9,
            alpha=0.05,
            cylinder=by * 2.5e-4,
            density=1000.0,
            readability=by * 1e-5,
        )

    one, other = ask(1.0), ask(factor)

    assert (other.done, other.direction, other.set_aside) == (
        one.done,
        one.direction,
        one.set_aside,
    )
    assert other.setting == pytest.approx(factor * one.setting, rel=1e-6)
    assert other.p_within == pytest.approx(one.p_within, abs=1e-6)


@given(st.floats(0.1, 0.9), st.lists(st.floats(-0.03, 0.03), min_size=0, max_size=5))
@settings(max_examples=60)
def test_the_next_shot_keeps_the_overfill_promise(fill, errors):
    """Whatever was weighed, the next shot passes the limit with 5 % at most, unless done."""
    target = fill * 0.25
    groups = [ShotGroup(setting=target / 1000, readings=tuple(target * (1 + e) for e in errors))]
    step = next_setting(
        groups if errors else (),
        target=target,
        upper_limit=target * 1.01,
        within=0.005,
        probability=0.9,
        alpha=0.05,
        cylinder=2.5e-4,
        density=1000.0,
        readability=1e-5,
    )

    assert step.done or step.p_over <= 0.05 + 1e-6
    assert step.setting_low <= step.setting_high
    assert (step.via is not None) == (step.direction == "down")
