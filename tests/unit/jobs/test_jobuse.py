"""What a job used, added up by hand beside the test."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from tests.fakes.workshop import BEGAN, Workshop, job

from fillwright.jobs.machines.shipped import shipped_machine
from fillwright.jobs.money.use import AWAY, minutes_of, use_of
from fillwright.records.entries import ContainersSettled, LossesNoted, StepDone, WeighingTaken


def test_a_whole_job_is_told_by_its_weighings():
    """Giveaway is the mean above the label; trim shots are what was weighed as shots."""
    shop = Workshop().to_finished()

    use = use_of(shop.desk, shop.state)

    dosed = {
        w.fact.container: w.fact.net_g
        for w in shop.state.weighings
        if w.counts and w.fact.container is not None
    }
    mean = sum(dosed.values()) / len(dosed)
    assert use.weighed == len(dosed)
    assert use.giveaway_g == pytest.approx(float(mean - 250))
    # Two shots at the aim of 252 g.
    assert use.trim_kg == pytest.approx(0.504)
    assert (use.filled, use.scrapped, use.going_out) == (120, 0, 120)
    assert (use.purge_kg, use.hopper_kg, use.cleaner_l, use.air_m3) == (None, None, None, None)


def test_time_goes_to_the_stage_of_what_followed():
    """Ten minutes to a step of Set up are Set up's; two hours are time away."""
    shop = Workshop().to_setup()
    shop.clock.go(600)
    shop.tell(StepDone(step="air", outcome="done", reading="6 bar"))
    shop.clock.go(7_200)
    shop.tell(StepDone(step="product", outcome="done", reading="22 °C"))

    minutes, away_min = minutes_of(shop.entries())

    assert minutes["setup"] == pytest.approx(10.0)
    assert away_min == pytest.approx(120.0)
    assert timedelta(hours=1) == AWAY
    assert shop.entries()[0].at == BEGAN


def test_scrapped_ones_are_rejects_and_give_nothing_away():
    """Five scrapped at an aim of 252 g are 1.26 kg and do not count as going out."""
    shop = Workshop().to_finished()
    shop.tell(ContainersSettled(first=1, last=5, outcome="scrapped", reason="dented"))

    use = use_of(shop.desk, shop.state)

    assert (use.scrapped, use.going_out) == (5, 115)
    assert use.reject_kg == pytest.approx(1.26)


def test_what_was_said_after_the_job_goes_before_what_was_weighed():
    """Hopper, cleaner and purge are as noted; what went back costs nothing."""
    shop = Workshop().to_finished()
    shop.tell_site(
        LossesNoted(
            job=shop.number,
            flushed_kg=Decimal("1.5"),
            hopper_kg=Decimal("0.8"),
            cleaner_l=Decimal(4),
            is_trim_back=True,
        )
    )

    use = use_of(shop.desk, shop.state)

    assert (use.purge_kg, use.hopper_kg, use.cleaner_l, use.trim_kg) == (1.5, 0.8, 4.0, 0.0)


def test_air_is_counted_for_a_described_machine():
    """One stroke by hand: ((p + 1 atm)(A S + 2 V) - 2 p_a V) / 1 bar, times doses and shots."""
    machine = shipped_machine("small")
    facts = job(
        machine={
            "air": machine.air,
            "cylinders": machine.cylinders,
            "last_mark": machine.last_mark,
        },
        cylinder=machine.cylinders[-1],
        nominal=Decimal(20),
        aim_g=Decimal("20.2"),
    )
    shop = Workshop(facts)
    shop.tell(StepDone(step="air", outcome="done", reading="5 bar"))

    shot = WeighingTaken(
        purpose="shot",
        value="20.2",
        unit="g",
        basis="net",
        tare_g=Decimal(0),
        net_g=Decimal("20.2"),
    )
    shop.tell(shot, shot)

    use = use_of(shop.desk, shop.state)

    # 20.0 mL in a bore of 37 mm is a stroke of 18.60 mm; the two sides of the air cylinder
    # (42 and 15 mm) have 25.942 cm² together, so they sweep 48.26 cm³. At 601 325 Pa with twice
    # 18 cm³ besides: (601 325 x 84.26e-6 - 2 x 101 325 x 18e-6) / 100 000 = 0.4702 L a shot.
    assert use.air_m3 == pytest.approx(2 * 0.4702e-3, rel=1e-3)
