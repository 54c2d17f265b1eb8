"""A page that follows a long run: flat memory, no request elsewhere, the last weight shown."""

from __future__ import annotations

import uuid
from dataclasses import replace
from decimal import Decimal

import httpx2
import pytest
from playwright.sync_api import expect

from fillwright.jobs import match, run
from fillwright.jobs.desk import Press
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.wiring import maker
from fillwright.wiring.bench import desk_on

from .conftest import Server, free_port

pytestmark = pytest.mark.browser

JOB = "0101"
BEFORE, DURING = 400, 600


@pytest.fixture
def long_run(tmp_path):
    """A server with a run of many jars before it, and what a jar at the aim shows."""
    store = tmp_path / "bench.sqlite"
    desk = desk_on(store)
    press = Press(person="AB")
    facts = replace(maker.JOBS[0], number=JOB, lot_code="NE-0101", lot_size=5000, weigh_every=1)
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), press)
    match.take(desk, JOB, press)
    run.start(desk, JOB, press, without_proof="a test")
    known = desk.book.job(JOB).known
    desk.journal.close()
    server = Server(store, free_port(), kind="serve")
    server.start()
    yield server, (known.aim_g + known.container.tare_g).quantize(Decimal("0.1"))
    server.stop()


def test_a_page_stays_small_through_a_long_run(long_run, visitors):
    """After a thousand weights it has as many nodes and bytes as after four hundred."""
    server, shown = long_run
    visitor = visitors(server)
    page = visitor.open(f"/job/{JOB}/run")
    visitor.rest()
    session = visitor.context.new_cdp_session(page)
    session.send("Performance.enable")
    sizes = []
    with httpx2.Client(base_url=server.url, timeout=30) as client:
        for first, last in ((1, BEFORE), (BEFORE + 1, BEFORE + DURING)):
            for number in range(first, last + 1):
                body = {
                    "id": str(uuid.uuid4()),
                    "value": str(shown + Decimal(number * 5 % 7 - 3) / 10),
                    "unit": "g",
                    "purpose": "dose",
                    "container": number,
                }
                answer = client.post(f"/api/v1/jobs/{JOB}/weighings", json=body)
                assert answer.status_code == 200
            revision = str(client.get(f"/api/v1/jobs/{JOB}").json()["revision"])
            expect(page.locator("body")).to_have_attribute("data-revision", revision)
            session.send("HeapProfiler.collectGarbage")
            told = session.send("Performance.getMetrics")["metrics"]
            sizes.append({metric["name"]: metric["value"] for metric in told})

    early, late = sizes
    assert late["Nodes"] < 1.1 * early["Nodes"]
    assert late["JSHeapUsedSize"] < early["JSHeapUsedSize"] + 1_000_000
    assert late["JSEventListeners"] <= early["JSEventListeners"] + 2
