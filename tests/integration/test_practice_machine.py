"""Practice on a real bench: a simulated machine for that job alone, and nothing counts."""

from __future__ import annotations

import re
import threading
import time
from dataclasses import replace

import numpy as np
import pytest

from fillwright.jobs.act import Expects
from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.files.tables import TABLES, table_of
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.release.inspection import inspector_sheet
from fillwright.jobs.traveller import next_act
from fillwright.records.entities import Stage
from fillwright.wiring import maker, open_bench
from fillwright.wiring.player import play
from fillwright.wiring.standing import bench_for

PRESS = Press(person="AB")
REAL = "0101"
PRACTICE = "practice-1"
PATIENCE_S = 20.0


@pytest.fixture
def bench(tmp_path):
    """A real bench with two people and one job."""
    bench = open_bench(tmp_path / "bench.sqlite")
    desk = bench.desk
    change_settings(desk, maker.SETTINGS, PRESS)
    for person in maker.PEOPLE:
        list_person(desk, person, PRESS)
    for thing in (*maker.PRODUCTS, *maker.CONTAINERS, *maker.MACHINES, *maker.SCALES):
        keep_thing(desk, thing, PRESS)
    facts = replace(maker.JOBS[0], number=REAL, lot_code="NE-0101", lot_size=60)
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), PRESS)
    yield bench
    bench.close()


@pytest.fixture
def opened(client):
    """A practice job on the simulated machine, opened by the form."""
    text = client.get("/practice").text
    carried = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', text))
    page = client.post("/practice", data={**carried, "like": REAL, "on": "simulated"})
    assert page.url.path == f"/job/{PRACTICE}"
    return PRACTICE


def played(bench, number, until):
    """Play a job on another simulated bench, as a person would."""
    chance = np.random.Generator(np.random.PCG64(3))
    machine = bench_for(bench.desk, bench.desk.book.job(number), chance, time.monotonic)
    play(bench.desk, number, machine, maker.PEOPLE[0], until=until, seed=3)


def shoots(desk, state):
    """True where a shot is to be weighed in Trim."""
    act = next_act(desk, state)
    return act.stage is Stage.TRIM and act.expects is Expects.WEIGHT


def test_the_page_of_practice_has_its_own_machine_and_scale(client, bench, opened):
    """Each of its pages says so; pages of real jobs and the real line have none of it."""
    page = client.get(f"/job/{opened}/setup").text
    real = client.get(f"/job/{REAL}/setup").text

    assert "Simulated for this practice." in page
    assert 'data-scale="simulated"' in page
    assert "Nothing of this job leaves the bench" in page
    assert "Simulated for this practice." not in real
    assert 'data-scale="scale"' in real
    assert bench.scale_of(opened) is bench.practice.scale
    assert bench.scale_of(REAL) is bench.scale
    assert bench.machine_of(REAL) is None
    assert not bench.scale.is_joined


def test_its_scale_weighs_for_that_job_alone(client, bench, opened):
    """What the act wants stands on the simulated pan; the real line hears nothing."""
    heard, came = [], threading.Event()
    stops = [
        bench.scale.subscribe(heard.append),
        bench.practice.scale.subscribe(
            lambda said: came.set() if said.get("event") == "settled" else None
        ),
    ]
    played(bench, opened, until=lambda state: shoots(bench.desk, state))

    assert client.get(f"/job/{opened}/trim").status_code == 200
    assert came.wait(PATIENCE_S)
    for stop in stops:
        stop()
    assert heard == []
    assert bench.scale.latest() == {}


def test_faults_are_set_on_the_machine_of_practice(client, bench, opened):
    """The course needs them."""
    client.get(f"/job/{opened}/match")
    page = client.get("/demo?back=/practice")

    assert page.status_code == 200
    token = re.search(r'name="token" value="(\w+)"', page.text).group(1)
    kind = re.findall(r'name="kind" value="([a-z-]+)"', page.text)[0]
    client.post("/demo", data={"token": token, "switch": "fault", "kind": kind, "severity": "0.6"})
    assert [fault.kind.value for fault in bench.simulated.faults] == [kind]


def test_a_whole_practice_counts_nowhere(client, bench, opened):
    """Played to its release: no list, table, paper or figure of the site knows of it."""
    desk = bench.desk
    before = {name: list(table_of(desk, name).rows) for name in TABLES}
    site = desk.book.site()
    learnt = (dict(site.primings), dict(site.strokes), dict(site.edges), list(site.seals))
    played(bench, opened, until=lambda state: state.released is not None)

    assert desk.book.job(opened).released is not None
    assert {name: list(table_of(desk, name).rows) for name in TABLES} == before
    site = desk.book.site()
    assert (dict(site.primings), dict(site.strokes), dict(site.edges), list(site.seals)) == learnt
    assert inspector_sheet(desk, seed=1).lots == ()
    assert opened not in client.get("/").text
    assert "practice" not in str(sorted(desk.book.numbers()))
    assert client.get("/trace?code=PRACTICE, SIMULATED").status_code == 422
    assert "is practice and counts nowhere" in client.get(f"/job/{opened}/cost").text
    assert "is practice and counts nowhere" in client.get(f"/quote?like={opened}").text


def test_water_stays_possible_and_takes_the_real_scale(client, bench):
    """Its weights come from the line that is joined for every job."""
    text = client.get("/practice").text
    carried = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', text))
    page = client.post("/practice", data={**carried, "like": REAL, "on": "water"})

    assert "Water, for practice" in page.text
    assert bench.scale_of(PRACTICE) is bench.scale
    assert bench.machine_of(PRACTICE) is None
    assert bench.simulated is None
    assert client.get("/demo").status_code == 404
