"""What is said of runs of doses whose kind is known; runs and figures are invented."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.science.signature import FEWEST, PRIOR, recognise
from fillwright.science.signature_draw import draw_level, draw_run
from fillwright.science.signature_kinds import DoseKind, KindShares, signature_words

TARGET = 0.25
SD = 0.0006
STEP = 0.0001


def run(count=60, *, seed=1):
    """A steady run of doses about the target."""
    return TARGET + SD * np.random.default_rng(seed).standard_normal(count)


def told(doses, **more):
    """The signature of doses of 250 g on a scale that shows 0.1 g."""
    return recognise(doses, **{"target": TARGET, "readability": STEP, **more})


@pytest.mark.parametrize("kind", list(DoseKind))
def test_clear_runs_of_each_kind_are_named(kind):
    """Of 12 runs of 60 doses with effects of 6 sd at least 9 are named, none other surely."""
    rng = np.random.default_rng(5)
    right = wrong = 0
    for _ in range(12):
        level = draw_level(rng, 60)
        effect = 4.0 if kind is DoseKind.SCATTER else 6.0
        doses = draw_run(rng, kind, level=level, effect=effect).doses
        answer = told(TARGET + SD * doses, level=level)
        right += kind in {answer.best, *answer.together}
        wrong += kind not in {answer.best, *answer.together} and answer.stated > 0.9

    assert right >= 9
    assert wrong <= 1


def test_a_step_is_found_in_place_and_size():
    """A step of 2 g up from dose 31 on: place, size and their intervals hold it."""
    doses = run()
    doses[30:] += 0.002

    answer = told(doses)

    assert answer.best is DoseKind.STEP
    assert answer.change_at == 31
    assert answer.change_interval[0] <= 31 <= answer.change_interval[1]
    assert answer.size_interval[0] < answer.size < answer.size_interval[1]
    # The difference of the two means of 30, shrunk by the prior by about 1 %.
    assert answer.size == pytest.approx(np.mean(doses[30:]) - np.mean(doses[:30]), rel=0.03)
    assert answer.noise_sd == pytest.approx(SD, rel=0.25)
    assert answer.because.startswith("Is a step (1.00); next is ")


def test_a_creep_is_told_from_its_first_dose():
    """A fall of 4 g from dose 21 on is a creep down to the last dose."""
    doses = run()
    doses[20:] -= 0.004 * np.arange(1, 41) / 40

    answer = told(doses, level=np.ones(60))

    assert answer.best is DoseKind.CREEP
    assert answer.size == pytest.approx(-0.004, rel=0.15)
    assert answer.change_interval[0] - 3 <= 21 <= answer.change_interval[1] + 3


def test_short_doses_are_counted_from_one():
    """Doses 12 and 40 short by 5 g and one all but missing are short doses, in their places."""
    doses = run()
    doses[[11, 39]] -= 0.005
    doses[49] = 0.01

    answer = told(doses)

    assert answer.best is DoseKind.SHORT
    assert {12, 40, 50} <= set(answer.short_at)
    assert len(answer.short_at) <= 4
    assert answer.size == pytest.approx(-0.24, rel=0.01)


def test_a_steady_run_has_no_change_and_no_size():
    """A steady run names nothing but itself."""
    answer = told(run())

    assert answer.best is DoseKind.STEADY
    assert answer.change_at is None
    assert answer.change_interval is None
    assert answer.size is None
    assert answer.short_at == ()
    assert answer.usable


def test_a_dose_far_above_is_a_finding_in_a_steady_run():
    """One double dose is no kind of its own: the run is steady and the dose is named."""
    doses = run()
    doses[7] = 2 * TARGET

    answer = told(doses)

    assert answer.best is DoseKind.STEADY
    assert answer.stands_out == (8,)
    assert "far from all others: dose 8" in answer.because


def test_a_coarse_scale_says_nothing():
    """Above 1.5 sd of step the likelihood is flat, the posterior is the prior, nothing named."""
    step = 2.7 * SD
    doses = np.round(run() / step) * step

    answer = told(doses, readability=step)

    assert not answer.usable
    assert answer.best is None
    assert answer.likelihood == KindShares(**dict.fromkeys((k.value for k in DoseKind), 1.0))
    assert answer.posterior == PRIOR
    assert "above 1.5 sd" in answer.because


@pytest.mark.parametrize("step", [0.0, STEP])
def test_equal_readings_say_nothing(step):
    """Twenty equal readings, or two rows of equal ones: the scale hides the doses."""
    assert not told([TARGET] * 20, readability=step).usable
    assert not told([TARGET] * 20 + [1.01 * TARGET] * 20, readability=STEP).usable


def test_few_doses_say_nothing():
    """One dose fewer than the fewest is a verdict, not an error."""
    answer = told(run(FEWEST - 1))

    assert not answer.usable
    assert answer.because == "7 doses say nothing yet; 8 are the fewest."
    assert told(run(FEWEST)).usable


def test_without_a_level_a_fall_is_a_creep_or_the_level():
    """A straight fall, level not given: both are named and the level is asked for."""
    doses = run() - 0.003 * np.arange(60) / 60

    answer = told(doses)

    assert set(answer.together) == {DoseKind.CREEP, DoseKind.LEVEL}
    assert not answer.at_once
    assert answer.stated > 0.9
    assert answer.ask_level
    assert "hopper level would tell more" in answer.because


def test_a_level_that_falls_with_the_dose_stays_undecided():
    """A straight fall and a straight hopper: the level cannot tell, both are named."""
    fall = np.linspace(1.0, 0.4, 60)

    answer = told(run() + 0.005 * fall, level=fall)

    assert set(answer.together) == {DoseKind.CREEP, DoseKind.LEVEL}
    assert not answer.ask_level


def test_a_level_with_a_refill_tells_level_from_creep():
    """The dose follows a refill: level; the dose falls through it: creep."""
    level = np.concatenate([np.linspace(1.0, 0.4, 30), np.linspace(1.0, 0.4, 30)])
    follows, falls = run() + 0.005 * level, run() - 0.003 * np.arange(60) / 60

    assert told(follows, level=level).best is DoseKind.LEVEL
    assert told(falls, level=level).best is DoseKind.CREEP


def test_a_level_that_did_not_move_explains_nothing():
    """A constant level cannot be what the dose follows: it is as likely as a steady run."""
    answer = told(run() - 0.003 * np.arange(60) / 60, level=np.full(60, 0.7))

    assert answer.best is DoseKind.CREEP
    assert answer.together == ()


@pytest.mark.parametrize("seed", range(4))
def test_creep_with_level_is_named_or_left_undecided(seed):
    """Both at work: both named, or neither alone with more than 0.8."""
    level = np.concatenate([np.linspace(1.0, 0.4, 30), np.linspace(1.0, 0.4, 30)])
    doses = run(seed=seed) + 0.005 * level
    doses[20:] -= 0.006 * np.arange(1, 41) / 40

    answer = told(doses, level=level)

    assert set(answer.together) == {DoseKind.CREEP, DoseKind.LEVEL}
    assert answer.at_once
    assert max(answer.posterior.creep, answer.posterior.level) < 0.8
    assert "a creep and " in answer.because


@pytest.mark.parametrize(("seed", "wild_from"), [(0, 30), (1, 30), (2, 20), (3, 40)])
def test_step_with_scatter_is_named_or_left_undecided(seed, wild_from):
    """Both at work, at one place or two: both named, or neither alone with more than 0.8."""
    doses = run(seed=seed)
    doses[wild_from:] = TARGET + 3.5 * (doses[wild_from:] - TARGET)
    doses[30:] += 0.004

    answer = told(doses, level=np.ones(60))

    assert set(answer.together) == {DoseKind.STEP, DoseKind.SCATTER} or answer.stated < 0.8
    assert max(answer.posterior.step, answer.posterior.scatter) < 0.8


def test_step_and_creep_are_named_together_where_both_may_be():
    """Over drawn weak steps: whenever both exceed 0.2 and lead together, both are named."""
    rng = np.random.default_rng(2)
    seen = 0
    for _ in range(40):
        level = draw_level(rng, 30)
        doses = draw_run(rng, DoseKind.STEP, level=level, effect=2.5).doses
        answer = told(TARGET + SD * doses, level=level)
        both = answer.posterior.step + answer.posterior.creep
        lead = both > answer.posterior.of(answer.best)
        if lead and min(answer.posterior.step, answer.posterior.creep) > 0.2:
            seen += 1
            assert {DoseKind.STEP, DoseKind.CREEP} <= set(answer.together)
            assert answer.stated >= both - 1e-12

    assert seen >= 3


def test_the_likelihood_does_not_know_the_prior():
    """Another prior moves the posterior by Bayes' rule and leaves the likelihood alone."""
    doses = run(30)
    doses[15:] += 0.0007
    more = KindShares(**{k.value: 1.0 for k in DoseKind})
    one, other = told(doses), told(doses, prior=more)

    assert one.likelihood == other.likelihood
    assert max(one.likelihood.of(k) for k in DoseKind) == 1.0
    assert math.fsum(other.posterior.of(k) for k in DoseKind) == pytest.approx(1.0)
    ratio = other.posterior.step / other.posterior.steady
    assert ratio == pytest.approx(one.likelihood.step / one.likelihood.steady)
    # Half the prior on steady against a sixteenth on step is eight to one.
    assert ratio == pytest.approx(8 * one.posterior.step / one.posterior.steady)


