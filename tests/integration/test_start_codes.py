"""Codes told when a run starts: no change of anything, and none is asked for twice."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.papers import batch_record
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.first_jar import KEYS
from fillwright.jobs.run.weigh import weigh
from fillwright.records.capture import Capture
from fillwright.wiring import maker
from fillwright.wiring.bench import open_bench

JOB = "0101"
PRESS = Press(person="AB")
RIGHT = {f"look_{key}": "right" for key in KEYS}
CODES = {"lot_container": "K-1", "lot_lid": "L-1", "lot_drum": "D-1", "lot_batch": "B-1"}
TICKS = {f"tick_{place}": "on" for place in range(1, 9)}
UNPROVED = {"reason": "a test", **TICKS}


@pytest.fixture
def bench(tmp_path):
    """A bench with a job whose ten empties were weighed in Set up, before its run."""
    bench = open_bench(tmp_path / "bench.sqlite")
    for person in maker.PEOPLE:
        list_person(bench.desk, person, PRESS)
    facts = replace(maker.JOBS[0], number=JOB, lot_code=f"NE-{JOB}", lot_size=500, tare_way="mean")
    facts = replace(facts, aim_g=propose_aim(bench.desk, facts).aim_g, band_pct=Decimal(3))
    open_job(bench.desk, facts, PRESS)
    match.take(bench.desk, JOB, PRESS)
    for place, value in enumerate(("31.0", "31.2") * 5):
        empty = Capture(
            weighing_id=f"01e1b0c0-0000-7000-8000-2{place:011d}",
            value=Decimal(value),
            basis="gross",
            source="typed",
        )
        weigh(bench.desk, JOB, empty, PRESS, purpose="tare")
    assert bench.desk.book.job(JOB).tare.empties == 10
    yield bench
    bench.close()


@pytest.fixture
def press(client, bench):
    """Press a button of the Run page."""
    token = re.search(r'name="token" value="(\w+)"', client.get("/people").text).group(1)

    def pressed(what, **form):
        seen = str(bench.desk.book.job(JOB).revision)
        return client.post(f"/job/{JOB}/run/{what}", data={"token": token, "seen": seen, **form})

    return pressed


def state_of(bench):
    """Return the job as it stands."""
    return bench.desk.book.job(JOB)


def looks_in(bench):
    """Return what the batch record says of the looks."""
    course = batch_record(bench.desk, state_of(bench)).course
    return [line for line in course if "looked at" in line]


def test_codes_told_at_the_start_are_no_change(press, bench):
    """No empties a second time, no post in the chart; the record says that the run starts."""
    press("start-run", **UNPROVED, **CODES)

    act = run.look(bench.desk, state_of(bench)).act
    assert act.what == "first-look"
    assert "since the run starts" in act.why
    press("first-look", **RIGHT)
    state = state_of(bench)
    assert state.run.posts == []
    assert state.lots.tare_of(1).empties == 10
    assert state.lots.at("drum", 1).fact.batch == "B-1"
    assert looks_in(bench) == ["Bottle 1 looked at by AB, the run starts: all 9 right."]


def test_a_change_before_the_first_look_does_not_hide_the_start(press, bench):
    """The record says both: the start, and who took over at it."""
    press("start-run", **UNPROVED)
    press("person", initials="CD")

    assert "since the run starts" in run.look(bench.desk, state_of(bench)).act.why
    press("first-look", **RIGHT)
    assert looks_in(bench) == [
        "Bottle 1 looked at by CD, the run starts, another person: all 9 right."
    ]


def test_two_changes_before_one_look_are_both_said(press, bench):
    """A carton and a drum in one go: the look is of both."""
    press("start-run", **UNPROVED, **CODES)
    press("first-look", **RIGHT)
    press("new-lid", code="L-2", last_filled="4")
    press("new-drum", code="D-2", last_filled="4", note="same density")
    press("first-look", **RIGHT)

    assert looks_in(bench)[1] == "Bottle 5 looked at by AB, new lids, a new drum: all 9 right."


def test_a_carton_named_before_anything_is_filled_is_that_of_the_empties(press, bench):
    """By the key of a new carton as well; its empties are on record already."""
    press("start-run", **UNPROVED)
    press("new-container", code="K-1", last_filled="0")

    state = state_of(bench)
    assert state.lots.carton_due is None
    assert state.lots.at("container", 1).fact.code == "K-1"
    assert state.tare.empties == 10
    assert run.look(bench.desk, state).act.what == "first-look"


def test_the_start_is_refused_on_an_older_page_and_keeps_nothing(press, bench):
    """Somebody was first: neither the codes nor the start are kept."""
    seen = state_of(bench).revision

    answer = press("start-run", **UNPROVED, **CODES, seen=str(seen - 1))

    assert answer.status_code == 409
    assert state_of(bench).revision == seen


def test_a_start_that_is_refused_keeps_no_code(press, bench):
    """Codes and start are kept together, or neither is: the page keeps what was typed."""
    seen = state_of(bench).revision

    answer = press("start-run", **TICKS, **CODES)

    assert answer.status_code == 422
    assert 'value="K-1"' in answer.text
    assert state_of(bench).revision == seen


def test_missing_codes_stand_open_and_are_named(press, client):
    """The fold is shut only when carton, lids and drum are all on record."""
    page = client.get(f"/job/{JOB}/run").text
    assert re.search(r'<details class="more" id="told-lots" open>', page)
    assert "Not on record: carton, lids, drum. A trace ends there." in page

    press("start-run", lot_container="K-1", lot_lid="L-1", **UNPROVED)
    page = client.get(f"/job/{JOB}/run").text
    assert "Carton K-1" in page
    assert "Not on record: drum. A trace ends there." in page
