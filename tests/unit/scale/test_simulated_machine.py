"""The simulated filler: its wheel with play, air and creep, and what the twin's faults show."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.scale.simulated import SimulatedMachine, Wheel, simulated_from
from fillwright.scale.simulated.filler import GAUGE_BAR_G, twin_bench
from fillwright.science.twin_faults import Fault, FaultKind
from fillwright.wiring import maker

PLUM = maker.JOBS[3]


@pytest.fixture
def quiet(facts):
    """Makes a machine whose chance is that of the setting alone: 5 mL, 4.925 g, a mark."""

    def made(*, air_share=0.0, air_doses=1.5, sd=0.0, **wheel):
        return SimulatedMachine(
            twin_bench(facts, dose_sd=sd),
            Wheel(**{"ml_per_mark": 5.0, **wheel}),
            1,
            air_share=air_share,
            air_doses=air_doses,
        )

    return made


def doses(machine, count):
    """The next doses."""
    return np.array([machine.fill() for _ in range(count)])


def faulty(kind, severity, *, facts=PLUM):
    """A machine of the demo with the air out and then a fault."""
    machine = simulated_from(facts, np.random.default_rng(3))
    machine.turn_to(90)
    doses(machine, 14)
    machine.set_faults([Fault(kind=kind, severity=severity)])
    return machine


def words_of(machine, count=12):
    """Everything that was seen and heard in the next cycles."""
    seen = set()
    for _ in range(count):
        machine.fill()
        seen |= set(machine.seen.words)
    return seen


# A setting comes back within 10 micrometres of 75 mm: 0.013 % of a dose, 0.033 g; five of them.
SLACK_G = 0.17


def test_the_dose_follows_offset_and_slope(quiet):
    """A dose is the density times offset plus slope times mark."""
    machine = quiet(offset_ml=-1.5)
    machine.turn_to(Decimal("50.8"))

    # (-1.5 mL + 5 mL per mark x 50.8 marks) x 0.985 g/mL
    assert machine.mean_dose_g == pytest.approx(248.7125)
    assert machine.fill() == pytest.approx(248.7125, abs=SLACK_G)
    assert machine.setting_marks == 50.8


def test_lost_motion_counts_only_when_coming_from_above(quiet):
    """From above the dose is too big by the play; past the setting and up again it is right."""
    machine = quiet(lost_motion_marks=0.6)
    means = []
    for marks in (50, 60, 50, 49.4, 50):
        machine.turn_to(marks)
        means.append(machine.mean_dose_g)

    # 4.925 g per mark x 50 marks; the stop 0.6 marks behind
    assert [means[0], means[2], means[4]] == pytest.approx([246.25, 249.205, 246.25])


@pytest.mark.parametrize("before", [90, 50.3, 50, 10])
def test_by_way_of_a_lower_mark_the_play_is_taken_up(quiet, before):
    """Down past the setting and up to it: the stop is where the pointer is, wherever it was."""
    machine = quiet(lost_motion_marks=0.6)
    machine.turn_to(before)
    machine.turn_to(50, via=49)

    assert machine.mean_dose_g == pytest.approx(246.25)


def test_a_turn_down_within_the_play_moves_nothing(quiet):
    """The stop follows only after the play is used up."""
    machine = quiet(lost_motion_marks=0.6)
    machine.turn_to(50)
    machine.turn_to(49.6)

    assert machine.mean_dose_g == pytest.approx(246.25)


def test_the_wheel_error_is_drawn_anew_at_each_move_and_stays_between(quiet):
    """Means at one setting agree; the setting itself comes back with the wheel's spread."""
    machine = quiet(sd_ml=0.4)
    means = []
    for _ in range(400):
        machine.turn_to(40)
        machine.turn_to(50)
        before = machine.mean_dose_g
        machine.turn_to(50)
        assert machine.mean_dose_g == before
        means.append(before / 0.985)

    # The standard error of a standard deviation is 0.4 / sqrt(2 x 400) = 0.014; four of them.
    assert np.std(means) == pytest.approx(0.4, abs=0.057)
    assert np.mean(means) == pytest.approx(250.0, abs=0.08)


def test_doses_scatter_as_said(quiet):
    """The standard deviation of many doses is the one that was asked for."""
    machine = quiet(sd=0.0024)
    machine.turn_to(50)
    many = doses(machine, 800) / 246.25

    # 0.0024 / sqrt(2 x 800) = 0.00006 and 0.0024 / sqrt(800) = 0.000085; four of each.
    assert many.std(ddof=1) == pytest.approx(0.0024, abs=0.00024)
    assert many.mean() == pytest.approx(1.0, abs=0.00034)


def test_air_after_a_start_makes_the_first_doses_short_and_dies_out(quiet):
    """The lack starts between half and all of the share and falls by the same factor a dose."""
    machine = quiet(air_share=0.06)
    machine.turn_to(50)
    lacks = 246.25 - doses(machine, 12)

    assert 0.03 * 246.25 - SLACK_G <= lacks[0] <= 0.06 * 246.25 + SLACK_G
    assert lacks[1:3] == pytest.approx(lacks[:2] * math.exp(-1 / 1.5), abs=2 * SLACK_G)
    assert lacks[-1] < SLACK_G
    machine.start()
    assert 246.25 - machine.fill() > 7.0


