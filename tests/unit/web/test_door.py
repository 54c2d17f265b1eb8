"""The door: beyond the bench machine nothing is answered without its code."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from fillwright.web import create_app
from fillwright.wiring import open_bench

TABLET = ("192.0.2.77", 50000)


@pytest.fixture
def bench(tmp_path):
    """A bench on a journal of its own."""
    bench = open_bench(tmp_path / "bench.sqlite")
    yield bench
    bench.close()


@pytest.fixture
def tablet(bench):
    """A browser on another machine."""
    with TestClient(create_app(bench), base_url="http://192.0.2.1:8420", client=TABLET) as client:
        yield client


@pytest.mark.parametrize(
    "path",
    ["/", "/job/0101/run", "/static/page.css", "/api/v1/jobs/0101", "/scale/events", "/devices"],
)
def test_without_the_code_nothing_is_answered(tablet, path):
    """Every address gives the question for the code or a refusal, and no part of a page."""
    answer = tablet.get(path)

    assert answer.status_code == 401
    assert "New job" not in answer.text
    assert "fw_session" not in answer.cookies


def test_nothing_is_kept_without_the_code(tablet):
    """A weight from an unknown device is refused before it is read."""
    answer = tablet.post("/api/v1/jobs/0101/weighings", json={"id": "x", "value": "1"})

    assert answer.status_code == 401
    assert answer.json()["error"]["code"] == "not-available"


def test_the_code_lets_a_device_in_and_only_the_bench_machine_shows_it(tablet, bench):
    """A paired tablet sees the pages, but never the code for the next one."""
    code = bench.pairing.code
    answer = tablet.post("/pair", data={"code": code, "name": "tablet"})

    assert answer.status_code == 200
    assert "New job" in answer.text
    assert tablet.get("/static/page.css").status_code == 200
    devices = tablet.get("/devices")
    assert devices.status_code == 403
    assert bench.pairing.code not in devices.text


def test_five_wrong_codes_lock(tablet, bench):
    """The fifth answers 429, and so does the right code within the minute."""
    wrong = "000000" if bench.pairing.code != "000000" else "111111"
    answers = [tablet.post("/pair", data={"code": wrong}).status_code for _ in range(5)]

    assert answers == [401, 401, 401, 401, 429]
    assert tablet.post("/pair", data={"code": bench.pairing.code}).status_code == 429
    assert tablet.get("/").status_code == 401


def test_a_code_from_another_page_is_refused(tablet, bench):
    """A page elsewhere cannot pair the browser that shows it."""
    headers = {"sec-fetch-site": "cross-site"}

    answer = tablet.post("/pair", data={"code": bench.pairing.code}, headers=headers)

    assert answer.status_code == 403


def test_the_way_back_stays_here(tablet, bench):
    """After pairing the browser is never sent to another server."""
    data = {"code": bench.pairing.code, "back": "//elsewhere.invalid/"}

    answer = tablet.post("/pair", data=data, follow_redirects=False)

    assert answer.headers["location"] == "/"


def test_the_question_may_load_nothing(tablet):
    """Its policy allows its own style and nothing else; what was typed is shown escaped."""
    answer = tablet.post("/pair", data={"code": "x", "name": '"><script>'})

    assert answer.headers["content-security-policy"].startswith("default-src 'none'")
    assert "<script>" not in answer.text
