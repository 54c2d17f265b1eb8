"""A few doses against a kept proof: limits by hand, stated chances by drawn machines."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.science.kept_proof import (
    KeptVerdict,
    kept_check,
    kept_judge,
    overlooked,
)

AIM, SD = 0.252, 0.4e-3


def test_the_limits_by_hand():
    """With 30 and 5: t(0.9875; 29) = 2.3638, F(0.975; 4, 29) = 3.2674 (tables, from memory)."""
    check = kept_check(SD, kept_shots=30, target=AIM)

    half = 2.3638 * 0.4e-3 / math.sqrt(5.0)
    assert check.mean_high - AIM == pytest.approx(half, rel=2e-4)
    assert AIM - check.mean_low == pytest.approx(half, rel=2e-4)
    assert check.most_sd == pytest.approx(0.4e-3 * math.sqrt(3.2674), rel=2e-4)


def test_the_error_of_the_trim_widens_the_limits_of_the_middle_alone():
    """Its variance is added to that of the mean."""
    bare = kept_check(SD, kept_shots=30, target=AIM)
    trimmed = kept_check(SD, kept_shots=30, target=AIM, trim_sd=0.3e-3)

    ratio = math.sqrt(0.4**2 / 5 + 0.3**2) / math.sqrt(0.4**2 / 5)
    assert trimmed.mean_high - AIM == pytest.approx(ratio * (bare.mean_high - AIM))
    assert trimmed.most_sd == bare.most_sd


def drawn(rng, *, kept_shots, shift=0.0, ratio=1.0, trim=0.0, runs=20_000):
    """Return how often drawn machines agree with their own kept proof."""
    kept = rng.normal(0.0, 1.0, size=(runs, kept_shots)).std(axis=1, ddof=1)
    centre = shift + rng.normal(0.0, trim, size=(runs, 1)) if trim else shift
    new = centre + rng.normal(0.0, ratio, size=(runs, 5))
    checks = kept_check(1.0, kept_shots=kept_shots, target=100.0)
    # The limits grow in step with the kept sd; the trim's part is added as it is known.
    t_half = (checks.mean_high - 100.0) * math.sqrt(5.0)
    half = t_half * np.sqrt(kept**2 / 5 + trim**2)
    agrees = (abs(new.mean(axis=1)) <= half) & (new.std(axis=1, ddof=1) <= kept * checks.most_sd)
    return float(agrees.mean())


@pytest.mark.parametrize("kept_shots", [8, 12, 30, 48])
@pytest.mark.parametrize("trim", [0.0, 0.6])
def test_an_unchanged_machine_disagrees_as_rarely_as_stated(kept_shots, trim):
    """Of 20 000 drawn machines at most 5 % disagree, and as many as the formula says."""
    rng = np.random.Generator(np.random.PCG64(20_261 + kept_shots))

    alarms = 1.0 - drawn(rng, kept_shots=kept_shots, trim=trim)

    stated = 1.0 - overlooked(kept_shots=kept_shots, shots=5, trim_ratio=trim)
    error = math.sqrt(0.05 * 0.95 / 20_000)
    assert alarms <= 0.05 + 3.0 * error
    assert alarms == pytest.approx(stated, abs=3.5 * error)


@pytest.mark.parametrize(
    ("shift", "ratio", "trim"),
    [(0.0, 1.5, 0.0), (0.0, 2.0, 0.6), (0.0, 3.0, 0.0), (1.0, 1.0, 0.0), (2.0, 1.0, 0.6)],
)
def test_a_change_is_overlooked_as_often_as_stated(shift, ratio, trim):
    """Wider spread and moved middle, against 20 000 drawn machines each."""
    rng = np.random.Generator(np.random.PCG64(7_003))

    missed = drawn(rng, kept_shots=30, shift=shift, ratio=ratio, trim=trim)

    stated = overlooked(
        kept_shots=30, shots=5, shift_ratio=shift, spread_ratio=ratio, trim_ratio=trim
    )
    assert missed == pytest.approx(stated, abs=4.0 * math.sqrt(0.25 / 20_000))


def test_the_verdict_says_what_has_changed():
    """Steady doses agree; a moved middle and a grown spread each say so."""
    check = kept_check(SD, kept_shots=30, target=AIM)
    steady = AIM + 1e-3 * np.array([0.1, -0.3, 0.2, 0.4, -0.2])

    good = kept_judge(steady, check)
    moved = kept_judge(steady + 1e-3, check)
    wide = kept_judge(AIM + 4.0 * (steady - steady.mean()), check)

    assert good.verdict is KeptVerdict.AGREES
    assert good.mean == pytest.approx(0.25204)
    assert moved.verdict is KeptVerdict.DISAGREES
    assert "middle has moved" in moved.because
    assert "spread has grown" in wide.because
    assert "middle" not in wide.because


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"kept_shots": 3}, "kept_shots"),
        ({"shots": 2}, "shots"),
        ({"false_alarm": 0.6}, "false_alarm is 0.6"),
    ],
)
def test_what_cannot_be_planned_is_refused(change, words):
    """Too few readings, or a coin in place of a test."""
    with pytest.raises(BadInput, match=words):
        kept_check(SD, **({"kept_shots": 30, "target": AIM} | change))


def test_other_than_the_planned_number_is_refused():
    """Four of five prove nothing, and six were not planned."""
    check = kept_check(SD, kept_shots=30, target=AIM)

    with pytest.raises(BadInput, match="weigh exactly those"):
        kept_judge([AIM] * 4, check)
