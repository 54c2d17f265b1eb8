"""The Fault page from the sign to the cure, its papers, and a case that was sent."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest
from starlette.testclient import TestClient

from fillwright.jobs import match, run
from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.records.case_file import case_from_bytes
from fillwright.web import create_app
from fillwright.wiring import maker, open_bench

PRESS = Press(person="AB")
JOB = "0101"
PAGE = f"/job/{JOB}/fault"


@pytest.fixture
def bench(tmp_path):
    """A bench with one job in its run, on a journal of its own."""
    bench = open_bench(tmp_path / "bench.sqlite")
    desk = bench.desk
    change_settings(desk, maker.SETTINGS, PRESS)
    for person in maker.PEOPLE:
        list_person(desk, person, PRESS)
    for thing in (*maker.PRODUCTS, *maker.CONTAINERS, *maker.MACHINES, *maker.SCALES):
        keep_thing(desk, thing, PRESS)
    facts = replace(maker.JOBS[0], number=JOB, lot_code="NE-0101")
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), PRESS)
    match.take(desk, JOB, PRESS)
    run.start(desk, JOB, PRESS, without_proof="a test")
    yield bench
    bench.close()


@pytest.fixture
def client(bench):
    """A browser without scripts, with initials picked."""
    with TestClient(create_app(bench), base_url="http://localhost") as client:
        client.cookies.set("fw_person", "AB")
        yield client


@pytest.fixture
def press(client):
    """Presses a button of the Fault page with what its form carries."""

    def pressing(what="", query="", **form):
        page = client.get(PAGE + query).text
        carried = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', page))
        return client.post(PAGE + what, data={**carried, **form}, follow_redirects=True)

    return pressing


def order_of(answer):
    """The order that leads the page."""
    return re.search(r'<h1 id="order">(.*?)</h1>', answer.text).group(1)


def test_a_loose_lock_is_found_and_the_search_is_closed(press, bench, client):
    """Creeps up: check 14, it is loose, the lock is set, the test passed."""
    first = press(sign="creeps-up")
    assert order_of(first) == "Is the wheel lock tight?"
    assert "Check 14" in first.text

    second = press("/answer", said="yes")
    assert "Engage" in order_of(second) or "lock" in order_of(second)

    last = press("/answer", said="cured")
    case = bench.desk.book.job(JOB).faults[-1]
    assert (case.closed.outcome, case.closed.cause) == ("cured", "lock_open")
    assert "Last search: cured" in last.text
    assert "1 closed cases count" in client.get("/faults").text


def test_a_step_with_hands_inside_waits_for_its_ticks(press, bench):
    """Without the ticks nothing is kept; cannot check needs none; with them it is."""
    press(sign="leaks")
    before = len(bench.desk.book.job(JOB).faults[-1].answers)

    refused = press("/answer", query="?check=28", said="no")
    assert refused.status_code == 422
    assert "tick each line" in refused.text
    assert len(bench.desk.book.job(JOB).faults[-1].answers) == before

    taken = press("/answer", query="?check=28", said="no", need_1="1", need_2="1", need_3="1")
    assert taken.status_code == 200
    assert len(bench.desk.book.job(JOB).faults[-1].answers) == before + 1


def test_a_number_said_over_the_phone_opens_its_check(press, client):
    """Slash and number, or the number alone; what is no number changes nothing."""
    press(sign="slow")

    assert "Check 21" in client.get(f"{PAGE}?check=/21").text
    assert "Check 21" in client.get(f"{PAGE}?check=21").text
    assert client.get(f"{PAGE}?check=9999").status_code == 200


def test_the_walk_round_keeps_all_its_looks_at_once(press, bench):
    """What is ticked is there, the rest was looked at."""
    press(sign="nothing-moves")
    answer = press("/walk", query="?walk=1", wrong_see_estop="yes")
    case = bench.desk.book.job(JOB).faults[-1]

    assert answer.status_code == 200
    assert "k_estop_in" in case.present
    assert "k_gauge_low" in case.absent


def test_what_a_technician_mends_is_handed_over(press, bench):
    """A steady blow at the exhaust: the page says hand over, and keeps that it was."""
    press(sign="slow", seen_slow_recharge="yes", seen_slow_fill="yes")
    press("/answer", query="?check=9", said="yes")
    answer = press("/answer", query="?check=2", said="no")
    assert order_of(answer) == "Hand it to a qualified technician."

    press("/close", outcome="handed-over")
    assert bench.desk.book.job(JOB).faults[-1].closed.outcome == "handed-over"


@pytest.mark.parametrize(
    ("what", "form"),
    [
        ("", {"sign": "smells"}),
        ("/answer", {"key": "hammer", "said": "yes", "finding": "x"}),
        ("/answer", {"key": "call_air_valve", "said": "cured"}),
        ("/close", {"outcome": "blown up"}),
        ("/walk", {"checks": "valve_open"}),
    ],
)
def test_nonsense_is_refused_in_words(press, what, form):
    """A form that was made by hand gets a sentence, never a traceback."""
    press(sign="slow")
    answer = press(what, query="" if what else "?again=1", **form)

    assert answer.status_code == 422
    assert 'id="problem"' in answer.text


def test_the_call_sheet_and_the_case_file(press, client, bench):
    """Both are there once a search was begun, and say what was done."""
    assert client.get(f"{PAGE}/sheet.pdf").status_code == 404
    assert client.get(f"{PAGE}/case.json").status_code == 404
    press(sign="creeps-up")
    press("/answer", said="no")

    assert client.get(f"{PAGE}/sheet.pdf").content.startswith(b"%PDF")
    sent = case_from_bytes(client.get(f"{PAGE}/case.json").content)
    assert (sent.job, sent.answers[0].check) == (JOB, "wheel_lock")
    assert sent.searched().absent == bench.desk.book.job(JOB).faults[-1].absent


def test_a_case_that_was_sent_opens_beside_ones_own(press, client, bench):
    """The technician sees the same next step; nothing is kept."""
    press(sign="creeps-up")
    body = client.get(f"{PAGE}/case.json").text
    entries = len(list(bench.desk.journal.entries(f"job/{JOB}")))
    token = re.search(r'name="token" value="(\w+)"', client.get("/case").text).group(1)

    answer = client.post("/case", data={"token": token, "text": body})
    assert answer.status_code == 200
    assert order_of(answer) == "Is the wheel lock tight?"
    refused = client.post("/case", data={"token": token, "text": json.dumps({"form": "x"})})
    assert refused.status_code == 422
    assert "no case file" in refused.text
    assert len(list(bench.desk.journal.entries(f"job/{JOB}"))) == entries


def test_a_case_is_left_out_with_a_reason_and_the_switch_goes_back(press, client, bench):
    """Without a reason nothing changes; shipped figures return with one press."""
    press(sign="creeps-up")
    press("/answer", said="yes")
    press("/answer", said="cured")
    token = re.search(r'name="token" value="(\w+)"', client.get("/faults").text).group(1)
    case = {"token": token, "case": f"{JOB}/1", "counts": "no"}

    assert client.post("/faults", data={**case, "reason": " "}).status_code == 422
    assert (
        "0 closed cases count"
        in client.post("/faults", data={**case, "reason": "a test piece"}).text
    )
    client.post("/faults", data={"token": token, "uses": "no"})
    assert not bench.desk.book.site().uses_fault_records
    assert "uses shipped figures" in client.get("/faults").text
