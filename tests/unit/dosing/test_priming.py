"""Whether the air is out, from the weights of a purge. All readings are invented."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate, stats

from fillwright.errors import BadInput
from fillwright.science import priming_model
from fillwright.science.priming import (
    PrimingPrior,
    PrimingVerdict,
    prime,
    prime_start,
    prime_state,
    prime_take,
)
from fillwright.science.priming_model import first_belief, take, weighed
from fillwright.science.priming_prior import CurveKind, curves_of, height

CLIMB = [462, 477, 486, 491, 494, 496, 498, 499, 499, 500, 501, 500, 501, 500]
CLIMB = [value / 1000 for value in CLIMB]


def _believed(readings, prior=None):
    """The belief after readings given as shares of the dose."""
    belief = first_belief(prior or PrimingPrior(), rounding_sd=0.0)
    for reading in readings:
        belief = take(belief, reading - 1.0)
    return belief


def test_a_climb_is_not_primed_until_it_is_flat():
    """The same purge: carry on while it climbs, primed once it is flat."""
    early, late = prime(CLIMB[:7], sd_guess=0.001), prime(CLIMB, sd_guess=0.001)

    assert early.verdict is PrimingVerdict.CARRY_ON
    assert late.verdict is PrimingVerdict.PRIMED
    assert late.primed
    assert late.p_primed > 0.95
    assert early.p_primed < 0.6
    assert late.settled == pytest.approx(0.5005, abs=3 * late.settled_sd)


def test_the_words_say_doses_shortfall_and_probability():
    """Primed is worded as no sign of air in so many doses, and a shortfall with its chance."""
    answer = prime(CLIMB[:12], sd_guess=0.001)

    assert answer.because == (
        "No sign of air in the last 12 doses; "
        f"shortfall below 0.3 % with probability {answer.p_primed:.2f}."
    )


def test_a_low_shot_is_named_and_holds_back_the_verdict():
    """A bubble in the last three doses: carry on, whatever the probability."""
    with_bubble = [*CLIMB, 0.478]
    answer = prime(with_bubble, sd_guess=0.001)
    later = prime([*with_bubble, 0.500, 0.501, 0.500], sd_guess=0.001)

    assert answer.low_shots == (14,)
    assert answer.quiet == 0
    assert answer.verdict is PrimingVerdict.CARRY_ON
    assert answer.because == "Dose 15 was low, as when a bubble passes: carry on."
    assert later.verdict is PrimingVerdict.PRIMED
    assert later.quiet == 3


def test_fewer_than_six_shots_are_never_enough():
    """Five equal weights: not primed, and the words say how many are needed."""
    answer = prime([0.5] * 5, sd_guess=0.001)

    assert not answer.primed
    assert answer.because == "Too few doses to say: make 6 at least."


def test_air_that_keeps_coming_is_to_be_looked_for():
    """Every fourth of 32 doses low by 4 %: look for where air comes in."""
    readings = [0.48 if i % 4 == 3 else 0.5 + 0.001 * (i % 2) for i in range(32)]
    answer = prime(readings, sd_guess=0.001)

    assert answer.verdict is PrimingVerdict.LOOK_FOR_AIR
    assert answer.because == "After 32 doses 8 of 32 doses were low: look for where air comes in."


@pytest.mark.parametrize(
    "readings",
    [
        pytest.param([0.5 * (1 + 0.004 * i) for i in range(31)], id="creeps by 0.4 % a dose"),
        pytest.param([0.5, 0.4] * 16, id="no two neighbours alike"),
    ],
)
def test_what_never_settles_is_not_called_primed(readings):
    """After thirty doses that do not settle the verdict is to look for a cause."""
    answer = prime(readings, sd_guess=0.001)

    assert answer.verdict is PrimingVerdict.LOOK_FOR_AIR
    assert "look for" in answer.because


def test_nothing_but_air_is_an_answer():
    """Readings of zero are no error: no product has come."""
    answer = prime([0.0, 0.0, 0.0])

    assert answer.verdict is PrimingVerdict.CARRY_ON
    assert answer.p_primed == 0.0
    assert answer.because.startswith("No product has come")
    assert prime([0.0] * 30).verdict is PrimingVerdict.LOOK_FOR_AIR


def test_all_doses_and_the_sd_doubled_change_nothing():
    """Only ratios of masses matter."""
    one = prime(CLIMB, sd_guess=0.001, readability=1e-4)
    two = prime([2 * y for y in CLIMB], sd_guess=0.002, readability=2e-4)

    assert two.p_primed == pytest.approx(one.p_primed, rel=1e-9)
    assert two.settled == pytest.approx(2 * one.settled, rel=1e-9)


def test_a_wider_limit_is_likelier():
    """The probability rises with the shortfall allowed; at the bound it is the one wanted."""
    chances = [prime(CLIMB[:10], sd_guess=0.001, limit=x).p_primed for x in (1e-3, 3e-3, 1e-2)]
    upper = prime(CLIMB[:10], sd_guess=0.001).shortfall_upper
    below, above = (
        prime(CLIMB[:10], sd_guess=0.001, limit=factor * upper).p_primed for factor in (0.97, 1.03)
    )

    assert chances == sorted(chances)
    assert below < 0.83 < above


def test_shot_by_shot_equals_all_at_once():
    """Taken one by one with the same unit, the answer is the same."""
    now = prime_start(0.5005, sd_guess=0.001)
    for value in CLIMB:
        now = prime_take(now, value)

    assert prime_state(now).p_primed == pytest.approx(
        prime(CLIMB, sd_guess=0.001).p_primed, abs=0.01
    )


def test_keeping_every_set_of_low_shots_changes_little(monkeypatch):
    """With 4096 sets and none called faint the probability moves by less than 0.01."""
    readings = [0.95, 0.965, 0.94, 0.982, 0.988, 0.991, 0.96, 0.996, 0.998, 1.0]
    kept = weighed(_believed(readings)).below(0.003)
    monkeypatch.setattr(priming_model, "_SETS", 4096)
    monkeypatch.setattr(priming_model, "_FAINT", 0.0)
    every = _believed(readings)

    assert every.low.shape == (1024, 10)
    assert weighed(every).below(0.003) == pytest.approx(kept, abs=0.01)


def test_what_is_learnt_comes_near_the_start_it_was_learnt_from():
    """A decay of two doses: the learnt decay moves a third of the way to it, and narrows.

    The first prior, 3.5, counts as two starts: 3.5^(2/3) 2^(1/3) = 2.90.
    """
    rng = np.random.default_rng(5)
    readings = 1 - 0.08 * np.exp(-np.arange(18) / 2.0) + 0.001 * rng.standard_normal(18)
    learnt = prime(readings, sd_guess=0.001).learnt

    assert learnt.decay == pytest.approx(2.90, rel=0.1)
    assert learnt.decay_spread < PrimingPrior().decay_spread
    assert learnt.sd == pytest.approx(0.001, rel=0.4)
    assert learnt.starts == 1
    assert prime(readings, prior=learnt).learnt.starts == 2


def test_shares_learnt_stay_shares():
    """Twenty starts with late pockets: what is learnt is still a usable prior."""
    prior = PrimingPrior()
    readings = [0.94] * 5 + [1 - 0.06 * math.exp(-i / 2) for i in range(1, 12)]
    for _ in range(20):
        prior = prime(readings, sd_guess=0.002, prior=prior).learnt

    assert prior.late_share > 0.3
    assert prior.slow_share + prior.late_share == pytest.approx(0.6)


def test_a_short_purge_does_not_teach_that_slow_ends_are_rare():
    """Shares of slow ends and late pockets never fall from one start to the next."""
    learnt = prime(CLIMB, sd_guess=0.001).learnt

    assert learnt.slow_share >= PrimingPrior().slow_share
    assert learnt.late_share >= PrimingPrior().late_share


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"readings": []}, "readings holds 0"),
        ({"readings": [0.5, math.nan]}, r"readings\[1\]"),
        ({"sd_guess": 0.0}, "sd_guess is 0"),
        ({"limit": 0.0}, "limit is 0"),
        ({"probability": 1.0}, "probability is 1"),
        ({"readability": -1.0}, "readability is -1"),
        ({"prior": PrimingPrior(decay=0.0)}, "prior.decay is 0"),
        ({"prior": PrimingPrior(slow_share=1.2)}, "slow_share"),
        ({"prior": PrimingPrior(low_share=0.0)}, "prior.low_share is 0"),
        ({"prior": PrimingPrior(sd=-1.0)}, "prior.sd is -1"),
    ],
)
def test_what_cannot_be_used_is_named(given, field):
    """Each unusable figure is refused by its name."""
    with pytest.raises(BadInput, match=field):
        prime(**{"readings": CLIMB, **given})


def test_curves_start_at_one_and_fall():
    """Every curve is 1 at the first shot, never rises, and the weights sum to 1."""
    curves = curves_of(PrimingPrior())
    rows = np.array([height(curves, shot) for shot in range(1, 40)])

    assert rows[0] == pytest.approx(1.0)
    assert np.all(np.diff(rows, axis=0) <= 0)
    assert np.sum(np.exp(curves.log_weight)) == pytest.approx(1.0)


def test_weights_and_probabilities_agree_with_quadrature():
    """Evidence and probability at single points equal scipy's, by quadrature over the fall.

    Readings are multivariate normal given the first shortfall A, which is half-normal.
    """
    readings = np.array([-0.05, -0.034, -0.06, -0.017, -0.011])
    belief = first_belief(PrimingPrior(), rounding_sd=0.0)
    for reading in readings:
        belief = take(belief, reading)
    after = weighed(belief)
    log_weight = belief.curves.log_weight
    points = [(0, 2, 7, 1), (0, 1, 9, 0), (1, 3, 15, 1), (2, 2, 18, 1), (1, 4, 22, 0)]
    found, expected = [], []
    for h, s, k, a in points:
        low = belief.low[h]
        g = np.array([height(belief.curves, shot)[k] for shot in range(1, 6)])
        scale = PrimingPrior().first_shortfall * (0.3, 1.4)[a]
        cov = np.diag(belief.sd[s] ** 2 + 0.03**2 * low) + 0.25
        y = readings + 0.04 * low
        density = stats.multivariate_normal(np.zeros(5), cov).pdf

        def joint(fall, y=y, g=g, density=density, scale=scale):
            return density(y + fall * g) * stats.halfnorm.pdf(fall, scale=scale)

        centre = float(after.fall[h, s, k, a])
        spread = float(after.fall_sd[h, s, k, a])
        ends = (max(0.0, centre - 9 * spread), max(centre, 0.0) + 9 * spread)
        total = integrate.quad(joint, *ends, epsrel=1e-10, epsabs=0)[0]
        # Beta-binomial price of the low shots, with a mean of 0.1 and a count of 10.
        price = stats.betabinom.pmf(low.sum(), 5, 1.0, 9.0) / math.comb(5, int(low.sum()))
        sd_weight = np.exp(-0.5 * np.linspace(-1.6, 1.6, 5)[s] ** 2)
        expected.append(total * price * sd_weight * np.exp(log_weight[k]) * (0.4, 0.6)[a])
        found.append(after.weight[h, s, k, a])

        next_height = float(after.height[k, 0])
        level = float(after.level[h, s, k, a])
        limit = 0.5 * max(centre, spread) * next_height
        most = limit * (1 + level) / next_height
        part = integrate.quad(joint, ends[0], most, epsrel=1e-10, epsabs=0)[0]
        only = replace(
            after,
            weight=np.array([1.0]),
            level=np.array([level]),
            level_var=np.array([0.0]),
            fall=np.array([centre]),
            fall_sd=np.array([spread]),
            height=np.array([next_height]),
        )
        assert only.below(limit) == pytest.approx(part / total, abs=1e-8)
        mean = integrate.quad(lambda x, j=joint: x * j(x), *ends, epsrel=1e-10, epsabs=0)[0]
        assert only.first()[0] == pytest.approx(mean / total, rel=1e-6)

    ratios = np.array(found) / np.array(expected)
    assert ratios == pytest.approx(ratios[0], rel=1e-6)


def test_the_curve_kinds_are_the_four_of_the_reference():
    """Exponential, power, two exponentials and late pocket, by hand at the third shot."""
    curves = curves_of(PrimingPrior(decay=2.0))
    third = height(curves, 3)
    kinds = curves.kind.tolist()
    power, double = kinds.index(CurveKind.POWER), kinds.index(CurveKind.DOUBLE)
    late = kinds.index(CurveKind.LATE)

    # span 0.3 × 2: (1 + 2/0.6)⁻² = 0.053254; 0.25 × 2: 0.75 e⁻⁴ + 0.25 e^(-4/3) = 0.079636
    assert third[power] == pytest.approx(0.053254, abs=1e-6)
    assert third[double] == pytest.approx(0.079636, abs=1e-6)
    assert third[late] == 1.0
