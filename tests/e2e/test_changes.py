"""Changes in mid-run and the look at the first one, by the number pad alone; a trace by hand."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

AT_RUN, AT_PROOF, AT_SIGN = "0102", "0103", "0204"
PHONE = {"width": 390, "height": 844}


def digits(visitor, text):
    """Type digits, as on the pad, and keep them."""
    visitor.rest()
    visitor.page.keyboard.type(text)
    visitor.press("Enter")


def look(visitor):
    """Tick the nine things."""
    for key in "123456789":
        visitor.press(key)
    return visitor.after(lambda: visitor.press("Enter"))


def test_a_new_carton_a_drum_and_a_person_by_the_pad(server, visitors):
    """Star, five, then one key each: codes, five empties, the look, the next weight."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    filled = server.state(AT_RUN)["filled"]

    visitor.press("*", "5", "6")
    order = visitor.after(lambda: digits(visitor, "4711"))
    assert order.startswith("Weigh empty bottle 1 of 5 from the new carton 4711")
    for _ in range(5):
        expect(page.locator("#weight")).to_have_value(re.compile(r"\d"))
        order = visitor.after(lambda: visitor.press("Enter"))
    assert order == f"Fill bottle {filled + 1} and look at it."
    assert look(visitor) == f"Weigh bottle {filled + 1}."

    visitor.press("*", "5", "7")
    digits(visitor, "99")
    expect(page.locator("#new-drum-density")).to_be_focused()
    order = visitor.after(lambda: digits(visitor, "1.021"))
    assert "and look at it" in order
    look(visitor)

    visitor.press("*", "5", "8")
    order = visitor.after(lambda: visitor.press("1"))
    expect(page.locator(".tools")).not_to_contain_text("AB")
    assert "and look at it" in order
    for words in ("Carton 4711", "Drum 99", "Density 1.021"):
        expect(page.locator("#notes")).to_contain_text(words)


def test_a_new_carton_in_a_proving_run_by_the_pad(server, visitors):
    """Star, five, six: its code, five empties, and the next shot of the same proving run."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_PROOF}/prove")
    shots = page.locator("#count + .figure").inner_text()

    visitor.press("*", "5", "6")
    order = visitor.after(lambda: digits(visitor, "4711"))
    assert order.startswith("Weigh empty bottle 1 of 5 from the new carton 4711")
    for _ in range(5):
        expect(page.locator("#weight")).to_have_value(re.compile(r"\d"))
        order = visitor.after(lambda: visitor.press("Enter"))
    assert order == "Fill the next bottle and weigh it."
    assert page.locator("#count + .figure").inner_text() == shots
    expect(page.locator("#notes")).to_contain_text("Carton 4711")


def test_what_is_wrong_on_the_first_one_is_asked_for_and_holds_it(server, visitors):
    """What is not ticked asks what is wrong; on a phone as well."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    visitor.press("*", "5", "9")
    visitor.after(lambda: digits(visitor, "7"))
    page.set_viewport_size(PHONE)
    for key in "12345678":
        visitor.press(key)
    visitor.press("Enter")
    expect(page.locator("#problem")).to_contain_text("Leak")
    expect(page.locator("#why-leak")).to_be_focused()

    page.keyboard.type("drips")
    order = visitor.after(lambda: visitor.press("Enter"))

    assert order.startswith("Put it right.")
    assert server.state(AT_RUN)["held"] != []
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= PHONE["width"]


def test_a_question_stays_open_when_the_bench_moves_on(server, visitors):
    """Somebody else's press redraws the page; what is being answered stays."""
    first, second = visitors(server), visitors(server, person="CD")
    page = first.at_scale(f"/job/{AT_RUN}/run")
    first.press("*", "5", "6")
    page.keyboard.type("47")
    other = second.open(f"/job/{AT_RUN}/run?ask=new-lid")
    other.locator("#new-lid-code").fill("L-5")
    second.after(other.locator("#form-new-lid button").first.click)

    expect(page.locator("#order")).to_contain_text("and look at it")
    expect(page.locator("#ask-new-container")).to_be_visible()
    expect(page.locator("#new-container-code")).to_have_value("47")


def test_a_trace_goes_there_and_back(server, visitors):
    """A lot leads to its job; a wrong code offers the nearest by one key; a complaint has both."""
    visitor = visitors(server)
    page = visitor.open("/trace")
    page.locator("#code").fill("NE-02O4")
    visitor.press("Enter")
    expect(page.locator("#problem")).to_contain_text("Nearest")
    page.locator("[data-key='1']").first.focus()
    visitor.press("1")

    expect(page.locator("#order")).to_contain_text("concerned")
    expect(page.locator("#notes")).to_contain_text("no drum on record")
    visitor.open(f"/complaint?code=NE-{AT_SIGN}&tray=2&place=3&about=leaked")
    expect(page.locator("#order")).to_contain_text("of lot NE-0204")
    expect(page.locator("#letter")).to_have_value(re.compile("Dear customer"))
