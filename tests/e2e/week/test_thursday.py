"""Thursday: a strip finds a piece of a seal missing; what is held, what opens again, the shelf."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from playwright.sync_api import expect
from tests.e2e.week.conftest import MONDAY

pytestmark = pytest.mark.browser

THURSDAY = MONDAY + timedelta(days=3)
# Jobs of the East filler since its last sound strip, after job 0054: both are released.
STRIPPED, BEFORE = "0058", "0056"


def to_the_seals(one):
    """Tick step after step of the guided strip, up to the look at the seals."""
    page = one.page
    while not page.locator("#look-at[open]").count():
        one.ticks()
        if page.locator("#reading").count():
            one.put("reading", "0")
        elif page.locator("#photo").count():
            one.to("summary")
            one.press("Enter")
            one.put("photo", "3")
        one.enter()


def test_a_torn_seal_holds_every_jar_since_the_last_sound_strip(morning, pad):
    """Two released jobs of 120 are held whole and open again; the record and the list say so."""
    bench = morning(THURSDAY, 8.0)
    one = pad(bench)
    page = one.page
    released = {job: bench.state(job)["released"] for job in (BEFORE, STRIPPED)}
    assert released == {BEFORE: "released", STRIPPED: "released"}
    one.visitor.open(f"/job/{STRIPPED}/strip")
    one.ticks()
    one.to("#begin-form button:not([hidden])")
    order = one.enter()
    assert order.startswith("Run the hopper empty")
    to_the_seals(one)
    assert one.visitor.order().startswith("Look at every seal")

    one.put("position", "3")
    one.put("state", "4")
    one.put("action", "2")
    one.put("reason", "1")
    one.shoot("torn")
    one.to("#seal_lot")
    one.press("Enter")

    expect(page.locator(".is-stop", has_text="Go on with the strip.").first).to_be_visible()
    for job in (BEFORE, STRIPPED):
        state = bench.state(job)
        assert state["released"] is None
        assert sum(last - first + 1 for first, last in state["held"]) == 120
    # The job before the sound strip of job 0054 stays as it was.
    assert bench.state("0054")["released"] == "released"
    one.shoot("held-by-piece")
    one.visitor.open("/")
    expect(page.locator(".joblist").first).to_contain_text("lot NE-0056")
    one.visitor.open("/trace?code=NE-0056")
    expect(page.locator("main")).to_contain_text("118: 1 to 29 and 32 to 120")
    one.shoot("trace-held")
    sheet = bench.paper(f"/job/{STRIPPED}/strip.pdf")
    assert "Bottle 1 to 120 held: torn or missing: suck-back pin" in sheet
    assert re.search(r"a piece is missing after \d+ cycles replaced: it had failed", sheet)
    record = bench.paper(f"/job/{BEFORE}/record.pdf")
    assert "suck-back pin" in record
    one.visitor.open("/shelf")
    expect(page.locator("main")).to_contain_text("Suck-back pin, FKM, East filler")
    one.shoot("shelf")
    assert "suck-back pin" in bench.paper("/shelf.pdf")
