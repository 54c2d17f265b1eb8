"""Marks of the volume scale and turns of the wheel."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import MACHINE, Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.setup.settings import (
    advise,
    groups_of,
    marks_down,
    marks_near,
    slope_g_per_mark,
    start_marks,
    turn_between,
)


@pytest.mark.parametrize(
    ("raises", "to", "way"),
    [
        (True, "50.8", "clockwise"),
        (True, "49.8", "anticlockwise"),
        (False, "50.8", "anticlockwise"),
    ],
)
def test_the_way_to_turn_is_that_of_the_machine(raises, to, way):
    """Clockwise raises the dose on one machine and lowers it on another."""
    machine = replace(MACHINE, clockwise_raises=raises)

    words = turn_between(machine, Decimal("50.3"), Decimal(to))

    assert words == f"one fifth of a turn, {way} (0.5 marks)"


def test_no_turn_and_no_place_to_turn_from():
    """Standing where it should is no turn; from an unknown place nothing can be said."""
    assert turn_between(MACHINE, Decimal("50.3"), Decimal("50.30")) == "no turn"
    assert turn_between(MACHINE, None, Decimal("50.3")) == ""


def test_settings_lie_on_half_ticks():
    """Ticks of 0.1 are read to 0.05: 250.3 mL at 5 mL a mark is 50.06 marks."""
    assert (marks_down(job(), 250.3e-6), marks_near(job(), 250.3e-6)) == (
        Decimal("50.05"),
        Decimal("50.05"),
    )
    assert (marks_down(job(), 250.4e-6), marks_near(job(), 250.4e-6)) == (
        Decimal("50.05"),
        Decimal("50.10"),
    )


def test_a_setting_never_passes_the_last_mark():
    """Beyond full scale the stop is behind the pointer: 90 marks are the end."""
    assert marks_near(job(), 1.0) == Decimal(90)


def test_a_dose_below_the_first_mark_needs_a_smaller_cylinder():
    """Nothing can be set there."""
    with pytest.raises(BadInput, match=r"below the first mark.*fit a smaller one"):
        marks_down(job(), 1e-9)


def test_one_mark_adds_what_it_moves():
    """5 mL a mark of 1.01 g/mL at 20 °C, 22 °C warm: 5 x 1.01 x (1 - 0.0003 x 2) = 5.04697 g."""
    assert slope_g_per_mark(job()) == pytest.approx(5 * 1.01 * (1 - 0.0006), rel=1e-12)


def test_the_start_is_below_the_aim():
    """The first shot cannot overfill: the starting setting is under the one by density."""
    shop = Workshop()
    by_density = float(shop.facts.aim_g) / slope_g_per_mark(shop.facts)

    start = start_marks(shop.desk, shop.facts)

    assert 0.9 * by_density < float(start) < by_density


def test_shots_are_grouped_by_where_the_wheel_stood():
    """Shots at one setting are one stay; a struck or spoilt one is in none."""
    shop = Workshop().to_trim()
    shop.off("-3", purpose="shot")
    shop.weigh(10, purpose="shot", set_aside="spilled")
    shop.off("-2.8", purpose="shot")

    [group] = groups_of(shop.state)

    assert group.readings == (pytest.approx(0.249), pytest.approx(0.2492))
    assert group.setting == pytest.approx(float(shop.state.setting_marks) * 5e-6)


def test_a_narrow_claim_is_trimmed_closer():
    """A mean off by half a per cent would use up a claim of one half: the trim aims closer."""
    shop = Workshop().to_trim()
    for _ in range(2):
        shop.off("0.4", purpose="shot")
    groups = groups_of(shop.state)

    wide = advise(shop.desk, job(claim_pct=Decimal(2)), groups)
    narrow = advise(shop.desk, job(claim_pct=Decimal("0.5")), groups)

    assert narrow.p_within < wide.p_within
