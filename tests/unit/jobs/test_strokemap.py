"""The map: held against single strokes, monotone, and a cold morning in words."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest
from described import described_job, described_shop, thick_job
from workshop import Workshop

from fillwright.jobs.match.flowing import curve_of, thickness_at
from fillwright.jobs.setup import stroke_map as strokemap
from fillwright.jobs.setup.rig import cavity_pa, drive_of, rig_of, suction_of
from fillwright.records.entities import RunsLike
from fillwright.records.entries import StepDone
from fillwright.report.charts import describe, draw, table
from fillwright.science.recharge_knee import needle_for_time
from fillwright.science.stroke_times import recharge_times
from fillwright.science.wet_tables import path_table


@pytest.fixture(scope="module")
def thick():
    """A workshop with a thick syrup."""
    return described_shop(thick_job())


def share_at(rig, temp, time_s):
    """How full one fine recharge of a time leaves the cylinder at a temperature."""
    times = thickness_at(rig.flow, temp)
    table_ = path_table(suction_of(rig), curve_of(rig.flow, times=times), rig.density)
    start = drive_of(rig, 4e-9, rig.air.recharge)
    needle = needle_for_time(
        np.array([time_s]), drive=start, piston_area=rig.piston_area, stroke=rig.stroke,
        table=table_, head_pressure=rig.low_head_pressure,
        cavity_pressure=np.array([cavity_pa(rig)]),
    )  # fmt: skip
    drawn = recharge_times(
        replace(start, meter_out=type(start.meter_out)(conductance=needle)),
        piston_area=rig.piston_area, stroke=rig.stroke, table=table_,
        head=rig.low_head_pressure, cavity_pressure=cavity_pa(rig),
    )  # fmt: skip
    return float(drawn.fill_fraction[0])


def test_the_line_of_the_map_is_where_single_recharges_begin_to_fall(thick):
    """A little slower than the line fills, clearly faster does not, cold and warm."""
    rig = rig_of(thick.desk, thick.state)
    picture = strokemap.look(thick.desk, thick.state).recharge

    for place in (2, 5, len(picture.temps_c) - 1):
        temp, edge = picture.temps_c[place], picture.edges_s[place]
        assert share_at(rig, temp, 1.12 * edge) > 0.995
        assert share_at(rig, temp, 0.8 * edge) < 0.97


def test_colder_is_thicker_and_slower(thick):
    """Down the map the product thickens and its shortest full recharge grows."""
    picture = strokemap.look(thick.desk, thick.state).recharge

    assert all(a > b for a, b in pairwise(picture.thickness_factors))
    assert all(a > b for a, b in pairwise(picture.edges_s))
    assert all(edge >= drive for edge, drive in zip(picture.edges_s, picture.drive_s, strict=True))
    assert picture.is_full
    assert picture.now_c == 22.0


def test_a_cold_morning_is_told(thick):
    """Eight degrees colder the syrup is near twice as thick and today's recharge too fast."""
    look = strokemap.look(thick.desk, thick.state)

    assert look.act.order == "Today it fills. Leave the recharge alone."
    assert look.cold[0].startswith("At 14 °C, 8 degrees colder, the product is ")
    assert "every jar short by it" in look.cold[1]
    assert "A fill takes" in look.cold[2]


def test_the_temperature_that_was_read_is_today():
    """What was read in Set up moves today's point, and the thickness with it."""
    shop = described_shop(thick_job())
    shop.tell(StepDone(step="product", outcome="done", reading="26.5 °C"))

    picture = strokemap.look(shop.desk, shop.state).recharge

    assert picture.now_c == 26.5
    here = picture.temps_c.index(26.5)
    assert picture.thickness_factors[here] < 1.0


def test_nozzles_show_what_they_do():
    """Oil: a narrow nozzle is splashy or fine, a wide open one drips; none stalls."""
    facts = described_job()
    oil = replace(facts, product=replace(facts.product, runs_like=RunsLike.OIL))
    shop = described_shop(oil)

    picture = strokemap.look(shop.desk, shop.state).nozzle

    states = {state for row in picture.states for state in row}
    assert "stalls" not in states
    assert picture.states[0][-1] == "drips"
    assert picture.owned_mm == (11.0, 21.0)
    assert len(picture.states) == len(picture.temps_c)
    assert len(picture.states[0]) == len(picture.bores_mm)


def test_a_drive_without_air_stalls_in_every_nozzle():
    """0.1 bar on a 62 mm cylinder push 30 N, less than its friction: all cells are marked."""
    facts = thick_job()
    weak = replace(facts.machine, air=replace(facts.machine.air, usual_bar_g=Decimal("0.1")))
    shop = described_shop(replace(facts, machine=weak))

    look = strokemap.look(shop.desk, shop.state)

    assert {state for row in look.nozzle.states for state in row} == {"stalls"}
    assert look.act.order == "It does not run like this."


@pytest.mark.parametrize("width", [360, 640])
def test_both_maps_are_drawn_told_and_tabled(thick, width):
    """Each is one svg with a name that says what it shows now, and a table behind it."""
    look = strokemap.look(thick.desk, thick.state)

    for spec in (look.recharge, look.nozzle):
        drawn = draw(spec, for_print=False, width_px=width)
        assert drawn.startswith("<svg")
        assert "nan" not in drawn
        assert "today" in drawn
        assert len(table(spec).rows) == len(spec.temps_c)
    assert "Today, " in describe(look.recharge)
    assert "it fills." in describe(look.recharge)
    assert "may splash" in draw(look.nozzle, for_print=True)


def test_an_undescribed_machine_has_no_map():
    """The page says what to do first."""
    shop = Workshop()

    look = strokemap.look(shop.desk, shop.state)

    assert not look.is_described
    assert look.recharge is None
    assert look.act.order == "Describe East filler first."
