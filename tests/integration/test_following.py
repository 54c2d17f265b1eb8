"""What an open page is told without asking: only what changed of it, and only its own browser."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from uuid import uuid4

import pytest

from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.wiring import maker
from fillwright.wiring.bench import open_bench

JOB = "0101"
PRESS = Press(person="AB")
PAGE = f"/job/{JOB}/run"


@pytest.fixture
def bench(tmp_path):
    """A bench whose one run waits for weights."""
    bench = open_bench(tmp_path / "bench.sqlite")
    for person in maker.PEOPLE:
        list_person(bench.desk, person, PRESS)
    facts = replace(maker.JOBS[0], number=JOB, lot_size=5000, weigh_every=1)
    open_job(bench.desk, replace(facts, aim_g=propose_aim(bench.desk, facts).aim_g), PRESS)
    match.take(bench.desk, JOB, PRESS)
    run.start(bench.desk, JOB, PRESS, without_proof="a test")
    firstjar.look_at_first(bench.desk, JOB, dict.fromkeys(firstjar.KEYS), PRESS)
    yield bench
    bench.close()


@pytest.fixture
def weigh(client, bench):
    """Send the weight of one more jar."""
    known = bench.desk.book.job(JOB).known
    value = str(known.aim_g + known.container.tare_g)

    def weighed():
        weight = {"id": str(uuid4()), "value": value, "unit": "g", "person": "AB"}
        answer = client.post(f"/api/v1/jobs/{JOB}/weighings", json=weight)
        assert answer.status_code == 200, answer.text

    return weighed


def _ask(client, has="", page="one"):
    return client.get(PAGE, headers={"Fw-Page": page, "Fw-Spares": has})


def _shut(html):
    """The questions and folds that are shut, as a page names them."""
    asks = re.findall(r'<section class="sheet ask" id="([^"]+)"[^>]* hidden', html)
    return " ".join([*asks, *re.findall(r'<details class="more" id="([^"]+)"', html)])


def _had(html):
    """What a page says that it has."""
    parts = re.findall(r'id="([^"]+)"[^>]* data-(?:part|text|own)="([^"]+)"', html)
    frame = re.search(r' data-frame="([^"]+)"', html)[1]
    return " ".join([f"frame={frame}", *(f"{name}={mark}" for name, mark in parts)])


def test_a_page_is_told_what_changed_and_no_more(client, weigh):
    """A weight moves figure, order, number and drawing; the rest is named as the same."""
    for _ in range(30):
        weigh()
    shown = _ask(client, _shut(_ask(client).text)).text
    weigh()
    told = client.app.state.followers.changes("one", client.cookies["fw_session"])
    told = json.loads(told)

    assert told["texts"]["order"][1] == "Weigh bottle 32."
    assert told["texts"]["live-label"][1] == "Bottle 31, net"
    assert told["own"]["container"]["value"] == "32"
    assert "<script" not in told["parts"] + told["drawn"]
    had = dict(one.split("=", 1) for one in _had(shown).split())
    assert {"top", "rail", "foot"} <= set(told["same"]) <= set(had)
    assert all(had[name] == mark for name, mark in told["same"].items())


def test_one_who_asks_is_answered_alike(client, weigh):
    """With the frame in hand, the answer to a question is what changed too."""
    for _ in range(30):
        weigh()
    shut = _shut(_ask(client).text)
    shown = _ask(client, shut).text
    weigh()
    answer = _ask(client, f"{shut} {_had(shown)}")

    assert answer.headers["content-type"] == "application/json"
    assert answer.json()["texts"]["order"][1] == "Weigh bottle 32."
    assert len(answer.text) < len(shown) / 4


def test_nobody_else_is_told(client, weigh):
    """Neither another browser that guessed the name, nor a page that never asked."""
    _ask(client)
    weigh()
    followers = client.app.state.followers

    assert followers.changes("one", "another browser") is None
    assert followers.changes("two", client.cookies["fw_session"]) is None
    assert followers.changes("", client.cookies["fw_session"]) is None


def test_a_page_that_is_another_by_now_asks(client, bench, weigh):
    """The run is finished: what is to be shown is another page, and it is asked for."""
    for _ in range(3):
        weigh()
    _ask(client)
    run.finish(bench.desk, JOB, 3, PRESS, reason="a test")

    assert client.app.state.followers.changes("one", client.cookies["fw_session"]) is None


def test_the_pages_asked_for_last_are_remembered(client, weigh):
    """The table of names does not grow with the tablets of a year."""
    for number in range(70):
        _ask(client, page=f"page {number}")
    weigh()
    followers, session = client.app.state.followers, client.cookies["fw_session"]

    assert followers.changes("page 0", session) is None
    assert len(followers._pages) == 64