def test_creep_moves_each_dose_and_stays_when_it_stops(quiet):
    """Creep adds up dose by dose; switched off, the dose stays where it went."""
    machine = quiet()
    machine.turn_to(50)
    machine.creep_on(0.02)
    doses(machine, 50)
    machine.creep_off()
    crept = machine.mean_dose_g
    doses(machine, 2)

    assert crept == machine.mean_dose_g == pytest.approx(247.25)


def test_a_creep_changes_nothing_else(quiet):
    """The same seed with and without creep gives doses that differ by the creep alone."""
    plain, creeping = quiet(sd=0.002), quiet(sd=0.002)
    for machine in (plain, creeping):
        machine.turn_to(50)
    creeping.creep_on(0.1)

    apart = doses(creeping, 20) - doses(plain, 20)
    assert apart == pytest.approx(0.1 * np.arange(20), abs=0.02)


def test_a_dose_is_never_less_than_nothing(quiet):
    """At mark zero the piston stands and the jar stays empty."""
    machine = quiet(offset_ml=-3.0, sd=0.002)

    assert doses(machine, 5).tolist() == [0.0] * 5


@pytest.mark.parametrize("marks", [-0.2, 100.2, Decimal(101)])
def test_the_wheel_is_never_wound_past_its_scale(quiet, marks):
    """A setting beyond the scale is refused with its ends."""
    with pytest.raises(BadInput, match="goes from 0 to 100, not to"):
        quiet().turn_to(marks)


@pytest.mark.parametrize("facts", maker.JOBS, ids=[job.product.name for job in maker.JOBS])
def test_a_sound_machine_fills_its_cylinder_in_about_a_second(facts):
    """Every product of the demo is drawn whole, and pushed out by the needle's will."""
    sound = twin_bench(facts, dose_sd=0.0016).sound

    assert sound["void"] == 0.0
    assert sound["swept"] == 1.0
    assert 0.4 < sound["fill_time"] < 2.0
    assert 0.4 < sound["recharge_time"] < 4.0


def test_a_sound_cycle_is_like_any_other():
    """Nothing strikes the eye or the ear; both strokes and the gauge can be read."""
    machine = simulated_from(PLUM, np.random.default_rng(3))
    machine.turn_to(90)
    doses(machine, 14)

    assert words_of(machine) == set()
    assert machine.seen.gauge_bar_g == pytest.approx(GAUGE_BAR_G, abs=0.1)
    assert machine.seen.fill_s == pytest.approx(1.2, abs=0.3)


@pytest.mark.parametrize(
    ("kind", "severity", "words"),
    [
        (FaultKind.RECHARGE_TOO_FAST, 0.6, "The piston jumps at the start"),
        (FaultKind.LOW_PRESSURE, 0.7, "The air gauge stands under 5 bar."),
        (FaultKind.LOW_PRESSURE, 0.7, "The fill stroke is slow."),
        (FaultKind.LOW_PRESSURE, 1.0, "Nothing comes"),
        (FaultKind.VALVE_LEAK, 0.9, "heaves with each fill"),
        (FaultKind.SUCTION_AIR, 0.9, "The nozzle spits air."),
        (FaultKind.HOPPER_LOW, 0.95, "The outlet of the hopper is bare."),
        (FaultKind.DRIP, 0.9, "A drop hangs at the nozzle"),
        (FaultKind.STICKY_VALVE, 0.9, "clacks over late"),
        (FaultKind.BACK_FLOW, 0.9, "run empty since"),
        (FaultKind.TIGHT_SEAL, 0.9, "It squeals"),
        (FaultKind.WHEEL_CREEP, 0.9, "The pointer does not stand"),
        (FaultKind.START_AIR, 0.9, "Bubbles run through"),
    ],
)
def test_a_fault_shows_at_the_bench(kind, severity, words):
    """What each fault does to the machine can be seen or heard beside it."""
    facts = maker.JOBS[0] if kind is FaultKind.BACK_FLOW else PLUM
    machine = faulty(kind, severity, facts=facts)

    assert any(words in told for told in words_of(machine, 25))


def test_a_worn_ring_wets_the_rod_with_a_thin_product_only():
    """The same ring leaks cordial and holds plum butter; the label says so."""
    thin = faulty(FaultKind.RING_WORN, 0.9, facts=maker.JOBS[0])
    thick = faulty(FaultKind.RING_WORN, 0.9)

    assert any("on the rod" in told for told in words_of(thin))
    assert words_of(thick) == set()
    assert thick.effects[0].label == "ring-worn: present, no effect"


def test_a_fault_that_is_taken_away_is_gone():
    """Doses are those of the sound machine again."""
    machine = faulty(FaultKind.RECHARGE_TOO_FAST, 0.8)
    short = doses(machine, 3).mean()
    machine.set_faults([])

    assert short < 0.9 * machine.mean_dose_g
    assert doses(machine, 3).mean() == pytest.approx(machine.mean_dose_g, rel=0.004)
    assert machine.effects == ()


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
