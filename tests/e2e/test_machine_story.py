"""A machine described, strokes timed, an edge found, a map and a budget read: by keys alone."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from .conftest import PHONE

pytestmark = pytest.mark.browser

MOST = 40
JOB = "0104"


def on(visitor, words):
    """Wait until the order of the page begins with words."""
    expect(visitor.page.locator("#order")).to_have_text(re.compile("^" + re.escape(words)))
    visitor.rest()


def focus(visitor):
    """Id of what has the focus."""
    return visitor.page.evaluate("document.activeElement.id")


def test_a_machine_is_described_by_enter_alone(server, visitors):
    """The focus stands in each first field; Enter goes on to the end, and the list has it."""
    visitor = visitors(server)
    visitor.open("/machines/describe?from=medium")
    on(visitor, "What does the bench call it?")
    assert focus(visitor) == "name"
    visitor.page.keyboard.type("Third filler")
    seen = []
    for _ in range(MOST):
        seen.append(visitor.order())
        visitor.press("Enter")
        expect(visitor.page.locator("#order")).not_to_have_text(seen[-1])
        visitor.rest()
        if visitor.order() == "Third filler":
            break
    assert visitor.order() == "Third filler"
    assert seen[1] == "Read the volume scale."
    assert len(seen) == len(set(seen)) == 21
    expect(visitor.page.locator(".wet-sketch").first).to_be_visible()


def test_a_rod_as_thick_as_its_bore_puts_the_focus_into_its_field(server, visitors):
    """The field is marked, has the focus, and says what to do; a right figure goes on."""
    visitor = visitors(server, size=PHONE)
    visitor.open("/machines/describe?name=East%20filler")
    while visitor.order() != "Read the air cylinder.":
        before = visitor.order()
        visitor.press("Enter")
        expect(visitor.page.locator("#order")).not_to_have_text(before)
        visitor.rest()
    visitor.press("Tab")
    assert focus(visitor) == "rod_mm"
    visitor.press("Control+a")
    visitor.page.keyboard.type("62")
    visitor.press("Enter")

    expect(visitor.page.locator("#rod_mm")).to_have_attribute("aria-invalid", "true")
    assert focus(visitor) == "rod_mm"
    visitor.press("Control+a")
    visitor.page.keyboard.type("21")
    visitor.press("Enter")
    on(visitor, "Count the turns of the flow controls.")


def _to_strokes(visitor):
    """Set the job up by keys as far as the strokes."""
    page = visitor.page
    visitor.open(f"/job/{JOB}/match")
    visitor.press("Enter")
    on(visitor, "Build the wet end.")
    for _ in range(MOST):
        order = visitor.order()
        if order.startswith("Time ten strokes"):
            return
        for tick in page.locator(".tick input:not(:checked)").all():
            tick.focus()
            page.keyboard.press("Space")
        if page.locator("#weight").count():
            expect(page.locator("#weight")).to_have_value(re.compile(r"\d"))
        elif page.locator("#reading").count() and not order.startswith("Turn"):
            given = {"Air": "6", "Weighing": "500", "Product": "58"}
            page.locator("#reading").focus()
            page.keyboard.type(given[order.split(maxsplit=1)[0]])
        visitor.after(lambda: visitor.press("Enter"))
    pytest.fail(f"never came to the strokes, stays at {visitor.order()!r}", pytrace=False)


def test_strokes_edge_map_and_budget_by_keys(server, visitors):
    """Ten strokes correct the model; three pages open, answer, and lead back by Enter."""
    visitor = visitors(server)
    _to_strokes(visitor)
    page = visitor.page
    assert re.fullmatch(r"Time ten strokes: aim \d+ s\.", visitor.order())
    page.locator(".tick input").focus()
    page.keyboard.press("Space")
    page.locator("#reading").focus()
    page.keyboard.type("44")
    visitor.after(lambda: visitor.press("Enter"))
    on(visitor, "Flush until no air spits.")
    expect(page.locator("#notes")).to_contain_text("Ten strokes took 44 s")

    visitor.open(f"/job/{JOB}/map")
    expect(page.locator(".recharge-map").first).to_be_visible()
    visitor.press("Enter")
    on(visitor, "Flush until no air spits.")

    visitor.open(f"/job/{JOB}/budget")
    on(visitor, "Work on the top one only")
    page.locator("#claim").focus()
    visitor.press("Control+a")
    page.keyboard.type("0.1")
    visitor.press("Enter")
    expect(page.locator("#notes")).to_contain_text("Does not hold yet")

    visitor.open(f"/job/{JOB}/edge")
    on(visitor, "Recharge 1 of 4")
    page.locator(".tick input").focus()
    page.keyboard.press("Space")
    page.locator("#reading").focus()
    page.keyboard.type("2.4")
    visitor.after(lambda: visitor.press("Enter"))
    on(visitor, "Fill one jar and weigh it: 1 of 3 at 2.4 s.")
    for shot in ("420.9", "421.2"):
        page.locator("#weight").fill("")
        page.locator("#weight").focus()
        page.keyboard.type(shot)
        visitor.after(lambda: visitor.press("Enter"))
    on(visitor, "Fill one jar and weigh it: 3 of 3 at 2.4 s.")
    visitor.after(lambda: visitor.press("-"))
    on(visitor, "Fill one jar and weigh it: 2 of 3 at 2.4 s.")
