"""Strip, shelf and day through the server: a browser without scripts, forms as the page draws."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from starlette.testclient import TestClient

from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.web import create_app
from fillwright.wiring import maker, open_bench

PRESS = Press(person="AB")
JOB = "0101"


@pytest.fixture
def client(tmp_path):
    """A browser at a bench with one open job, and a broken profile beside the store."""
    (tmp_path / "profiles").mkdir()
    (tmp_path / "profiles" / "ours.toml").write_text("[profile]\n", encoding="utf-8")
    bench = open_bench(tmp_path / "bench.sqlite")
    change_settings(bench.desk, maker.SETTINGS, PRESS)
    for person in maker.PEOPLE:
        list_person(bench.desk, person, PRESS)
    for thing in (*maker.PRODUCTS, *maker.CONTAINERS, *maker.MACHINES, *maker.SCALES):
        keep_thing(bench.desk, thing, PRESS)
    facts = replace(maker.JOBS[0], number=JOB, lot_code=f"NE-{JOB}")
    open_job(bench.desk, replace(facts, aim_g=propose_aim(bench.desk, facts).aim_g), PRESS)
    with TestClient(create_app(bench), base_url="http://localhost") as client:
        client.cookies.set("fw_person", "AB")
        yield client
    bench.close()


def press(client, path, **form):
    """Send a form of the strip page with its token and revision; return what comes."""
    page = client.get(f"/job/{JOB}/strip").text
    token = re.search(r'name="token" value="(\w+)"', page).group(1)
    seen = re.search(r'name="seen" value="(\d+)"', page).group(1)
    return client.post(path, data={"token": token, "seen": seen, **form})


def test_a_strip_goes_on_step_by_step(client):
    """Begin, give the evidence, and see the next step; the gate asks before hands go in."""
    profile = "Piston filler, general"
    assert "Run the hopper empty" in press(client, f"/job/{JOB}/strip/begin", profile=profile).text
    assert "Write down indicator" in press(client, f"/job/{JOB}/strip/tick", step="empty").text
    bare = press(client, f"/job/{JOB}/strip/tick", step="note_settings")
    assert (bare.status_code, "Take the photo" in bare.text) == (422, True)
    press(client, f"/job/{JOB}/strip/tick", step="note_settings", photo="tablet, 1")
    press(client, f"/job/{JOB}/strip/tick", step="park")

    gate = press(client, f"/job/{JOB}/strip/tick", step="isolate", reading="0")
    assert (gate.status_code, "Look first, then tick" in gate.text) == (422, True)
    ticks = {"tick_1": "yes", "tick_2": "yes"}
    opened = press(client, f"/job/{JOB}/strip/tick", step="isolate", reading="0", **ticks)
    assert "Take off nozzle" in opened.text
    assert "tick_1" not in opened.text


def test_a_step_that_is_not_open_is_refused(client):
    """A step of later, or of no profile, changes nothing."""
    press(client, f"/job/{JOB}/strip/begin", profile="Piston filler, general")

    for step in ("hopper_off", "<b>", ""):
        answer = press(client, f"/job/{JOB}/strip/tick", step=step)
        assert answer.status_code == 422
        assert "not open now" in answer.text
    wrong = press(client, f"/job/{JOB}/strip/seal", position="x", state="good", action="kept")
    assert (wrong.status_code, "no seal" in wrong.text) == (422, True)


def test_a_broken_profile_is_told_and_the_shipped_one_works(client):
    """The page names the file and its line, and still offers the shipped profile."""
    page = client.get(f"/job/{JOB}/strip").text

    assert "ours.toml, line 1" in page
    assert "Piston filler, general" in page


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/shelf", 200),
        ("/shelf?next_job=many", 422),
        ("/shelf?ratio=0", 422),
        ("/shelf?service=99.9", 200),
        ("/day", 200),
        (f"/day?minutes-{JOB}=45&due_min-{JOB}=10", 200),
        (f"/day?minutes-{JOB}=soon", 422),
        ("/day?apart=nut", 422),
        ("/day?lateness=-1", 422),
    ],
)
def test_shelf_and_day_answer_what_is_typed(client, path, status):
    """What can be reckoned is shown, and what cannot is said on the page."""
    assert client.get(path).status_code == status


def test_a_lot_is_put_on_the_shelf(client):
    """A lot is listed with its shelf date; a date that is none is refused on the page."""
    lot = {"seal_lot": "B-7", "material": "FKM", "size": "224", "pieces": "6"}
    assert press(client, "/shelf", cured_on="yesterday", **lot).status_code == 422

    page = press(client, "/shelf", cured_on="2026-03-31", **lot).text
    assert "B-7" in page
    assert "until 2036-03-31" in page
