"""What is not to be seen is not sent again, and is there once it is to be seen."""

from __future__ import annotations

import uuid
from decimal import Decimal

import httpx2
import pytest
from playwright.sync_api import expect

from .conftest import PHONE, STEADY

pytestmark = pytest.mark.browser

AT_RUN = "0102"


def test_a_closed_table_is_up_to_date_once_it_is_opened(server, visitors):
    """Three weights later the table was not sent again; opened, it holds the last of them."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    for _ in range(3):
        visitor.weigh()
    table = page.locator("#doses-table")
    expect(table).to_have_attribute("data-as-is", "")
    last = server.state(AT_RUN)["filled"]

    visitor.click("#doses-table summary")

    expect(table).not_to_have_attribute("data-as-is", "")
    expect(table.locator("tbody tr").last.locator("td").first).to_have_text(str(last))


def test_a_shut_question_is_up_to_date_once_it_is_opened(server, visitors):
    """Three weights later "Stop the run" was not sent again; opened, it knows the last jar."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    for _ in range(3):
        visitor.weigh()
    question = page.locator("#ask-pause")
    expect(question).to_have_attribute("data-as-is", "")
    last = str(server.state(AT_RUN)["filled"])
    assert question.locator("#last_filled").input_value() != last

    visitor.click("#foot [data-ask=ask-pause]")

    expect(question.locator("#last_filled")).to_have_value(last)
    expect(question).not_to_have_attribute("data-as-is", "")
    expect(question).to_be_visible()
    visitor.press("2")
    expect(page.locator("#notes")).to_contain_text("Stopped: refill")
    assert server.state(AT_RUN)["filled"] == int(last)


def test_a_weight_is_answered_by_one_page(server, visitors):
    """What the press itself is answered with is not fetched again because the job moved on."""
    visitor = visitors(server)
    visitor.at_scale(f"/job/{AT_RUN}/run")
    visitor.rest()
    before = len(visitor.asked)
    for _ in range(4):
        visitor.weigh()
    asked = visitor.asked[before:]
    pages = [url for url in asked if url.endswith("/run")]

    assert len(pages) == len([url for url in asked if "/run/" in url]) >= 4


def test_an_open_table_follows_every_weight(server, visitors):
    """What is open is sent with each weight."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    visitor.click("#doses-table summary")
    page.locator("#weight").focus()
    visitor.weigh()
    last = server.state(AT_RUN)["filled"]

    expect(page.locator("#doses-table tbody tr").last.locator("td").first).to_have_text(str(last))


def test_a_tablet_that_is_turned_gets_the_drawing_for_its_width(server, visitors):
    """Only one of the two drawings follows the run; the other is drawn when the width changes."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    visitor.weigh()
    before = page.locator(".for-phone .dose-chart").get_attribute("aria-label")
    assert page.locator(".not-phone .dose-chart").get_attribute("aria-label") != before

    page.set_viewport_size(PHONE)

    expect(page.locator(".for-phone .dose-chart")).not_to_have_attribute("aria-label", before)
    expect(page.locator(".for-phone .dose-chart")).to_be_visible()


SEEN = """
() => {
    const shown = document.querySelector("#row-sheet .not-phone");
    const lines = Array.from(shown.querySelectorAll("path, text, svg"), (one) => [
        one.getAttribute("d"), one.getAttribute("aria-label"), one.textContent,
    ]);
    const words = Array.from(document.querySelectorAll("[data-text]:not(.for-phone *)"), (one) => [
        one.id, one.textContent,
    ]);
    const fields = Array.from(document.querySelectorAll("#act input:not(#fresh-id)"), (one) => [
        one.name, one.value,
    ]);
    const { revision, filled } = document.body.dataset;
    return JSON.stringify([lines, words, fields.slice(1), revision, filled]);
}
"""


def test_what_changed_comes_along_and_is_what_a_page_drawn_anew_shows(steady_run, visitors):
    """Seventy weights, few of them asked for, the row moved on: nothing is left behind."""
    server, shown = steady_run
    watching, anew = visitors(server), visitors(server)
    page = watching.open(f"/job/{STEADY}/run")
    with httpx2.Client(base_url=server.url, timeout=30) as client:

        def weigh(number: int) -> httpx2.Response:
            value = shown + Decimal(number * 5 % 7 - 3) / 10
            body = {"id": str(uuid.uuid4()), "value": str(value), "unit": "g", "sender": "filler"}
            return client.post(f"/api/v1/jobs/{STEADY}/weighings", json=body)

        expect(page.locator("#weight")).to_be_editable()
        watching.let_in("filler", lambda: weigh(1).status_code)
        for number in range(1, 181):
            weigh(number)
        asked = len(watching.asked)
        for number in range(181, 251):
            revision = weigh(number).json()["revision"]
            expect(page.locator("body")).to_have_attribute("data-revision", str(revision))

    # A line that was lost for a moment, on a busy machine, is made up by asking.
    assert len(watching.asked) - asked < 35
    other = anew.open(f"/job/{STEADY}/run")
    anew.rest()
    assert page.evaluate(SEEN) == other.evaluate(SEEN)
