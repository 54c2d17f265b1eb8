"""The simulated filler does what it was told: slope, play, scatter, air, creep, short doses."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.scale.simulated import SimulatedMachine, simulated_from


def quiet(**figures):
    """A machine without chance, but for what is given."""
    plain = {"slope_g_per_mark": 5.0, "dose_sd_g": 0.0, "wheel_sd_g": 0.0, "air_share": 0.0}
    return SimulatedMachine(1, **{**plain, **figures})


def doses(machine, count):
    """The next doses."""
    return np.array([machine.fill() for _ in range(count)])


def test_the_dose_follows_offset_and_slope():
    """Without chance a dose is offset plus slope times mark."""
    machine = quiet(offset_g=-1.5)
    machine.turn_to(Decimal("50.8"))

    # -1.5 g + 5 g per mark x 50.8 marks
    assert machine.fill() == pytest.approx(252.5)
    assert machine.setting_marks == 50.8


def test_lost_motion_counts_only_when_coming_from_above():
    """From above the dose is too big by the play; past the setting and up again it is right."""
    machine = quiet(lost_motion_marks=0.6)
    machine.turn_to(50)
    from_below = machine.fill()
    machine.turn_to(60)
    machine.turn_to(50)
    from_above = machine.fill()
    machine.turn_to(49.4)
    machine.turn_to(50)
    made_good = machine.fill()

    # 5 g per mark x 50 marks; the stop 0.6 marks behind
    assert (from_below, from_above, made_good) == pytest.approx((250.0, 253.0, 250.0))


def test_a_turn_down_within_the_play_moves_nothing():
    """The stop follows only after the play is used up."""
    machine = quiet(lost_motion_marks=0.6)
    machine.turn_to(50)
    machine.turn_to(49.6)

    assert machine.fill() == pytest.approx(250.0)


def test_the_wheel_error_is_drawn_anew_at_each_move_and_stays_between():
    """Doses at one setting agree; the setting itself comes back with the wheel's spread."""
    machine = quiet(wheel_sd_g=0.4)
    means = []
    for _ in range(400):
        machine.turn_to(40)
        machine.turn_to(50)
        assert machine.fill() == machine.fill()
        machine.turn_to(50)
        means.append(machine.fill())

    # The standard error of a standard deviation is 0.4 / sqrt(2 x 400) = 0.014; four of them.
    assert np.std(means) == pytest.approx(0.4, abs=0.057)
    assert np.mean(means) == pytest.approx(250.0, abs=0.08)


def test_doses_scatter_as_said():
    """The standard deviation of many doses is the one that was asked for."""
    machine = quiet(dose_sd_g=0.6)
    machine.turn_to(50)
    many = doses(machine, 800)

    # 0.6 / sqrt(2 x 800) = 0.015 and 0.6 / sqrt(800) = 0.021; four of each.
    assert many.std(ddof=1) == pytest.approx(0.6, abs=0.06)
    assert many.mean() == pytest.approx(250.0, abs=0.085)


def test_air_after_a_start_makes_the_first_doses_short_and_dies_out():
    """The lack starts between half and all of the share and falls by the same factor a dose."""
    machine = quiet(air_share=0.06, air_doses=1.5)
    machine.turn_to(50)
    lacks = 250.0 - doses(machine, 12)

    assert 0.03 * 250.0 <= lacks[0] <= 0.06 * 250.0
    assert lacks[1:] / lacks[:-1] == pytest.approx(np.full(11, math.exp(-1 / 1.5)))
    assert lacks[-1] < 0.01
    machine.start()
    assert 250.0 - machine.fill() > 7.0


def test_creep_moves_each_dose_and_stays_when_it_stops():
    """Creep adds up dose by dose; switched off, the dose stays where it went."""
    machine = quiet()
    machine.turn_to(50)
    machine.creep_on(0.02)
    crept = doses(machine, 51)
    machine.creep_off()
    after = doses(machine, 2)

    assert crept[[0, 50]] == pytest.approx([250.0, 251.0])
    assert after == pytest.approx([251.02, 251.02])


def test_a_fault_changes_nothing_else():
    """The same seed with and without creep gives doses that differ by the creep alone."""
    plain, creeping = quiet(dose_sd_g=0.5), quiet(dose_sd_g=0.5, creep_g_per_dose=0.1)
    for machine in (plain, creeping):
        machine.turn_to(50)

    assert doses(creeping, 20) - doses(plain, 20) == pytest.approx(0.1 * np.arange(20))


