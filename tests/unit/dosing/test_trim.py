"""Each act of trimming, and the exactness of the model behind it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from fillwright.errors import BadInput
from fillwright.science.trim import Direction, ShotGroup, TrimPrior, next_setting
from fillwright.science.trim_model import condition, prior_belief

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

    # offset 1.2 % of 500 g, slope √(1.8² + 0.7²) %, wheel 0.1 % of 500 g, shots 0.25 % · 250 g
    # spread on nine points half a log-sd of 0.6 apart, rounding 0.01 g / √12.
    grid = np.linspace(-2, 2, 9)
    weight = np.exp(-0.5 * grid**2)
    shot = 0.0025 * 0.25 * np.exp(0.6 * grid)
    line = 0.006**2 + (setting * 1000 * math.hypot(0.018, 0.007)) ** 2 + 0.0005**2
    sd = np.sqrt(line + shot**2 + 1e-10 / 12)
    over = stats.norm.sf(0.2525, loc=1000 * setting, scale=sd)
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
    step = next_setting([_stay(239, 5.0)], **CASE)

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


def test_conditioning_equals_leaving_out_and_the_normal_density():
    """Weights are those of the joint normal density; the tail of a shot is that without it."""
    belief = prior_belief(
        target=0.25,
        cylinder=5e-4,
        slope=1000.0,
        slope_sd=20.0,
        offset_sd=0.012,
        wheel_sd=5e-7,
        shot_sd=0.0025,
        shot_spread=0.6,
        readability=1e-4,
    )
    settings = np.array([2.4e-4, 2.4e-4, 2.48e-4, 2.48e-4])
    stays = np.array([0, 0, 1, 1])
    readings = np.array([0.2391, 0.2385, 0.2480, 0.2487])
    found = condition(belief, settings, stays, readings, here=2.48e-4, last=1)

    evidence = []
    for sd, bias in zip(belief.shot_sd, belief.bias_var, strict=True):
        cov = (
            belief.offset_var
            + belief.slope_var * np.outer(settings, settings)
            + (stays[:, None] == stays) * (belief.wheel_var + bias)
            + np.eye(4) * (sd**2 + belief.round_var - bias)
        )
        evidence.append(stats.multivariate_normal.logpdf(readings, 1000.0 * settings, cov))
    weight = belief.weight * np.exp(np.array(evidence) - max(evidence))
    assert found.weight == pytest.approx(weight / weight.sum(), rel=1e-6)

    keep = np.array([True, True, False, True])
    rest = condition(belief, settings[keep], stays[keep], readings[keep], here=2.48e-4, last=1)
    # The next reading at the stay shares the left-over rounding of the others there.
    spread = np.sqrt(_next_variance(belief, settings[keep], stays[keep]))
    mean = _next_mean(belief, settings[keep], stays[keep], readings[keep])
    tail = 2 * stats.norm.sf(np.abs(readings[2] - mean) / spread)
    assert found.tail[2] == pytest.approx(rest.weight @ tail, rel=1e-6)


def _joint(belief, settings, stays):
    """Covariance of readings and of the next reading at the last stay, a grid point each."""
    x = np.append(settings, 2.48e-4)
    s = np.append(stays, 1)
    return [
        belief.offset_var
        + belief.slope_var * np.outer(x, x)
        + (s[:, None] == s) * (belief.wheel_var + bias)
        + np.eye(x.size) * (sd**2 + belief.round_var - bias)
        for sd, bias in zip(belief.shot_sd, belief.bias_var, strict=True)
    ]


def _next_variance(belief, settings, stays):
    """Variance of the next reading there, given the others."""
    return np.array(
        [
            c[-1, -1] - c[-1, :-1] @ np.linalg.solve(c[:-1, :-1], c[:-1, -1])
            for c in _joint(belief, settings, stays)
        ]
    )


def _next_mean(belief, settings, stays, readings):
    """Mean of the next reading there, given the others."""
    return np.array(
        [
            0.248 + c[-1, :-1] @ np.linalg.solve(c[:-1, :-1], readings - 1000.0 * settings)
            for c in _joint(belief, settings, stays)
        ]
    )


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
