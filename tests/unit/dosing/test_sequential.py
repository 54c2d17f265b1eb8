"""Proving with planned looks. All readings are invented; simulations print standard errors."""

from __future__ import annotations

import math
import sys

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.science.sequential import (
    SequentialVerdict,
    sequential_chance,
    sequential_look,
    sequential_plan,
)
from fillwright.science.sequential_rates import draw_runs, edge_sd


@pytest.fixture(scope="module")
def plan():
    """The plan that is offered where nothing else is asked for."""
    return sequential_plan(rng=np.random.default_rng(31), runs=40_000)


def _run(n, sd, *, seed, mean=0.250):
    """Readings of a steady machine."""
    return mean + sd * np.random.default_rng(seed).standard_normal(n)


def _look(readings, plan, **given):
    """Look at readings against 250 g ± 1 %."""
    return sequential_look(readings, plan=plan, target=0.250, tolerance=0.0025, **given)


def test_false_claims_stay_at_the_stated_level(plan):
    """With exactly 99 % inside, at most 5 % of runs end in a claim, whatever the offset."""
    sys.stdout.write(f"{plan.false_claims} with standard error {plan.standard_error:.4f}\n")

    assert max(plan.false_claims) <= 0.05 + 2 * plan.standard_error
    assert max(plan.false_claims) >= 0.04


def test_looks_at_the_stated_confidence_would_claim_falsely_too_often(plan):
    """At 0.95 a look the false claims are about 7 %: the looks need more confidence."""
    assert 0.96 < plan.look_confidence < 0.975


def test_every_look_needs_less_room_than_the_one_before(plan):
    """More readings need fewer sds of room, and an early end asks for less than a claim."""
    assert list(plan.factors) == sorted(plan.factors, reverse=True)
    assert all(f < k for f, k in zip(plan.futile_factors[:-1], plan.factors, strict=False))
    assert plan.futile_factors[-1] == plan.factors[-1]


def test_the_same_chance_gives_the_same_plan():
    """A plan is a function of its arguments and the state of the generator."""
    first, second = (
        sequential_plan((10, 20), runs=2000, rng=np.random.default_rng(9)) for _ in range(2)
    )

    assert first == second


def test_between_looks_nothing_is_shown(plan):
    """Before a look decides there is no mean, sd or width: only when the next look is."""
    answer = _look(_run(7, 1e-5, seed=1), plan)

    assert answer.verdict is SequentialVerdict.CARRY_ON
    assert not answer.ended
    assert (answer.mean, answer.sd, answer.k, answer.half_width) == (None, None, None, None)
    assert answer.because == "Carry on: the next look is at 8 readings."


def test_no_reading_yet_is_an_answer(plan):
    """An empty run: carry on to the first look."""
    assert _look([], plan).next_look == 8


def test_a_steady_machine_is_enough_early(plan):
    """Sd of 0.1 % of the target: enough at the first look, and the sentence says so."""
    answer = _look(_run(8, 0.00025, seed=2), plan)

    assert answer.verdict is SequentialVerdict.ENOUGH
    assert answer.decided_at == 8
    assert abs(answer.mean - 0.250) + answer.half_width <= 0.0025
    assert answer.because == (
        "99 in a hundred doses within ±1 %: shown after 8 readings, with 95 % confidence over "
        "all looks."
    )


def test_what_comes_after_the_deciding_look_changes_nothing(plan):
    """Wild readings after "enough" at 8 leave the verdict and its figures as they were."""
    first = _run(8, 0.00025, seed=2)
    before, after = _look(first, plan), _look([*first, 0.1, 0.9, 0.2, 0.3], plan)

    assert after.verdict is SequentialVerdict.ENOUGH
    assert (after.decided_at, after.mean, after.sd) == (8, before.mean, before.sd)
    assert after.shots == 12


def test_a_machine_far_from_the_claim_ends_early(plan):
    """Sd of 1 % of the target: ended at the first look, as impossible."""
    answer = _look(_run(8, 0.0030, seed=3), plan)

    assert answer.verdict is SequentialVerdict.IMPOSSIBLE
    assert answer.decided_at == 8
    assert answer.because.endswith("does not hold; 8 readings speak against it.")


def test_a_hopeless_run_that_is_not_impossible_ends_as_not_proved(plan):
    """Room between the two bounds: not shown, and going on would hardly change that."""
    # Mean right, sd such that 2.1 sds fit: below the 2.2 of the early end at 8 readings.
    shape = np.array([-1.3, 0.4, 1.1, -0.6, 0.2, -0.9, 1.4, -0.3])
    shape = (shape - shape.mean()) / shape.std(ddof=1)
    answer = _look(0.250 + 0.0025 / 2.1 * shape, plan)

    assert answer.verdict is SequentialVerdict.NOT_PROVED
    assert answer.because.endswith("and going on would hardly change that.")


def test_a_short_dose_that_stands_out_voids_the_run(plan):
    """Seven doses within 0.1 g and one short by 1.5 g: not steady, and nothing is deleted."""
    readings = [0.2500, 0.2501, 0.2499, 0.2500, 0.2485, 0.2501, 0.2500, 0.2499]
    answer = _look(readings, plan)

    assert answer.verdict is SequentialVerdict.NOT_STEADY
    assert answer.because == "The first 8 readings are not steady and prove nothing."