@pytest.mark.parametrize(
    ("probability", "words"),
    [
        (0.49, ""),
        (0.5, "Looks like a step"),
        (0.8, "Looks like a step"),
        (0.81, "Is a step"),
    ],
)
def test_words_follow_the_probability(probability, words):
    """Nothing below 0.5, "looks like" to 0.8, "is" above."""
    assert signature_words([DoseKind.STEP], probability) == words


def test_words_join_kinds():
    """Not told apart is "or", at once is "and"."""
    kinds = [DoseKind.STEP, DoseKind.SCATTER]

    assert signature_words(kinds, 0.6) == "Looks like a step or growing scatter"
    assert signature_words(kinds, 0.9, at_once=True) == "Is a step and growing scatter"


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"level": [1.0, 2.0]}, "level holds 2 for 60 doses"),
        ({"target": 0.0}, "target is 0; give a number above zero"),
        ({"readability": -1.0}, "readability is -1; give zero"),
        ({"sd_guess": 0.0}, "sd_guess is 0; give a number above zero"),
        ({"prior": KindShares(**{k.value: 0.0 for k in DoseKind})}, "prior is 0"),
        (
            {"prior": KindShares(**{k.value: -float(k is DoseKind.STEP) for k in DoseKind})},
            "prior.step is -1",
        ),
    ],
)
def test_what_cannot_be_used_is_refused(given, message):
    """Each refusal names its field."""
    with pytest.raises(BadInput, match=message):
        told(run(), **given)
