"""What earlier trims teach, and that it makes the next one shorter."""

from __future__ import annotations

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.science.trim import (
    Direction,
    PastTrim,
    ShotGroup,
    history_of,
    next_setting,
)

CYLINDER, DENSITY, TARGET = 5e-4, 1000.0, 0.25
CASE = {
    "target": TARGET,
    "upper_limit": 0.2525,
    "within": 0.005,
    "probability": 0.9,
    "alpha": 0.05,
    "cylinder": CYLINDER,
    "density": DENSITY,
    "readability": 1e-5,
}


def _trim(rng, *, gain=1.03, between=0.002, offset=2e-6, shot_sd=0.0005, history=None, pair=False):
    """Trim one invented machine whose gain differs a little at each set-up."""
    slope = DENSITY * (gain + between * rng.standard_normal())
    groups, shots, mean = [], 0, 0.0
    while True:
        act = next_setting(groups, **CASE, history=history)
        if act.done or shots == 15:
            break
        if not groups or act.direction is not Direction.STAY:
            groups.append(ShotGroup(setting=act.setting, readings=()))
            mean = slope * (act.setting + offset) + 0.0004 * rng.standard_normal()
        reading = mean + shot_sd * rng.standard_normal()
        groups[-1] = ShotGroup(
            setting=groups[-1].setting, readings=(*groups[-1].readings, reading)
        )
        shots += 1
    if pair:
        high = mean + DENSITY * 3e-6 + shot_sd * rng.standard_normal()
        groups.append(ShotGroup(setting=groups[-1].setting, readings=(high,), from_above=True))
    return PastTrim(
        shots=tuple(groups),
        target=TARGET,
        cylinder=CYLINDER,
        density=DENSITY,
        readability=1e-5,
    ), shots


def _history(rng, count, **given):
    """What so many trims of one machine teach."""
    return history_of([_trim(rng, **given)[0] for _ in range(count)])


def test_no_past_trim_teaches_nothing():
    """Without a past, or with one in which nothing was weighed, there is no history."""
    empty = PastTrim(shots=(), target=TARGET, cylinder=CYLINDER, density=DENSITY, readability=1e-5)

    assert history_of(()) is None
    assert history_of([empty]) is None


def test_the_dose_at_the_target_is_learnt():
    """Six trims: the dose foretold at the target's setting is right within what is stated."""
    found = _history(np.random.default_rng(1), 6)
    place = 2.4e-4
    foretold = DENSITY * (found.gain * place + found.offset)
    true = DENSITY * 1.03 * (place + 2e-6)
    sd = DENSITY * np.sqrt(
        found.offset_sd**2
        + (found.gain_sd * place) ** 2
        + 2 * found.correlation * found.gain_sd * found.offset_sd * place
    )

    assert found.setups == 6
    assert foretold == pytest.approx(true, abs=2.5 * sd)
    assert sd < 0.01 * TARGET
    assert found.shot_sd == pytest.approx(0.002, rel=0.4)


def test_set_ups_that_differ_leave_more_doubt():
    """A gain that jumps by 3 % from trim to trim is learnt as such."""
    steady = _history(np.random.default_rng(2), 8, between=0.001)
    jumpy = _history(np.random.default_rng(2), 8, between=0.03)

    assert jumpy.between_setups > 2 * steady.between_setups
    assert jumpy.between_setups == pytest.approx(0.03, abs=0.015)


def test_history_makes_the_next_trim_shorter():
    """Over 60 machines a known one needs fewer shots, and starts nearer the target."""
    rng = np.random.default_rng(3)
    new, known = [], []
    for _ in range(60):
        gain = 1 + 0.02 * rng.standard_normal()
        past = [_trim(rng, gain=gain)[0] for _ in range(5)]
        new.append(_trim(rng, gain=gain)[1])
        known.append(_trim(rng, gain=gain, history=history_of(past))[1])

    assert np.mean(known) < np.mean(new) - 0.5


def test_pairs_of_shots_teach_the_play_for_good():
    """Two trims that ended with a shot from above: the play is 3 mL and known well."""
    found = _history(np.random.default_rng(4), 2, pair=True)

    assert found.lost_motion == pytest.approx(3e-6, abs=3 * found.lost_motion_sd)
    assert found.lost_motion_sd < 1e-6
    assert _history(np.random.default_rng(4), 2).lost_motion is None


def test_what_history_says_of_the_play_is_used():
    """The way round takes the learnt play, not 1 % of the cylinder."""
    history = _history(np.random.default_rng(4), 3, pair=True)
    step = next_setting(
        [ShotGroup(setting=2.55e-4, readings=(0.2672, 0.2671))], **CASE, history=history
    )

    assert step.direction is Direction.DOWN
    assert step.setting - step.via == pytest.approx(
        history.lost_motion + 2 * history.lost_motion_sd, rel=0.02
    )


def test_a_trim_with_air_makes_air_likelier_next_time():
    """Past trims whose first shots rose raise the chance to begin with."""
    rising = PastTrim(
        shots=(ShotGroup(setting=2.5e-4, readings=(0.243, 0.246, 0.2478, 0.249, 0.2495, 0.2498)),),
        target=TARGET,
        cylinder=CYLINDER,
        density=DENSITY,
        readability=1e-5,
    )

    assert history_of([rising] * 3).air_chance > 0.15
    assert _history(np.random.default_rng(5), 3).air_chance < 0.06


def test_a_past_setting_off_the_scale_is_refused():
    """A record that cannot be is named, not used."""
    broken = PastTrim(
        shots=(ShotGroup(setting=6e-4, readings=(0.25,)),),
        target=TARGET,
        cylinder=CYLINDER,
        density=DENSITY,
        readability=1e-5,
    )

    with pytest.raises(BadInput, match="scale runs from 0"):
        history_of([broken])
