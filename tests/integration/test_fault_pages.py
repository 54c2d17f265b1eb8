"""The Fault page from the sign to the cure, its papers, and a case that was sent."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest

from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run import stage as run
from fillwright.records.case_file import case_from_bytes
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
def press(client):
    """Presses a button of the Fault page with what its form carries."""

    def pressing(what="", query="", **form):
        page = client.get(PAGE + query).text
        carried = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', page))
        return client.post(PAGE + what, data={**carried, **form}, follow_redirects=True)

    return pressing


def order_of(answer):
    """The order that leads the page."""
    return re.search(r'<h1 id="order"[^>]*>(.*?)</h1>', answer.text).group(1)


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


def test_a_case_that_was_sent_is_kept_beside_ones_own(press, client, bench):
    """The technician sees the same next step, answers it, and the owner's job is not touched."""
    press(sign="creeps-up")
    body = client.get(f"{PAGE}/case.json").content
    entries = len(list(bench.desk.journal.entries(f"job/{JOB}")))
    token = re.search(r'name="token" value="(\w+)"', client.get("/case").text).group(1)

    sent = {"file": ("../case.json", body, "application/json")}
    opened = client.post("/case/file", data={"token": token}, files=sent)
    assert (opened.url.path, order_of(opened)) == ("/case/1", "Is the wheel lock tight?")
    again = client.post("/case", data={"token": token, "text": body.decode()})
    assert again.url.path == "/case/1"

    answer = {"token": token, "do": "14", "words": "Tighten it <b>now</b>."}
    page = client.post("/case/1/reply", data=answer)
    assert "Tighten it &lt;b&gt;now&lt;/b&gt;." in page.text
    back = client.get("/case/1/answer.json").content
    told = client.post("/case", data={"token": token, "text": back.decode()})
    assert order_of(told).startswith("Do check 14")
    assert f'href="{PAGE}?check=14"' in told.text
    assert "Do check 14" in client.get("/case/1/answer.txt").text
    closed = client.post("/case/1/end", data={"token": token, "came_to": "cured", "how": "tight"})
    assert order_of(closed) == "Closed: cured."
    assert len(list(bench.desk.journal.entries(f"job/{JOB}"))) == entries


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        (b"", "Choose the case file"),
        (b"\xff\xfe", "not text"),
        (b"[" * 300_000, "nested too deep"),
        (b"[]" + b" " * 16_300_000, "larger than 16256 kB"),
        (b"[" * 1000, "nested too deep"),
        (json.dumps({"form": "x"}).encode(), "no case file"),
    ],
)
def test_a_file_that_is_none_is_refused_in_words(client, bench, sent, told):
    """Empty, no text, too large, too deep, another form: a sentence, and nothing is kept."""
    token = re.search(r'name="token" value="(\w+)"', client.get("/case").text).group(1)
    files = {"file": ("case.json", sent, "application/json")}

    refused = client.post("/case/file", data={"token": token}, files=files)
    assert (refused.status_code, told in refused.text) == (422, True)
    assert bench.desk.journal.streams("case/") == ()


def test_a_search_without_a_job_has_the_same_pages(client, bench):
    """From the register: the sign, the ticks, the repair; call sheet and case file; closed."""

    def send(path, page, **form):
        text = client.get(page).text
        carried = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', text))
        return client.post(path, data={**carried, **form})

    kept = send("/field", "/field", serial="E-2207", owner="the mill", seals="piston: FKM")
    assert kept.url.path == "/field/1"
    first = send("/fault", "/fault", machine="1", sign="creeps-up")
    assert (first.url.path, order_of(first)) == ("/case/1", "Is the wheel lock tight?")
    send("/case/1/answer", "/case/1", said="no")
    bare = send("/case/1/answer", "/case/1?check=28", said="no")
    assert (bare.status_code, "tick each line" in bare.text) == (422, True)
    send("/case/1/answer", "/case/1?check=14", said="yes")
    assert "1 open" in client.get("/field").text
    assert client.get("/case/1/sheet.pdf").content.startswith(b"%PDF")
    assert case_from_bytes(client.get("/case/1/case.json").content).job == "case 1"

    last = send("/case/1/answer", "/case/1", said="cured")
    assert order_of(last) == "Closed: cured."
    assert "Quiet" in client.get("/field").text
    visit = {"visited_on": "2026-01-05", "done": "lock renewed", "put_in": "piston: UHMWPE"}
    kept = send("/field/1/visit", "/field/1", **visit).text
    assert "lock renewed" in kept
    entry = re.search(r'name="entry" value="([^"]+)"', kept).group(1)
    bare = send("/field/1/strike", "/field/1", entry=entry, reason=" ")
    assert (bare.status_code, "Say why the visit is struck out" in bare.text) == (422, True)
    struck = send("/field/1/strike", "/field/1", entry=entry, reason="wrong <b>machine</b>").text
    assert "<s>lock renewed" in struck
    assert "Struck out by AB: wrong &lt;b&gt;machine&lt;/b&gt;" in struck
    assert f"strike-{entry}" not in struck
    again = send("/field/1/strike", "/field/1", entry=entry, reason="again")
    assert (again.status_code, "is struck out already" in again.text) == (422, True)
    assert "last 2026-01-05" not in client.get("/field").text
    assert client.get("/field/9").status_code == client.get("/case/9").status_code == 404
    assert [stream for stream in bench.desk.journal.streams() if "fault" in stream] == []


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
