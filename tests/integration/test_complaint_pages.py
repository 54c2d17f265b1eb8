"""Complaints over HTTP, as a browser without scripts: taken, answered, closed, printed."""

from __future__ import annotations

import re

import pytest

from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.opening import open_job
from fillwright.jobs.trace.complaint_look import complaint_of, complaints_on_record
from fillwright.wiring import maker
from fillwright.wiring.bench import open_bench

PRESS = Press(person="AB")


@pytest.fixture
def bench(tmp_path):
    """A bench with one job that was opened."""
    bench = open_bench(tmp_path / "bench.sqlite")
    for person in maker.PEOPLE:
        list_person(bench.desk, person, PRESS)
    open_job(bench.desk, maker.JOBS[0], PRESS)
    yield bench
    bench.close()


def test_a_complaint_is_taken_answered_closed_and_printed(client, bench):
    """One way through all pages; what was typed stands where something is missing."""
    code = maker.JOBS[0].lot_code
    page = client.get(f"/complaint?code={code}&about=leaked").text
    token = re.search(r'name="token" value="(\w+)"', page).group(1)
    asked = {"token": token, "code": code, "about": "leaked"}

    looked = client.post("/complaint", data={**asked, "tray": "", "look": "again"})
    assert looked.url.query == f"code={code}&about=leaked".encode()
    missing = client.post("/complaint", data={**asked, "customer": "K. of the market"})
    assert missing.status_code == 422
    assert "K. of the market" in missing.text
    assert complaints_on_record(bench.desk) == ()

    taken = client.post("/complaint", data={**asked, "told_words": "It <leaks>"})
    assert taken.url.path == "/complaint/1"
    assert "It &lt;leaks&gt;" in taken.text
    assert "It &lt;leaks&gt;" in client.get("/complaints").text
    for page in (f"/trace?code={code}", "/inspector"):
        assert "Complaint 1" in client.get(page).text

    wrong = client.post("/complaint/1/answer", data={"token": token, "finding": "leaked"})
    assert (wrong.status_code, "rests on" in wrong.text) == (422, True)
    client.post(
        "/complaint/1/answer", data={"token": token, "finding": "leaked", "reason": "loose lid"}
    )
    closed = client.post("/complaint/1/close", data={"token": token, "done": "a new one"})
    assert "Closed: a new one" in closed.text
    again = client.post("/complaint/1/reopen", data={"token": token, "reason": "came back"})
    assert "What did you do for the customer?" in again.text
    assert complaint_of(bench.desk, 1).is_open
    for paper in ("letter", "sheet"):
        assert client.get(f"/complaint/1/{paper}.pdf").content.startswith(b"%PDF")
    assert client.get("/data/complaints.csv").status_code == 200


def test_what_is_not_there_is_said(client):
    """No page fails on a number that nobody gave."""
    assert client.get("/complaint/7").status_code == 404
    assert client.get("/complaint/x").status_code == 404
    assert client.get("/complaint/7/letter.pdf").status_code == 404
    assert client.get("/complaints?code=none").status_code == 200


def test_looking_up_keeps_nothing(client, bench):
    """Enter presses the first button: it looks up, and what was typed of it stays on the page."""
    code = maker.JOBS[0].lot_code
    page = client.get(f"/complaint?code={code}&about=leaked").text
    form = re.search(r'<form method="post" action="/complaint".*?</form>', page, re.DOTALL).group(
        0
    )
    first = re.search(r"<button[^>]*>", form).group(0)
    assert first == '<button hidden name="look" value="again">'
    asked = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', form))
    asked = {**asked, "shown": asked["shown"].replace("&amp;", "&"), "look": "again"}
    typed = {"told_words": "It leaks, K. says", "customer": "K.", "about": "leaked"}

    looked = client.post("/complaint", data={**asked, **typed, "code": code})
    assert looked.status_code == 200
    assert "It leaks, K. says</textarea>" in looked.text
    assert "K.+says" not in str(looked.url)
    wrong = client.post("/complaint", data={**asked, **typed, "code": "no-such"})
    assert (wrong.status_code, 'value="It leaks, K. says"' in wrong.text) == (422, True)
    assert complaints_on_record(bench.desk) == ()


def test_one_that_nobody_looked_up_is_not_kept(client, bench):
    """Another code in the field than the page tells of: it is looked up first, then kept."""
    one, other = maker.JOBS[0].lot_code, maker.JOBS[1].lot_code
    open_job(bench.desk, maker.JOBS[1], PRESS)
    page = client.get(f"/complaint?code={one}").text
    token = re.search(r'name="token" value="(\w+)"', page).group(1)
    data = {"token": token, "shown": f"code={one}", "code": other, "told_words": "too little"}

    asked = client.post("/complaint", data=data)
    assert (asked.status_code, "nothing was kept" in asked.text) == (422, True)
    assert f"Lot {other}: a bottle, number unknown" in asked.text
    assert complaints_on_record(bench.desk) == ()
    nobody = client.post("/complaint", data={**data, "code": "<b>no"})
    assert (nobody.status_code, "nothing was kept" in nobody.text) == (422, False)
    client.post("/complaint", data={**data, "shown": f"code={other}"})
    (kept,) = complaints_on_record(bench.desk)
    assert kept.taken.lot_code == other


def test_the_nearest_codes_are_offered_beside_the_field(client):
    """Lot codes alone, each leading on with all else that was typed."""
    page = client.get("/complaint?code=NE-01O1&tray=2&about=leaked")
    code = maker.JOBS[0].lot_code

    assert page.status_code == 422
    assert f'href="/complaint?code={code}&amp;about=leaked&amp;tray=2">{code}</a>' in page.text


def test_signs_that_nobody_sees_are_left_out(client, bench):
    """A turned direction and a control sign stay off page and paper."""
    code = maker.JOBS[0].lot_code
    page = client.get(f"/complaint?code={code}").text
    token = re.search(r'name="token" value="(\w+)"', page).group(1)
    told = "half\u202e empty\x00\x1b\u2066"
    client.post("/complaint", data={"token": token, "code": code, "told_words": told})
    (kept,) = complaints_on_record(bench.desk)

    assert kept.taken.told_words == "half empty"
