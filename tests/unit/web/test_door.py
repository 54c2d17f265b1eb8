"""The door: beyond the bench machine nothing is answered without its code."""

from __future__ import annotations

import pytest
from anyio.from_thread import start_blocking_portal
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


def test_a_device_that_is_let_in_no_more_sees_nothing_more(tablet, bench, monkeypatch):
    """A stream that was open when the device was cut off ends at its next look."""
    tablet.post("/pair", data={"code": bench.pairing.code, "name": "tablet"})
    paired = bench.pairing.is_paired
    asked = []

    def cut_off_after_the_first(secret):
        asked.append(secret)
        if len(asked) > 1 and bench.pairing.devices:
            bench.pairing.forget(bench.pairing.devices[0].key)
        return paired(secret)

    monkeypatch.setattr(bench.pairing, "is_paired", cut_off_after_the_first)
    stream = tablet.get("/scale/events")

    assert stream.status_code == 200
    assert "event:" not in stream.text
    assert tablet.get("/scale/events").status_code == 401


async def _answered(app, cookie, parts, between):
    """Send a body in parts as a paired tablet does; `between` happens before the last one."""
    sent, told = list(parts), []
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST",
        "scheme": "http", "path": "/api/v1/jobs/0101/weighings", "raw_path": b"", "root_path": "",
        "query_string": b"", "client": TABLET, "server": ("192.0.2.1", 8420),
        "headers": [
            (b"host", b"192.0.2.1:8420"), (b"cookie", cookie.encode()),
            (b"content-type", b"application/json"),
        ],
    }  # fmt: skip

    async def receive():
        if len(sent) == 1:
            between()
        body = sent.pop(0)
        return {"type": "http.request", "body": body, "more_body": bool(sent)}

    async def send(message):
        told.append(message)

    await app(scope, receive, send)
    return told[0]["status"]


def test_a_lost_device_can_do_nothing_from_then_on(tablet, bench):
    """Pages, presses, the interface for programs, photos, streams: each is shut at once."""
    tablet.post("/pair", data={"code": bench.pairing.code, "name": "tablet"})
    assert "New job" in tablet.get("/").text
    before = len(list(bench.desk.journal.entries("site")))
    bench.pairing.forget(bench.pairing.devices[0].key)

    for path in ("/", "/job/0101/run", "/job/0101/record.pdf", "/static/page.css", "/data",
                 "/api/v1/jobs/0101", "/job/0101/events?scale=1", "/scale/events"):  # fmt: skip
        answer = tablet.get(path)
        assert answer.status_code == 401, path
        assert "New job" not in answer.text
    for path in ("/api/v1/jobs/0101/weighings", "/api/v1/ask/stop", "/job/0101/run/weigh",
                 "/job/0101/photo", "/people", "/settings", "/data/in", "/seat"):  # fmt: skip
        assert tablet.post(path, data={"initials": "XY", "name": "x"}).status_code == 401, path
    assert len(list(bench.desk.journal.entries("site"))) == before


@pytest.mark.parametrize(("is_cut_off", "status"), [(True, 401), (False, 404)])
def test_a_weight_that_is_still_coming_in_is_not_kept(bench, is_cut_off, status):
    """The first half was sent by a paired device; before the second it was let in no more."""
    secret = bench.pairing.pair(bench.pairing.code, "tablet")
    key = bench.pairing.devices[0].key
    parts = [b'{"id": "01e1b0c0-0000-7000-8000-000000000001", ', b'"value": "1", "basis": "net"}']

    def between():
        if is_cut_off:
            bench.pairing.forget(key)

    # A loop of its own in a thread of its own: the browser tests leave one running in this one.
    with start_blocking_portal() as portal:
        told = portal.call(_answered, create_app(bench), f"fw_paired={secret}", parts, between)

    assert told == status
