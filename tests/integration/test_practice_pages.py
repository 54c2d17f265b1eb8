"""Practice and the list of who may, by forms as the pages draw them."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.wiring import maker, open_bench

PRESS = Press(person="AB")
REAL = "0101"
PRACTICE = "practice-1"


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
    facts = replace(maker.JOBS[0], number=REAL, lot_code="NE-0101")
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), PRESS)
    yield bench
    bench.close()


@pytest.fixture
def send(client):
    """Sends a form to an address, with what the forms of a page carry."""

    def sending(path, page="", **form):
        text = client.get(page or path).text
        carried = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', text))
        return client.post(path, data={**carried, **form})

    return sending


def test_practice_is_marked_on_every_page_and_on_no_list(client, send, bench):
    """With water on a real bench; each page of the job says so, the job list has none of it."""
    assert "with water" in client.get("/practice").text
    opened = send("/practice", like=REAL, on="water")
    assert opened.url.path == f"/job/{PRACTICE}"

    job = f"/job/{PRACTICE}"
    stages = ("", "/match", "/setup", "/trim", "/prove", "/run", "/release", "/strip", "/fault")
    for page in stages:
        assert "Nothing of this job leaves the bench" in client.get(job + page).text, page
    assert "Nothing of this job leaves" not in client.get(f"/job/{REAL}").text
    assert "Water, for practice" in opened.text
    assert PRACTICE not in client.get("/").text
    assert bench.desk.book.numbers() == (REAL,)
    assert client.get(f"{job}/card.pdf").content.startswith(b"%PDF")


def test_its_facts_cannot_take_the_mark_off(client, send):
    """A change of facts keeps the number, and so the mark."""
    send("/practice", like=REAL)
    fields = dict(
        re.findall(r'name="(\w+)" value="([^"]*)"', client.get(f"/job/{PRACTICE}/facts").text)
    )
    send(f"/job/{PRACTICE}/facts", **{**fields, "lot_code": "NE-1", "reason": "try"})

    page = client.get(f"/job/{PRACTICE}").text
    assert "Nothing of this job leaves the bench" in page


def test_the_course_lists_eight_tasks_and_says_what_is_wrong(client, send):
    """None is passed; a job that is none is refused; a complaint waits for a run."""
    assert client.get("/practice").text.count("Not yet") == 8
    refused = send("/practice", like="9999")
    assert (refused.status_code, "no job 9999" in refused.text) == (422, True)
    send("/practice", like=REAL)
    assert client.get(f"/practice/{PRACTICE}/complaint").status_code == 404
    assert client.get(f"/practice/{REAL}/complaint").status_code == 404


def test_who_may_turn_is_said_by_name_and_told_in_one_sentence(client, send, bench):
    """AB names CD for the wheel; AB is told to fetch CD; CD is not kept from it."""
    match.take(bench.desk, REAL, PRESS)
    kept = send("/people/allowed", turns_CD="yes")
    assert kept.status_code == 200
    assert bench.desk.book.site().allowed["CD"].turns

    trim = f"/job/{REAL}/trim"
    turn = {"setting": "40", "locked": "yes", "tick_1": "yes"}
    told = send(f"{trim}/moved", trim, **turn)
    assert told.status_code == 422
    assert "AB may not turn the wheel at this bench: fetch CD (C. Drum)" in told.text
    client.cookies.set("fw_person", "CD")
    assert "may not turn" not in send(f"{trim}/moved", trim, **turn).text


def test_the_list_belongs_to_those_who_may_release(send):
    """Once CD may release, AB changes the list no more."""
    send("/people/allowed", releases_CD="yes")
    refused = send("/people/allowed", releases_AB="yes")

    assert refused.status_code == 422
    assert "fetch CD" in refused.text


def test_the_course_leads_to_where_a_task_is_done(client, send):
    """Enter goes on with the job that is there; without one it starts one."""
    assert "Start a practice job <kbd>Enter</kbd>" in client.get("/practice").text
    send("/practice", like=REAL, on="water")
    page = client.get("/practice").text

    assert f"Go on with {PRACTICE}" in page
    assert f'href="/job/{PRACTICE}/match" id="go-trim"' in page
    assert f'href="/job/{PRACTICE}/fault" id="go-lock"' in page
    assert "Start a practice job <kbd>*</kbd>" in page
