"""Every page in its states, on a desk and on a phone, held against the accessibility engine."""

from __future__ import annotations

import pytest

from .conftest import (
    DESK,
    PHONE,
    TO_HELD,
    TO_PROVE,
    TO_SAMPLE,
    TO_SIGN,
    TO_TRIM,
    Server,
    free_port,
    violations,
)

pytestmark = pytest.mark.browser

PAGES = (
    "/",
    "/jobs/new",
    "/people",
    "/settings",
    "/demo",
    "/data",
    "/manual",
    "/devices",
    "/scale",
    "/machines",
    "/machines?name=East%20filler",
    "/machines/describe?from=medium",
    "/job/0104/edge",
    "/job/0102/often",
    "/job/0104/map",
    "/job/0102/budget?claim=0.2",
    "/nothing",
    "/job/0101",
    "/job/0101/facts",
    "/job/0101/cost",
    "/quote?like=0101",
    "/inspector?seed=7",
    "/job/0101/strip",
    "/job/0101/release",
    "/job/0104/match",
    "/job/0104/setup",
    f"/job/{TO_TRIM}/trim",
    f"/job/{TO_PROVE}/prove",
    "/job/0103/prove",
    "/job/0102/run",
    "/job/0102/run?ask=pause",
    "/job/0102/run?ask=person",
    "/job/0102/photo",
    "/job/0102/photo?fault=1",
    "/trace",
    "/trace?code=NE-0101",
    "/trace?code=NE-9999",
    "/complaint?code=NE-0101&container=70",
    "/job/0102/run?ask=finish",
    "/job/0102/run?ask=spoilt",
    "/job/0102/run?ask=hold",
    "/job/0102/fault",
    f"/job/{TO_HELD}/held",
    f"/job/{TO_SAMPLE}/release",
    f"/job/{TO_SIGN}/release",
)


ON_A_PHONE = tuple(path for path in PAGES if path.startswith("/job/"))


@pytest.mark.parametrize(
    ("size", "light", "paths"),
    [(DESK, "day", PAGES), (PHONE, "night", ON_A_PHONE)],
    ids=["desk", "phone"],
)
def test_no_page_breaks_a_rule(shared, visitors, engine, size, light, paths):
    """Names, roles, contrast, labels: nothing that the engine can decide is wrong."""
    visitor = visitors(shared, size=size, light=light)
    wrong = {path: violations(visitor.open(path), engine) for path in paths}

    assert {path: found for path, found in wrong.items() if found} == {}


def test_joining_a_scale_breaks_no_rule(tmp_path, visitors, engine):
    """The page of a real scale: to choose one, while it is listened to, and once it is joined."""
    server = Server(tmp_path / "bench.sqlite", free_port(), kind="serve")
    server.start()
    try:
        visitor = visitors(server, size=PHONE)
        page = visitor.open("/scale")
        wrong = {"to choose": violations(page, engine)}
        page.locator("#address").fill(str(tmp_path / "no-such-port"))
        visitor.click("#main-action")
        page.locator("#stop-form").wait_for()
        wrong["listened to"] = violations(page, engine)
        visitor.click("#stop-form button")
        page.locator("#keys-form").wait_for()
        visitor.click("#keys-form button")
        page.locator("#leave-form").wait_for()
        wrong["joined"] = violations(page, engine)
    finally:
        server.stop()

    assert {state: found for state, found in wrong.items() if found} == {}


def test_no_state_of_weighing_breaks_a_rule(server, visitors, engine):
    """Settled, no signal, an error, a bench that is gone, a second tablet: the same."""
    visitor = visitors(server)
    page = visitor.at_scale("/job/0102/run")
    wrong = {}
    visitor.rest()
    wrong["settled"] = violations(page, engine)
    page.locator("button[value=unplug]").click()
    page.locator("[data-pan-tag=no-signal]").wait_for()
    wrong["no signal"] = violations(page, engine)
    visitor.rest()
    page.locator("#weight").fill("9999")
    page.locator("#weight").press("Enter")
    page.locator(".wrong").first.wait_for()
    wrong["an error"] = violations(page, engine)
    other = visitors(server, person="CD")
    there = other.open("/job/0102/run")
    there.locator("#seat").wait_for()
    wrong["watching"] = violations(there, engine)
    server.kill()
    page.locator("#no-bench").wait_for()
    wrong["the bench is gone"] = violations(page, engine)

    assert {state: found for state, found in wrong.items() if found} == {}
