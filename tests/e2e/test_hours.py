"""A page that follows a long run: flat memory, no request elsewhere, the last weight shown."""

from __future__ import annotations

import uuid
from decimal import Decimal

import httpx2
import pytest
from playwright.sync_api import expect

from .conftest import STEADY as JOB

pytestmark = pytest.mark.browser

BEFORE, DURING = 400, 600


def test_a_page_stays_small_through_a_steady_run(steady_run, visitors):
    """After a thousand weights it has as many nodes and bytes as after four hundred."""
    server, shown = steady_run
    visitor = visitors(server)
    page = visitor.open(f"/job/{JOB}/run")
    visitor.rest()
    session = visitor.context.new_cdp_session(page)
    session.send("Performance.enable")
    sizes = []
    path = f"/api/v1/jobs/{JOB}/weighings"
    with httpx2.Client(base_url=server.url, timeout=30) as client:
        first = {"id": str(uuid.uuid4()), "value": str(shown), "unit": "g", "sender": "filler"}
        expect(page.locator("#weight")).to_be_editable()
        visitor.let_in("filler", lambda: client.post(path, json=first).status_code)
        for first, last in ((1, BEFORE), (BEFORE + 1, BEFORE + DURING)):
            for number in range(first, last + 1):
                body = {
                    "id": str(uuid.uuid4()),
                    "value": str(shown + Decimal(number * 5 % 7 - 3) / 10),
                    "unit": "g",
                    "purpose": "dose",
                    "container": number,
                    "sender": "filler",
                }
                answer = client.post(path, json=body)
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
