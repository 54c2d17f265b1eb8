"""The whole job on one page: where it stands, the next act, and an answer for every act."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.jobs.opening import change_facts
from fillwright.jobs.run import stage as run
from fillwright.jobs.traveller import (
    STAGE_WORDS,
    act_of,
    next_act,
    purpose_now,
    stage_now,
    traveller,
)
from fillwright.records.entities import Stage

WAY = [
    ("open", "match", "take", None),
    ("to_setup", "setup", "done", None),
    ("to_trim", "trim", "weigh", "shot"),
    ("to_prove", "prove", "begin", None),
    ("to_shots", "prove", "weigh", "proof"),
    ("to_proved", "run", "start-run", "dose"),
    ("to_run", "run", "weigh", "dose"),
    ("to_finished", "release", "draw", None),
    ("to_judged", "release", "sign", "sample"),
    ("to_released", "strip", "stripped", None),
]


def shop_at(stage):
    """Return a shop at a stage."""
    shop = Workshop()
    return shop if stage == "open" else getattr(shop, stage)()


@pytest.mark.parametrize(("reach", "stage", "what", "purpose"), WAY)
def test_each_stage_has_its_act(reach, stage, what, purpose):
    """Where the job stands, what it asks, and what a weight sent now would be."""
    shop = shop_at(reach)

    assert stage_now(shop.state).value == stage
    assert next_act(shop.desk, shop.state).what == what
    assert purpose_now(shop.state) == purpose


@pytest.mark.parametrize("reach", [w[0] for w in WAY])
@pytest.mark.parametrize("stage", Stage)
def test_every_page_can_be_opened_at_any_time(reach, stage):
    """No stage is locked shut: each has an order in words at every moment of the job."""
    shop = shop_at(reach)

    act = act_of(shop.desk, shop.state, stage)

    assert act.stage is stage
    assert act.order.endswith((".", "?"))
    assert act.main
    assert "!" not in act.order + act.why + act.main


@pytest.mark.parametrize("reach", [w[0] for w in WAY])
def test_the_rows_say_done_now_and_later(reach):
    """Seven rows in order: done before, one now, later behind."""
    shop = shop_at(reach)
    rows = traveller(shop.desk, shop.state).rows
    states = [row.status for row in rows]
    now = states.index("now")

    assert [row.name for row in rows] == list(STAGE_WORDS.values())
    assert states == ["done"] * now + ["now"] + ["later"] * (6 - now)


def test_results_stand_in_their_rows():
    """One line each, in the trade's words."""
    shop = Workshop().to_released()
    rows = {row.stage: row.words for row in traveller(shop.desk, shop.state).rows}

    assert rows[Stage.MATCH] == "Suits East filler"
    assert rows[Stage.SET_UP] == "9 of 9 steps"
    assert rows[Stage.TRIM].startswith("252.0 g at 45.")
    assert rows[Stage.PROVE] == "Holds ±1 %"
    assert rows[Stage.RUN] == "120 of 120 jars filled"
    assert rows[Stage.RELEASE] == "Released 120."


@pytest.mark.parametrize(
    ("reach", "progress"), [("to_shots", "0 of 11"), ("to_run", "11 of 120"), ("open", "")]
)
def test_progress_is_a_count(reach, progress):
    """How far the present stage is."""
    shop = shop_at(reach)

    assert traveller(shop.desk, shop.state).progress == progress


def test_a_reopened_stage_shows_its_cause():
    """The row says in words why it is open again, and the order goes back to it."""
    shop = Workshop().to_proved()
    change_facts(shop.desk, shop.number, replace(shop.facts, aim_g=Decimal(253)), "", shop.press)
    seen = traveller(shop.desk, shop.state)
    trim = next(row for row in seen.rows if row.stage is Stage.TRIM)

    assert (trim.status, trim.words) == ("reopened", "The aim is 253 g now, 252 g before.")
    assert seen.act.stage is Stage.TRIM


def test_held_ones_come_before_release():
    """After the run the held ones are next, and a weight sent now is one of them."""
    shop = Workshop().to_run()
    shop.weigh(100, set_aside="spilled")
    assert purpose_now(shop.state) == "dose"
    shop.fill_up()
    run.finish(shop.desk, shop.number, 120, shop.press)

    assert purpose_now(shop.state) == "held"
    assert next_act(shop.desk, shop.state).order == "Weigh held jar 12, tray 2."


def test_empties_are_wanted_in_their_step():
    """In Set up a weight is wanted only where the empties are weighed."""
    shop = Workshop(job(tare_way="mean")).to_trim()

    assert purpose_now(shop.state) == "tare"
