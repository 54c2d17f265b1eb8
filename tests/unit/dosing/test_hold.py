"""Holding a run: the watch, the charts, creep, suspect containers, turning the wheel."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from fillwright.errors import BadInput
from fillwright.science.chart_constants import chart_constants
from fillwright.science.charts import cusum_chart, ewma_chart, individuals_chart
from fillwright.science.drift import drift, watch_drift
from fillwright.science.hold import adjustment
from fillwright.science.run_rules import RunRule, arl_rules
from fillwright.science.runlength import (
    arl_cusum,
    containers_to_alarm,
    design_cusum,
)
from fillwright.science.self_starting import self_starting, self_starting_chart
from fillwright.science.suspect import Check, CheckOutcome, suspect_range
from fillwright.science.watch import (
    SignalKind,
    SignalSide,
    watch_clear,
    watch_restart,
    watch_start,
    watch_take,
)

STEADY = [0.3, -0.5, 0.1, 0.6, -0.2, -0.4, 0.2, 0.5, -0.6, 0.0]
TURN = {"slope": 1000.0, "dead_band": 0.0005}


def _watched(values, **start):
    """The watch after values in grams, container after container, and its last signal."""
    state = watch_start(**start)
    signal = None
    for number, value in enumerate(values, start=1):
        take = watch_take(state, 1e-3 * value, position=number)
        state, signal = take.state, take.signal
    return state, signal


def _check(at, outcome, **rest):
    """One check of one container."""
    return Check(first=at, last=at, outcome=CheckOutcome(outcome), **rest)


def test_the_first_two_readings_say_nothing():
    """Without a sd from before, z is none for two readings and a number from the third on."""
    for count, known in ((1, False), (2, False), (3, True)):
        assert (_watched(STEADY[:count])[1].z is not None) == known


def test_the_third_z_is_that_of_the_t_distribution():
    """By hand: readings 1, 3 then 4: mean 2, sd √2, T = 2/√2 · √(2/3), t with 1 df."""
    signal = _watched([1.0, 3.0, 4.0])[1]

    chance = stats.t.cdf(2 / math.sqrt(2) * math.sqrt(2 / 3), 1)
    assert signal.z == pytest.approx(stats.norm.ppf(chance))


def test_a_proving_run_lets_the_first_reading_count():
    """With sd 1 g from 11 readings and the target as centre: T = 2 with 10 df at once."""
    signal = _watched([2.0], sd=0.001, sd_readings=11, target=0.0)[1]

    assert signal.z == pytest.approx(stats.norm.ppf(stats.t.cdf(2.0, 10)))


def test_one_far_reading_signals_and_is_not_learnt():
    """Beyond 3 sd: named, its side too, suspect since the check before; the mean stays."""
    before = _watched(STEADY)[0]
    state, signal = _watched([*STEADY, 9.0])

    assert (signal.kind, signal.side) == (SignalKind.BEYOND_3SD, SignalSide.HIGH)
    assert signal.since_check <= 10
    assert (state.mean, state.m2, state.count) == (before.mean, before.m2, before.count)
    assert state.alarmed
    assert "two more" in signal.because


def test_a_small_shift_adds_up():
    """Half a dozen readings 1.5 sd low alarm the sum, since the check where it was last zero."""
    state, signal = _watched([*STEADY, *[-1.8] * 5], sd=0.001, sd_readings=101, target=0.0)

    assert (signal.kind, signal.side) == (SignalKind.CUSUM, SignalSide.LOW)
    assert signal.since_check == 10
    assert state.zero_down == 10


def test_a_high_shift_is_told_from_a_low_one():
    """The mirror image alarms on the other side."""
    signal = _watched([*STEADY, *[1.8] * 5], sd=0.001, sd_readings=101, target=0.0)[1]

    assert (signal.kind, signal.side) == (SignalKind.CUSUM, SignalSide.HIGH)


def test_an_alarm_stands_until_it_is_cleared():
    """Good readings after a far one are judged but not learnt; clearing lets them in."""
    alarmed = _watched([*STEADY, 9.0, 0.1])[0]
    cleared = watch_clear(alarmed)
    after = watch_take(cleared, 0.0001, position=13).state

    assert alarmed.alarmed
    assert alarmed.count == 10
    assert (cleared.up, cleared.down, cleared.zero_up) == (0.0, 0.0, 12)
    assert after.count == 11


def test_after_an_adjustment_the_scatter_is_kept():
    """The level is new, the sd is pooled with its degrees of freedom, the sums start at h/2."""
    state = watch_restart(_watched(STEADY)[0])

    assert (state.count, state.mean, state.line_count) == (0, 0.0, 0)
    assert state.prior_df == 9
    assert state.prior_sd == pytest.approx(1e-3 * np.std(STEADY, ddof=1))
    assert (state.up, state.down) == (2.5, 2.5)
    assert state.zero_up == state.zero_down == 10


def test_a_head_start_needs_only_half_the_evidence():
    """After a wrong turn the watch alarms sooner than it would from zero."""
    known = {"sd": 0.001, "sd_readings": 101, "target": 0.0}

    def alarm(state):
        for count in range(1, 20):
            take = watch_take(state, 0.0015, position=count)
            state = take.state
            if take.signal.kind is SignalKind.CUSUM:
                return count
        return 20

    assert alarm(watch_restart(watch_start(**known))) < alarm(watch_start(**known))


def test_a_restart_keeps_what_a_known_centre_taught():
    """With the target as centre every reading counts for the sd: 10 degrees of freedom."""
    state = watch_restart(_watched(STEADY, target=0.0)[0], head_start=0.0)

    assert state.prior_df == 10
    assert state.prior_sd == pytest.approx(1e-3 * math.sqrt(np.mean(np.square(STEADY))))
    assert state.up == 0.0


def test_an_empty_watch_restarts_empty():
    """Nothing learnt, nothing kept."""
    assert watch_restart(watch_start()).prior_df == 0


def test_mean_and_sd_are_held_after_enough_readings():
    """After `known_after` good readings a creep is not learnt any more."""
    state = _watched(STEADY, known_after=6)[0]

    assert state.count == 6


def test_equal_readings_do_not_divide_by_zero():
    """Without any scatter seen nothing is said; with a known step the step is the scatter."""
    assert _watched([1.0, 1.0, 1.2])[1].z == 0.0
    assert _watched([1.0, 1.0, 1.2], readability=0.001)[1].z > 0.0
    assert self_starting([0.25, 0.25, 0.2502])[2] == 0.0


def test_self_starting_needs_two_readings_before():
    """The first two values are not a number, all others are."""
    assert np.isnan(self_starting(STEADY)).tolist() == [True, True] + [False] * 8


def test_the_self_starting_chart_counts_all_readings():
    """Its alarm is numbered over all readings, the first two included."""
    chart = self_starting_chart([*STEADY, *[4.0] * 6]).chart

    assert 11 <= chart.first_signal <= 16
    assert chart.last_good <= 10


def test_individuals_limits_by_hand():
    """Readings 1, 3, 2: moving ranges 2 and 1, mean 1.5, sd 1.5/1.12838, limits 3 sd off."""
    chart = individuals_chart([1.0, 3.0, 2.0])

    assert chart.centre == 2.0
    assert chart.mean_moving_range == 1.5
    assert chart.sd_from_mr == pytest.approx(1.5 / 1.128379, rel=1e-6)
    assert chart.upper == pytest.approx(2 + 2.65868 * 1.5, rel=1e-5)
    assert (chart.first_signal, chart.last_good) == (None, 3)


def test_individuals_name_the_first_reading_beyond():
    """A jump in the 11th of many small ones is named, the 10th was good."""
    chart = individuals_chart([*STEADY, 30.0, *STEADY, *STEADY])

    assert (chart.first_signal, chart.last_good) == (11, 10)


def test_cusum_names_alarm_and_last_zero():
    """By hand, k 0.5, h 2: sums 0, 0.5, 1.5, 2.5; alarm at 4, last zero at 1."""
    chart = cusum_chart([0.2, 1.0, 1.5, 1.5], h=2.0)
    low = cusum_chart([-1.5, -1.5], h=1.9)

    assert chart.up.tolist() == [0.0, 0.5, 1.5, 2.5]
    assert (chart.first_signal, chart.last_good) == (4, 1)
    assert (low.first_signal, low.last_good) == (2, 0)
    assert cusum_chart([0.0]).last_good == 1


def test_ewma_names_alarm_and_start_of_the_excursion():
    """By hand, λ 0.5: 0, 1, 2.5, 3.25; limits L √(1/3 (1 - 0.25^i))."""
    chart = ewma_chart([0.0, 2.0, 4.0, 4.0], weight=0.5, limit=3.0)

    assert chart.ewma.tolist() == [0.0, 1.0, 2.5, 3.25]
    assert chart.upper_limit[1] == pytest.approx(3 * math.sqrt((1 - 0.25**2) / 3))
    assert (chart.first_signal, chart.last_good) == (3, 1)
    assert ewma_chart([0.0]).first_signal is None
    assert ewma_chart([4.0], weight=1.0, limit=3.0).first_signal == 1


def test_creep_is_the_librarys_regression():
    """Slope and its interval are those of the library; the level is on the line."""
    rng = np.random.default_rng(5)
    x = np.arange(1.0, 41.0)
    y = 1e-5 * x + 1e-4 * rng.standard_normal(40)
    found = drift(x, y, limit=0.001)
    line = stats.linregress(x, y)
    half = stats.t.ppf(0.975, 38) * line.stderr

    assert found.slope == pytest.approx(line.slope)
    assert found.slope_interval == pytest.approx((line.slope - half, line.slope + half))
    assert found.level_now == pytest.approx(line.intercept + 40 * line.slope)
    assert found.reaches_limit_at == pytest.approx((0.001 - line.intercept) / line.slope)


def test_the_interval_of_the_crossing_is_where_the_band_of_the_line_meets_the_limit():
    """At both ends the 95 % band of the mean just touches the limit."""
    rng = np.random.default_rng(6)
    x = np.arange(1.0, 41.0)
    y = -1e-5 * x + 1e-4 * rng.standard_normal(40)
    found = drift(x, y, limit=0.001)
    line = stats.linregress(x, y)
    off = x - x.mean()
    s = math.sqrt(np.sum((y - line.intercept - line.slope * x) ** 2) / 38)

    for end in found.reaches_interval:
        level = line.intercept + line.slope * end
        half = stats.t.ppf(0.975, 38) * s * math.sqrt(1 / 40 + (end - x.mean()) ** 2 / (off @ off))
        assert abs(level + 0.001) == pytest.approx(half)
    low, high = found.reaches_interval
    assert low < found.reaches_limit_at < high
    assert "down" in found.because
    assert "hopper" in found.because


def test_no_creep_gives_no_container():
    """Scatter alone: an interval of the slope over zero and no forecast."""
    found = drift(range(10), STEADY, limit=5.0)

    assert not found.creeps
    assert found.reaches_limit_at is None
    assert found.slope_interval[0] < 0 < found.slope_interval[1]


@pytest.mark.parametrize(("x", "y"), [([1, 2], [0.0, 1.0]), ([3, 3, 3], [0.0, 1.0, 2.0])])
def test_too_few_places_give_no_slope(x, y):
    """Two readings, or all of one container, tell no creep."""
    assert drift(x, y, limit=1.0).slope is None


def test_a_limit_already_passed_is_reached_now():
    """With the line beyond the limit the answer is the last container, not one before it."""
    found = drift([1, 2, 3, 4], [0.0, 1.0, 2.0, 3.01], limit=0.5)

    assert found.reaches_limit_at == 4
    assert found.reaches_interval == (4, 4)


def test_the_live_creep_starts_anew_after_a_turn():
    """An adjustment forgets the line, and one reading tells none."""
    state = watch_take(watch_restart(_watched(STEADY)[0]), 0.0, position=11).state

    assert watch_drift(state, limit=0.001).slope is None


@pytest.mark.parametrize(
    ("checks", "zero", "expected"),
    [
        (("good", "good", "good"), None, (None, None)),
        (("good", "good", "bad"), None, (21, 35)),
        (("good", "void", "bad"), None, (11, 35)),
        (("bad", "good", "good"), None, (1, 35)),
        (("good", "good", "alarm"), None, (21, 35)),
        (("good", "good", "alarm"), 1, (11, 35)),
        (("good", "good", "alarm"), 0, (1, 35)),
        (("good", "void", "alarm"), 2, (11, 35)),
        (("good", "good", "void"), None, (None, None)),
    ],
)
def test_suspect_from_the_last_good_check(checks, zero, expected):
    """Checks at 10, 20, 30, stopped after 35: worked out by the rule, one by one."""
    row = [_check(10 * n, outcome) for n, outcome in enumerate(checks, 1)]
    found = suspect_range(row, stopped_after=35, alarm_zero_at_check=zero)

    assert (found.first, found.last) == expected


def test_suspect_to_the_last_filled_before_the_correction():
    """A correction ends the range, wherever it was made; a later trouble widens it."""
    at_once = [_check(10, "good"), _check(20, "bad", adjusted_after=True), _check(30, "good")]
    later = [
        _check(10, "good"),
        _check(20, "bad", adjusted_before_container=24),
        _check(30, "good"),
    ]
    twice = [*later, _check(40, "bad", adjusted_before_container=43), _check(50, "good")]

    assert suspect_range(at_once, stopped_after=35).last == 20
    assert suspect_range(later, stopped_after=35).last == 23
    found = suspect_range(twice, stopped_after=55)
    assert (found.first, found.last) == (11, 42)


def test_a_correction_without_trouble_ends_nothing():
    """Turning the wheel after a good check makes none suspect."""
    found = suspect_range([_check(10, "good", adjusted_after=True)], stopped_after=20)

    assert found.first is None


@pytest.mark.parametrize(
    ("checks", "message"),
    [
        ([_check(20, "good"), _check(10, "good")], "give checks in order"),
        ([_check(40, "good")], "give checks in order within 1 to 35"),
        ([_check(10, "bad", adjusted_before_container=9)], "after the check's last container"),
    ],
)
def test_checks_out_of_order_are_refused(checks, message):
    """Backwards, beyond the run, or corrected before they were weighed."""
    with pytest.raises(BadInput, match=message):
        suspect_range(checks, stopped_after=35)


def test_outside_the_dead_band_the_shrunk_level_is_corrected_in_full():
    """τ 1 g, σ 2 g, n 4: weight 1/(1 + 1) = 0.5; 2 g off: level 1 g, down by 1 mL."""
    found = adjustment(0.002, **TURN, prior_sd_of_level=0.001, dose_sd=0.002, readings=4)

    assert found.weight == pytest.approx(0.5)
    assert found.level == pytest.approx(0.001)
    assert found.setting_change == pytest.approx(-1e-6)
    assert "down past" in found.because


def test_a_low_level_turns_up():
    """The mirror image turns up, without a way round."""
    found = adjustment(-0.002, **TURN, shrink=0.5)

    assert found.setting_change == pytest.approx(1e-6)
    assert found.because.startswith("Turn up")


def test_inside_the_dead_band_the_wheel_is_left_alone():
    """The believed level counts, not the raw mean: 0.9 g at half weight is inside 0.5 g."""
    assert adjustment(0.0009, **TURN, shrink=0.5).setting_change == 0.0
    assert adjustment(0.0009, **TURN, shrink=0.6).setting_change != 0.0


def test_one_reading_never_turns_the_wheel():
    """However far off, a single weight asks for two more."""
    found = adjustment(0.05, **TURN, prior_sd_of_level=0.001, dose_sd=0.001, readings=1)

    assert found.setting_change == 0.0
    assert "two more" in found.because


def test_check_delay_by_hand():
    """One each 50, 1 sd: power Φ(-2) + Φ(-4), 50 (1/p - 1/2); the CUSUM needs far fewer."""
    power = stats.norm.sf(2) + stats.norm.sf(4)

    found = containers_to_alarm(1, 50, 1.0, chart="mean")
    assert found == pytest.approx(50 * (1 / power - 0.5))
    assert containers_to_alarm(1, 50, 1.0, chart="cusum") < found / 4


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: adjustment(0.001, **TURN), "shrink is missing"),
        (lambda: adjustment(0.001, **TURN, shrink=1.5), "shrink is 1.5; give a share"),
        (lambda: adjustment(0.001, **TURN, shrink=0.5, readings=0), "readings is 0"),
        (lambda: adjustment(0.001, slope=0.0, dead_band=0.0, shrink=1.0), "slope is 0"),
        (lambda: drift([1, 2, 3], [1.0, 2.0], limit=1.0), "give as many of each"),
        (lambda: watch_start(sd=0.001), "sd_readings is 0"),
        (lambda: watch_take(watch_start(), math.inf, position=1), "deviation is inf"),
        (lambda: arl_cusum(0.5, 4.0, head_start=4.0), "head_start is 4; give one below h"),
        (lambda: design_cusum(0.5, 1.0), "arl0 is 1; give 2 to 1000000"),
        (lambda: containers_to_alarm(1, 50, 1.0, chart="runs"), 'give "mean" or "cusum"'),
        (lambda: arl_rules([]), "rules is empty"),
        (lambda: arl_rules([RunRule(r_of=3, last=2, beyond=1.0)]), "r_of is 3; give at most"),
        (
            lambda: arl_rules([RunRule(r_of=9, last=20, beyond=b) for b in (0.0, 1.0)]),
            "remember too much",
        ),
        (lambda: chart_constants(101), "subgroup_size is 101; give 2 to 100"),
        (lambda: chart_constants(2.5), "subgroup_size is 2.5"),
        (lambda: self_starting([0.1, 0.2], sd=-1.0, sd_df=3), "sd is -1"),
    ],
)
def test_what_cannot_be_used_is_named(call, message):
    """The field, what was given and what would do are in the sentence."""
    with pytest.raises(BadInput, match=message):
        call()


def test_a_limit_that_already_alarms_too_seldom_is_the_smallest():
    """With a reference value of 4 even the smallest limit is passed less than once in ten."""
    assert design_cusum(4.0, 10.0) == pytest.approx(1e-3)