def test_short_doses_come_as_rarely_as_said_and_are_far_too_short():
    """About one dose in twenty lacks between 15 and 30 per cent; the others lack nothing."""
    machine = quiet(short_chance=0.05, short_share=0.3)
    machine.turn_to(50)
    lacks = 1.0 - doses(machine, 2000) / 250.0
    short = lacks[lacks > 1e-9]

    # 2000 x 0.05 = 100, standard deviation sqrt(2000 x 0.05 x 0.95) = 9.7; four of them.
    assert 61 <= len(short) <= 139
    assert 0.15 <= short.min() <= short.max() <= 0.3


def test_a_dose_is_never_less_than_nothing():
    """At mark zero scatter and offset end at an empty jar."""
    machine = quiet(offset_g=-3.0, dose_sd_g=0.5)

    assert doses(machine, 5).tolist() == [0.0] * 5


@pytest.mark.parametrize("marks", [-0.2, 100.2, Decimal(101)])
def test_the_wheel_is_never_wound_past_its_scale(marks):
    """A setting beyond the scale is refused with its ends."""
    with pytest.raises(BadInput, match="goes from 0 to 100, not to"):
        quiet().turn_to(marks)


def test_the_same_seed_gives_the_same_machine(facts):
    """Two machines from one seed fill the same doses; another seed another machine."""
    filled = []
    for seed in (7, 7, 8):
        machine = simulated_from(facts, np.random.default_rng(seed))
        machine.turn_to(50)
        filled.append(doses(machine, 5).tolist())

    assert filled[0] == filled[1] != filled[2]


def test_machines_differ_from_their_plates_as_said(facts):
    """Over many machines slope, offset and setting spread about the plate's figures."""
    slopes, offsets, settings = [], [], []
    still = replace(facts.machine, wheel_sd_pct_of_cylinder=Decimal(0))
    for seed in range(400):
        machine = simulated_from(replace(facts, machine=still), np.random.default_rng(seed))
        settings.append(machine.setting_marks)
        machine.turn_to(0)
        machine.turn_to(20)
        low = machine.mean_dose_g
        machine.turn_to(80)
        slopes.append((machine.mean_dose_g - low) / 60.0)
        offsets.append(low - 20.0 * slopes[-1])

    # Plate: 5 mL per mark x 0.985 g/mL = 4.925 g per mark, less held air of mean
    # 0.004 x sqrt(2/pi) = 0.32 %; spread 1.5 % and the air's 0.24 %: 1.52 %. Offset 0.8 % of
    # 500 mL x 0.985 g/mL: 3.94 g. Four standard errors of 400.
    assert np.mean(slopes) == pytest.approx(4.925 * 0.9968, abs=4 * 4.925 * 0.0152 / 20)
    assert np.std(slopes) == pytest.approx(4.925 * 0.0152, rel=4 / math.sqrt(800))
    assert np.mean(offsets) == pytest.approx(0.0, abs=4 * 3.94 / 20)
    assert np.std(offsets) == pytest.approx(3.94, rel=4 / math.sqrt(800))
    assert 20.0 <= min(settings) < 30.0
    assert 70.0 < max(settings) <= 80.0


def test_warm_product_weighs_less_by_the_mark(facts):
    """At 60 °C, 40 K above, an expansion of 0.001 per kelvin takes 1/1.04 of each dose."""
    warm = replace(facts.product, product_c=Decimal(60), expansion_per_k=Decimal("0.001"))
    means = []
    for product in (replace(warm, product_c=Decimal(20)), warm):
        machine = simulated_from(replace(facts, product=product), np.random.default_rng(3))
        machine.turn_to(50)
        means.append(machine.mean_dose_g)

    assert means[1] / means[0] == pytest.approx(1 / 1.04)


def test_an_expected_scatter_is_the_scatter(facts):
    """Where the job expects 0.4 % of the aim, that is what the machine does."""
    expecting = replace(facts, expected_sd_pct=Decimal("0.4"))
    machine = simulated_from(expecting, np.random.default_rng(4))
    machine.turn_to(50)
    doses(machine, 20)

    # 0.4 % of 250.5 g = 1.002 g; standard error 1.002 / sqrt(1600) = 0.025; four of them.
    assert doses(machine, 800).std(ddof=1) == pytest.approx(1.002, abs=0.1)
