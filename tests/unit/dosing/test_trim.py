"""Each act of trimming, and the exactness of the model behind it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from fillwright.errors import BadInput
from fillwright.science.trim import Direction, ShotGroup, TrimPrior, next_setting
from fillwright.science.trim_model import condition, prior_belief
from fillwright.science.trim_step import taken_in_order

CASE = {
    "target": 0.25,
    "upper_limit": 0.2525,
    "within": 0.005,
    "probability": 0.9,
    "alpha": 0.05,
    "cylinder": 5e-4,
    "density": 1000.0,
    "readability": 1e-5,
}


def _stay(setting_ml, *grams):
    """One stay, in the units people read."""
    return ShotGroup(setting=1e-6 * setting_ml, readings=tuple(1e-3 * g for g in grams))


def test_the_first_setting_is_below_the_aim():
    """Before any shot: up from below, not done, overfill at most as promised."""
    step = next_setting((), **CASE)

    assert step.direction is Direction.UP
    assert step.via is None
    assert not step.done
    assert step.feasible
    assert step.setting < 2.5e-4
    assert step.p_over <= 0.05 + 1e-9
    assert step.next_upper <= 0.2525 + 1e-9
    assert step.setting_low < step.setting < step.setting_high


def test_the_starting_setting_keeps_its_promise_by_hand():
    """The largest x with P(dose > 252.5 g) = 5 %, the mixture summed by hand."""
    setting = next_setting((), **CASE).setting

    # offset 1.2 % of 500 g, slope √(4² + 0.7²) %, wheel 0.1 % of 500 g, shots 0.25 % · 250 g
    # on thirteen points half a log-sd of 0.6 apart, rounding 0.01 g / √12; in one trim of
    # twenty the first shot is short by 0.8 ± 0.8 % of 250 g; creep 0.02 % of it a shot.
    grid = np.linspace(-2, 4, 13)
    weight = stats.t(6).pdf(grid)
    shot = 0.0025 * 0.25 * np.exp(0.6 * grid)
    line = 0.006**2 + (setting * 1000 * math.hypot(0.04, 0.007)) ** 2 + 0.0005**2
    var = line + shot**2 + 1e-10 / 12 + 0.00005**2
    over = 0.95 * stats.norm.sf(0.2525, loc=1000 * setting, scale=np.sqrt(var))
    over += 0.05 * stats.norm.sf(0.2525, loc=1000 * setting - 0.002, scale=np.sqrt(var + 4e-6))
    assert np.average(over, weights=weight) == pytest.approx(0.05, abs=1e-6)


def test_a_low_dose_is_turned_up():
    """Clearly low: up, and no way round from below."""
    step = next_setting([_stay(240, 236.0, 236.2)], **CASE)

    assert step.direction is Direction.UP
    assert step.setting > 2.4e-4
    assert step.via is None
    assert step.mean == pytest.approx(0.2361, abs=3e-4)


def test_a_high_dose_is_come_to_from_below():
    """Clearly high: down past the setting by the play, then up to it."""
    step = next_setting([_stay(255, 256.0, 256.2)], **CASE, lost_motion=3e-6)

    assert step.direction is Direction.DOWN
    assert step.setting < 2.55e-4
    assert step.via == pytest.approx(step.setting - 3e-6)


def test_the_play_is_one_percent_of_the_cylinder_where_unknown():
    """Without a measured play the way round is 5 mL in a 500 mL cylinder."""
    step = next_setting([_stay(255, 256.0, 256.2)], **CASE)

    assert step.via == pytest.approx(step.setting - 5e-6)


def test_a_mean_on_target_is_done():
    """Three shots on target: done, stay, probability above the one asked for."""
    step = next_setting([_stay(249, 249.9, 250.1, 250.0)], **CASE)

    assert step.done
    assert step.direction is Direction.STAY
    assert step.setting == 2.49e-4
    assert step.p_within >= 0.9


def test_an_undecided_mean_is_shot_again():
    """Near the edge and noisy: a turn would not help, so stay, and not done."""
    step = next_setting([_stay(240, 240.9), _stay(249, 249.2)], **CASE)

    assert not step.done
    assert step.direction is Direction.STAY
    assert step.setting == 2.49e-4


def test_a_wild_shot_moves_nothing():
    """A bubble of 20 g among good shots is set aside and the wheel stays."""
    step = next_setting([_stay(244, 243.4, 243.6), _stay(249, 248.9, 229.0)], **CASE)
    without = next_setting([_stay(244, 243.4, 243.6), _stay(249, 248.9)], **CASE)

    assert step.set_aside == (3,)
    assert step.direction is Direction.STAY
    assert "does not fit" in step.because
    assert step.p_within == pytest.approx(without.p_within)


def test_a_shot_that_others_confirm_is_not_wild():
    """Three shots that agree outweigh what was expected of the machine."""
    step = next_setting([_stay(240, 215.0, 215.3, 215.1)], **CASE)

    assert step.set_aside == ()
    assert step.mean == pytest.approx(0.2151, abs=3e-4)


def test_one_shot_far_from_anything_is_set_aside_and_repeated():
    """An empty shot says nothing of the wheel: shoot again at the same setting."""
    step = next_setting([_stay(230, 5.0)], **CASE)

    assert step.set_aside == (0,)
    assert step.direction is Direction.STAY
    assert not step.done


def test_a_coarse_scale_is_said_before_the_first_shot():
    """A step of 5 g can never show 250 g within 1.25 g."""
    step = next_setting((), **CASE | {"readability": 0.005}, prior=TrimPrior(shot_sd=0.0001))

    assert not step.feasible
    assert step.ceiling < 0.9
    assert "scale is too coarse" in step.because


def test_a_coarse_wheel_is_said_before_the_first_shot():
    """With 5 mL of wheel error one move in five lands within 1.25 mL: five moves will not do."""
    step = next_setting((), **CASE, hand_wheel_sd=5e-6)

    landing = 2 * stats.norm.cdf(0.25) - 1
    assert step.ceiling == pytest.approx(1 - (1 - landing) ** 5)
    assert not step.feasible
    assert "wheel is too coarse" in step.because


def test_rounding_is_not_divided_by_repeats():
    """Twenty equal readings on a 2 g scale leave more doubt than a 0.1 g scale does."""
    prior = TrimPrior(shot_sd=1e-6)
    coarse = next_setting(
        [_stay(249, *[250.0] * 20)], **CASE | {"readability": 0.002}, prior=prior
    )
    fine = next_setting([_stay(249, *[250.0] * 20)], **CASE | {"readability": 0.0001}, prior=prior)

    # One stay, so what is left is rounding of d/√12 = 0.58 g against a wide prior.
    assert coarse.mean_sd == pytest.approx(0.000577, rel=0.01)
    assert fine.mean_sd < 0.00003 * 1.05


def test_a_prior_of_the_slope_is_used():
    """A slope known to lie high starts lower than one known to lie at the density."""
    high = next_setting((), **CASE, prior=TrimPrior(slope_low=1040.0, slope_high=1060.0))
    plain = next_setting((), **CASE, prior=TrimPrior(slope_low=990.0, slope_high=1010.0))

    assert high.setting < plain.setting


def test_known_history_starts_nearer():
    """With small sds of slope and offset the first setting is nearly the aim."""
    step = next_setting((), **CASE, prior=TrimPrior(slope_sd=0.001, offset_sd=0.0005))

    assert step.setting == pytest.approx(2.5e-4, rel=2e-3)


def test_the_setting_stays_on_the_scale():
    """A dose as large as the cylinder is not asked for beyond full scale."""
    step = next_setting([_stay(500, 480.0, 480.1)], **CASE | {"target": 0.5, "upper_limit": 0.505})

    assert step.setting == 5e-4


def test_a_machine_that_may_overfill_at_zero_starts_at_zero():
    """With an offset of half the cylinder unknown, only the lowest setting is left to try."""
    step = next_setting((), **CASE, prior=TrimPrior(offset_sd=0.5))

    assert step.setting == 0.0
    assert step.p_over > 0.05


def _belief(**given):
    """A belief of 250 g in 500 mL with air, creep and play in it."""
    return prior_belief(
        **{
            "target": 0.25,
            "line": np.array([0.0, 1000.0]),
            "line_cov": np.diag([0.006**2, 20.0**2]),
            "wheel_sd": 5e-7,
            "shot_sd": 0.0025,
            "shot_spread": 0.6,
            "readability": 1e-4,
            "air": 0.008,
            "air_chance": 0.2,
            "creep_sd": 0.0002,
            "play": 5e-6,
            "play_sd": 2e-6,
        }
        | given
    )


SHOTS = taken_in_order(
    [
        _stay(240, 239.1, 238.5),
        ShotGroup(setting=2.48e-4, readings=(0.2480, 0.2487), from_above=True),
    ],
    5e-4,
)


def _joint(belief, taken):
    """Mean and covariance of the readings and of the next one, written out a cell at a time."""
    k = np.arange(taken.readings.size + 1)
    x, stay = np.append(taken.settings, 2.48e-4), np.append(taken.stays, 1)
    above = np.append(taken.above, 1.0)
    for cell in range(belief.weight.size):
        fade = np.exp(-k / belief.fade[cell])
        air, air_var = belief.mean[cell, 2], belief.cov[cell, 2, 2]
        mean = 1000.0 * x - air * fade + 1000.0 * 5e-6 * above
        cov = (
            0.006**2
            + 20.0**2 * np.outer(x, x)
            + air_var * np.outer(fade, fade)
            + 0.00005**2 * np.outer(k - k[-2], k - k[-2])
            + 0.002**2 * np.outer(above, above)
            + (stay[:, None] == stay) * (belief.wheel_var + belief.bias_var[cell])
            + np.eye(k.size)
            * (belief.shot_sd[cell] ** 2 + belief.round_var - belief.bias_var[cell])
        )
        yield mean, cov


def test_conditioning_equals_the_joint_normal_density():
    """Weights, and the next shot at the last stay, by the density of scipy and by solving."""
    belief = _belief()
    found = condition(belief, SHOTS, here=2.48e-4, last=1)
    evidence, ahead, spread = [], [], []
    for mean, cov in _joint(belief, SHOTS):
        evidence.append(stats.multivariate_normal.logpdf(SHOTS.readings, mean[:-1], cov[:-1, :-1]))
        gain = np.linalg.solve(cov[:-1, :-1], cov[:-1, -1])
        ahead.append(mean[-1] + gain @ (SHOTS.readings - mean[:-1]))
        spread.append(cov[-1, -1] - gain @ cov[:-1, -1])
    weight = belief.weight * np.exp(np.array(evidence) - max(evidence))

    assert found.weight == pytest.approx(weight / weight.sum(), rel=1e-6)
    # The mean of the shot, without its own scatter and without the rounding of the display.
    rounding = belief.shot_sd**2 + belief.round_var
    assert found.next_here_var == pytest.approx(
        np.array(spread) - rounding, rel=1e-5, abs=2 * float(np.max(belief.bias_var))
    )
    assert found.next_here == pytest.approx(np.array(ahead), rel=1e-5)


def test_the_tail_of_a_shot_is_that_without_it():
    """Leaving one out by the inverse equals conditioning on the others, on a fine scale."""
    belief = _belief(readability=1e-9)
    found = condition(belief, SHOTS, here=2.48e-4, last=1)
    kept = np.array([True, True, True, False])
    rest = condition(belief, SHOTS, kept=kept, here=2.48e-4, last=1)
    spread = np.sqrt(rest.next_here_var + belief.shot_sd**2)
    tail = 2 * stats.norm.sf(np.abs(SHOTS.readings[3] - rest.next_here) / spread)

    # The creep is counted from the last shot believed, which moves by one.
    assert found.tail[3] == pytest.approx(rest.weight @ tail, rel=1e-3)


def test_shots_that_rise_are_taken_for_air():
    """Each shot at one stay heavier than the last, by less each time: air, and not done."""
    rising = next_setting([_stay(252, 245.0, 247.5, 248.9, 249.6, 249.9)], **CASE)
    level = next_setting([_stay(252, 249.9, 250.1, 249.9, 250.0, 250.1)], **CASE)

    assert rising.p_air > 0.5
    assert level.p_air < 0.05
    assert rising.mean > 0.2495
    assert level.done


def test_told_that_no_air_is_left_none_is_looked_for():
    """With a chance of nought the first shots count in full."""
    step = next_setting([_stay(252, 249.9, 250.1)], **CASE, prior=TrimPrior(air_chance=0.0))

    assert step.p_air == 0.0
    assert step.done


def test_a_pair_of_shots_teaches_the_play():
    """Up to a setting and down to the same one: the difference over the slope is the play."""
    pair = [
        _stay(245, 244.9, 245.1),
        ShotGroup(setting=2.45e-4, readings=(0.2529, 0.2531), from_above=True),
    ]
    step = next_setting(pair, **CASE, lost_motion=5e-6)

    # Told 5 mL with half of it as sd; shown 8.0 g less some error of the wheel.
    assert step.lost_motion == pytest.approx(7.8e-6, abs=4e-7)
    assert step.lost_motion_sd < 1.2e-6
    assert step.direction is not Direction.STAY


def test_a_setting_from_above_is_left_by_more_than_the_play():
    """Once the play is learnt, the way round is its mean and twice its sd."""
    pair = [
        _stay(250, 249.9, 250.1),
        ShotGroup(setting=2.5e-4, readings=(0.2579, 0.2581), from_above=True),
    ]
    step = next_setting(pair, **CASE, lost_motion=5e-6)

    assert step.direction is Direction.DOWN
    assert step.setting - step.via == pytest.approx(step.lost_motion + 2 * step.lost_motion_sd)


def test_doses_that_scatter_too_much_are_said():
    """Fifteen shots of 3 % cannot show a mean within 0.5 %."""
    step = next_setting((), **CASE, prior=TrimPrior(shot_sd=0.0075))

    assert not step.feasible
    assert step.limited_by == "scatter"
    assert "scatter too much" in step.because


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"upper_limit": 0.25}, "upper_limit is 0.25 kg; give one above the target"),
        ({"target": 0.6, "upper_limit": 0.7}, "the cylinder gives 0.5 kg at most"),
        ({"within": 0.0}, "within is 0; give a number above zero"),
        ({"alpha": 1.0}, "alpha is 1; give a share"),
        ({"readability": -1e-5}, "readability is -1e-05; give zero or a number above it"),
        ({"prior": TrimPrior(slope_low=1000.0)}, "one end only"),
        ({"prior": TrimPrior(slope_low=1000.0, slope_high=900.0)}, "not below slope_low"),
    ],
)
def test_what_cannot_be_used_is_named(change, message):
    """The field, what was given and what would do are in the sentence."""
    with pytest.raises(BadInput, match=message):
        next_setting((), **CASE | change)


@pytest.mark.parametrize(
    ("group", "message"),
    [
        (ShotGroup(setting=6e-4, readings=(0.25,)), "scale runs from 0 to 0.0005"),
        (ShotGroup(setting=2e-4, readings=()), r"shots\[0\].readings holds 0"),
        (ShotGroup(setting=2e-4, readings=(math.nan,)), "give finite numbers only"),
    ],
)
def test_shots_that_cannot_be_used_are_named(group, message):
    """A setting off the scale, an empty stay and a reading that is no number are refused."""
    with pytest.raises(BadInput, match=message):
        next_setting([group], **CASE)