@pytest.mark.parametrize(
    ("readings", "step"),
    [([0.25] * 8, 0.0), ([0.25, 0.251] * 4, 0.001), ([0.2495, 0.2505] * 4, 0.01)],
)
def test_a_coarse_scale_ends_the_run(readings, step, plan):
    """Equal readings, or a step above 1.5 sds, show no scatter."""
    verdict = _look(readings, plan, readability=step).verdict

    assert verdict is SequentialVerdict.SCALE_TOO_COARSE


def test_the_last_look_always_ends_it(plan):
    """With 48 readings no run carries on."""
    for seed in range(12):
        assert _look(_run(48, 0.0007, seed=seed), plan).ended


def test_drawn_runs_have_means_and_sds_of_real_readings():
    """Means and sds drawn by blocks agree with those of single readings, also jointly."""
    rng = np.random.default_rng(32)
    looks = (4, 5, 12)
    drawn = draw_runs(looks, runs=40_000, rng=rng)
    row = rng.standard_normal((40_000, 12))
    means = np.stack([row[:, :n].mean(axis=1) for n in looks], axis=1)
    sds = np.stack([row[:, :n].std(axis=1, ddof=1) for n in looks], axis=1)
    # Moments of 40,000 runs have standard errors near 0.005.
    assert np.cov(drawn.mean.T) == pytest.approx(np.cov(means.T), abs=0.01)
    assert np.cov(drawn.sd.T) == pytest.approx(np.cov(sds.T), abs=0.01)
    assert drawn.sd.mean(axis=0) == pytest.approx(sds.mean(axis=0), abs=0.01)


def test_chances_agree_with_runs_of_single_readings(plan):
    """Share of "enough" and mean readings of 250 looked-at runs, within 3.5 standard errors."""
    rng = np.random.default_rng(33)
    ends = []
    for _ in range(250):
        answer = _look(0.250 + 0.0007 * rng.standard_normal(48), plan)
        ends.append((answer.verdict is SequentialVerdict.ENOUGH, answer.decided_at))
    enough, used = np.array(ends, dtype=float).T
    told = sequential_chance(plan, 0.0007, tolerance=0.0025, rng=rng)
    error = math.sqrt(told.chance * (1 - told.chance) / 250)
    sys.stdout.write(f"{enough.mean():.3f} ± {error:.3f}, told {told.chance:.3f}\n")

    # Order tests take up to 2 % of the runs on top.
    assert told.chance - 0.02 - 3.5 * error <= enough.mean() <= told.chance + 3.5 * error
    assert used.mean() == pytest.approx(told.mean_readings, abs=1 + 3.5 * used.std() / 250**0.5)


def test_ending_early_costs_few_proofs_and_saves_readings(plan):
    """At the edge of the reachable: few proofs lost; beyond it a third of the readings."""
    rng = np.random.default_rng(34)
    edge = sequential_chance(plan, 0.28, tolerance=1.0, rng=rng)
    far = sequential_chance(plan, 0.5, tolerance=1.0, rng=rng)
    blind = sequential_chance(plan, 0.5, tolerance=1.0, futility=False, rng=rng)

    assert edge.lost <= 0.05
    assert far.mean_readings < blind.mean_readings / 3
    assert blind.stopped_early == 0.0


def test_a_worse_machine_is_proved_less_often(plan):
    """Chance falls with the sd and with the offset."""
    rng = np.random.default_rng(35)
    by_sd = [sequential_chance(plan, s, tolerance=1.0, rng=rng).chance for s in (0.2, 0.26, 0.32)]
    off = sequential_chance(plan, 0.26, offset=0.2, tolerance=1.0, rng=rng).chance

    assert by_sd == sorted(by_sd, reverse=True)
    assert off < by_sd[1]


def test_the_edge_of_truth_at_the_centre_is_a_quantile():
    """Centred, 99 % within ±1 means an sd of 1 / 2.5758 (standard normal table)."""
    assert edge_sd(0.0, content=0.99) == pytest.approx(1 / 2.5758, rel=1e-4)
    # Far off only the nearer limit counts: 0.2 / 2.3263.
    assert edge_sd(0.8, content=0.99) == pytest.approx(0.2 / 2.3263, rel=1e-4)


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"looks": (12, 8)}, "looks do not rise"),
        ({"looks": ()}, "looks do not rise"),
        ({"looks": (3, 8)}, r"looks\[0\] is 3"),
        ({"content": 0.4}, "content is 0.4"),
        ({"confidence": 1.0}, "confidence is 1"),
        ({"runs": 10}, "runs is 10"),
        ({"hopeless": 0.0, "runs": 1000}, "hopeless is 0"),
    ],
)
def test_a_plan_that_cannot_be_is_refused(given, message):
    """Each unusable figure of a plan is refused by its name."""
    with pytest.raises(BadInput, match=message):
        sequential_plan(**{"rng": np.random.default_rng(1), **given})


def test_figures_of_a_look_are_checked(plan):
    """Tolerance, target and readings are refused by name."""
    with pytest.raises(BadInput, match="tolerance is 0"):
        sequential_look([0.25], plan=plan, target=0.25, tolerance=0.0)
    with pytest.raises(BadInput, match=r"readings\[0\] is nan"):
        sequential_look([math.nan], plan=plan, target=0.25, tolerance=0.1)
    with pytest.raises(BadInput, match="true_sd is -1"):
        sequential_chance(plan, -1.0, tolerance=1.0, rng=np.random.default_rng(1))
