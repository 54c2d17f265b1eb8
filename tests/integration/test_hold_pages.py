"""Jars held by hand over HTTP: from the Run page and from the page of held ones."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import weigh
from fillwright.records.capture import Capture
from fillwright.wiring import maker
from fillwright.wiring.bench import open_bench

JOB = "0101"
PRESS = Press(person="AB")
FILLED = 60


@pytest.fixture
def bench(tmp_path):
    """A bench with a run of 500 started, and sixty filled when it was stopped."""
    bench = open_bench(tmp_path / "bench.sqlite")
    for person in maker.PEOPLE:
        list_person(bench.desk, person, PRESS)
    facts = replace(maker.JOBS[0], number=JOB, lot_code=f"NE-{JOB}", lot_size=500, tray_size=12)
    facts = replace(facts, aim_g=propose_aim(bench.desk, facts).aim_g, band_pct=Decimal(3))
    open_job(bench.desk, facts, PRESS)
    match.take(bench.desk, JOB, PRESS)
    run.start(bench.desk, JOB, PRESS, without_proof="a test")
    run.pause(bench.desk, JOB, "pause", PRESS, filled_to=FILLED)
    yield bench
    bench.close()


@pytest.fixture
def press(client, bench):
    """Press a button of a page of the job."""
    token = re.search(r'name="token" value="(\w+)"', client.get("/people").text).group(1)

    def pressed(page, **form):
        seen = str(bench.desk.book.job(JOB).revision)
        return client.post(f"/job/{JOB}/{page}", data={"token": token, "seen": seen, **form})

    return pressed


def held(bench):
    """What is held, as pairs."""
    return [(span.first, span.last) for span in bench.desk.book.job(JOB).open_spans]


@pytest.mark.parametrize("page", ["run", "held"])
def test_a_tray_is_held_from_either_page(press, client, bench, page):
    """One link reaches the question; it needs a tray or numbers, and why."""
    shown = client.get(f"/job/{JOB}/{page}").text
    assert f'href="/job/{JOB}/{page}?ask=hold"' in shown
    asked = client.get(f"/job/{JOB}/{page}?ask=hold").text
    assert re.search(r'id="ask-hold"[^>]*(?<!hidden)>', asked)

    press(f"{page}/hold", tray="3", reason="a crack")

    assert held(bench) == [(25, 36)]
    for where in ("run", "held", "release"):
        assert "25 to 36" in client.get(f"/job/{JOB}/{where}").text


def test_a_reason_by_its_key_or_its_button(press, bench):
    """The ready one that is about the weight lets a weight settle it."""
    press("run/hold", numbers="40-42", reason="2")
    press("held/hold", numbers="50", ready="1")

    told = [hold.reason for hold in bench.desk.book.job(JOB).holds]
    assert told == [
        "in doubt, held by hand (AB): container cracked or dirty",
        "to be weighed, held by hand (AB): weight in doubt",
    ]
    good = Capture(
        weighing_id="01e1b0c0-0000-7000-8000-000000000001",
        value=bench.desk.book.job(JOB).known.aim_g,
        basis="net",
        container=50,
        source="typed",
    )
    weigh(bench.desk, JOB, good, PRESS, purpose="held")
    assert held(bench) == [(40, 42)]


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"reason": "a crack"}, "Say which: type a tray (3, or 3-7), or numbers (40-60)."),
        ({"reason": "a crack", "numbers": "40-90"}, "There is no bottle 90: 1 to 60 are filled."),
        ({"reason": "a crack", "tray": "6"}, "There is no tray 6: the 60 filled stand on trays"),
        ({"reason": "9", "tray": "3"}, "No reason has the key 9. Type 1 to 5, or words."),
        ({"tray": "3"}, "Say why; the record prints it."),
        ({"tray": "3", "reason": "x", "last_filled": "7"}, "7 cannot be the last one filled"),
        ({"tray": "3", "reason": "x", "last_filled": "many"}, "is not a number"),
    ],
)
@pytest.mark.parametrize("page", ["run", "held"])
def test_a_wrong_range_is_refused_in_one_sentence(press, bench, page, form, words):
    """The question stays open with what was typed, and nothing is held."""
    answer = press(f"{page}/hold", **form)

    assert answer.status_code == 422
    assert answer.text.count('class="problem"') <= 1
    assert words in answer.text
    assert re.search(r'id="ask-hold"[^>]*(?<!hidden)>', answer.text)
    assert held(bench) == []


def test_those_filled_meanwhile_are_held_too(press, bench):
    """The last one filled goes on record with them."""
    press("run/hold", numbers="58-66", reason="3", last_filled="66")

    assert held(bench) == [(58, 66)]
    assert bench.desk.book.job(JOB).filled_to == 66


def test_they_are_settled_like_others(press, bench, client):
    """By tray and count; the page says what is doubted."""
    press("run/hold", tray="3", reason="a crack")
    assert "Look at held bottle 25, tray 3: a crack." in client.get(f"/job/{JOB}/held").text
    assert press("held/weigh", weight="350").status_code == 422
    press("held/scrapped", count="2", reason="2")
    press("held/released-with-reason", reason="1")

    assert held(bench) == []
    assert client.get(f"/job/{JOB}/held").text.count("Scrapped") >= 1
