"""Fields that hold a number already, by finger and by pad; a look-up that keeps nothing."""

from __future__ import annotations

import re

import httpx2
import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

PHONE = {"width": 390, "height": 844}


def test_the_first_key_replaces_a_number_that_stood_there(shared, visitors):
    """No key of a pad takes a letter back: after a tap the digits stand alone."""
    visitor = visitors(shared, size=PHONE, has_touch=True)
    page = visitor.open("/shelf")
    cycles, ratio = page.locator("#next_job"), page.locator("#ratio")
    visitor.rest()
    cycles.tap()
    page.keyboard.type("75")
    expect(cycles).to_have_value("75")
    # A second tap is for the caret: what was typed is not lost to the next key.
    cycles.tap()
    page.keyboard.type("0")
    expect(cycles).not_to_have_value("0")
    page.locator("label[for=ratio]").tap()
    page.keyboard.type("8.5")
    expect(ratio).to_have_value("8.5")


def test_a_number_in_an_opened_question_is_replaced_by_the_pad(server, visitors):
    """The question about the end of a run opens with its number in hand."""
    visitor = visitors(server)
    page = visitor.at_scale("/job/0102/run")
    visitor.press("*", "5", "4")
    filled = page.locator("#end-filled")
    expect(filled).to_be_focused()
    expect(filled).not_to_have_value("")
    page.keyboard.press("9")
    expect(filled).to_have_value("9")


def test_a_complaint_is_looked_up_by_enter_and_kept_by_its_button_alone(server, visitors):
    """Whatever stands in the fields, Enter in them keeps nothing; what was told stays."""
    visitor = visitors(server)
    page = visitor.open("/complaint")
    kept = kept_on(server)
    page.locator("#code").fill("NE-0101")
    visitor.press("Enter")
    expect(page.locator("#order")).to_have_text("Lot NE-0101: a bottle, number unknown")

    told = page.locator("#told_words")
    told.fill("It was half full.")
    page.locator("#container").fill("70")
    visitor.press("Enter")
    expect(page.locator("#order")).to_contain_text("Bottle 70 of lot NE-0101")
    expect(told).to_have_value("It was half full.")
    page.locator("#code").fill("NE-O101")
    visitor.press("Enter")
    expect(page.locator("#problem")).to_contain_text("NE-0101")
    page.locator("#code").fill("NE-0101")
    visitor.press("Enter")
    expect(told).to_have_value("It was half full.")
    page.locator("#container").fill("71")
    visitor.click("#main-action")
    expect(page.locator("#problem")).to_contain_text("nothing was kept")
    expect(page.locator("#order")).to_contain_text("Bottle 71 of lot NE-0101")
    assert kept_on(server) == kept

    page.locator("#told_on").focus()
    visitor.press("Enter")
    expect(page).to_have_url(re.compile(r"/complaint/\d+$"))
    assert kept_on(server) == kept + 1


def kept_on(server) -> int:
    """How many complaints are on record."""
    return httpx2.get(f"{server.url}/data/complaints.csv").text.strip().count("\n")
