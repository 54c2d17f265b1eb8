"""Friday at the desk: recall, a complaint, the inspector, what one costs, a quote; by the pad."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from playwright.sync_api import expect
from tests.e2e.week.conftest import MONDAY, mornings

pytestmark = pytest.mark.browser

FRIDAY = MONDAY + timedelta(days=4)
# The second drum of cordial was opened after bottle 72 of job 0008 and ended with bottle 72 of
# job 0013: 120 - 72 = 48 and 72 are concerned, 120 in all.
DRUM, FIRST_LOT, NEXT_LOT = "D-EL-02", "NE-0008", "NE-0013"


@pytest.fixture(scope="module")
def friday(four_weeks, tmp_path_factory):
    """The bench on Friday morning, one for all that is looked up at the desk."""
    with mornings(four_weeks, tmp_path_factory.mktemp("friday")) as opened:
        yield opened(FRIDAY, 9.0)


def money(text):
    """Return the sum of money that a line begins or ends with."""
    return float(re.search(r"(\d[\d\u202f]*\.\d+) EUR", text).group(1).replace("\u202f", ""))


def test_a_drum_leads_to_its_bottles_and_back(friday, pad):
    """The recall sheet holds 48 and 72 bottles; a wrong code offers the nearest by one key."""
    one = pad(friday)
    page = one.page
    one.visitor.open("/trace?code=D-EL-O2")
    expect(page.locator("#problem")).to_contain_text("Nearest: D-EL-02")
    page.locator(".choices a").first.focus()
    one.press("1")
    expect(page.locator("#order")).to_have_text("D-EL-02: 120 concerned.")
    expect(page.locator("#jars-1")).to_have_text("Lot NE-0008: 48 of Elderflower cordial")
    expect(page.locator("#jars-2")).to_have_text("Lot NE-0013: 72 of Elderflower cordial")
    main = page.locator("main")
    expect(main).to_contain_text("70: 1 to 29 and 32 to 72")
    expect(main).to_contain_text("2: 30 to 31")
    expect(page.locator("#notes")).to_contain_text("No hole in the record.")
    one.shoot("trace")

    sheet = friday.paper(f"/trace.pdf?code={DRUM}")
    for words in (
        "120 bottles in 2 lots concerned",
        "bottle 73 to 120 trays 7 to 10 48 48 released",
        "bottle 1 to 72 trays 1 to 6 72 70 released",
        "2 kept: 30 to 31",
    ):
        assert words in sheet
    back = friday.paper(f"/trace.pdf?code={NEXT_LOT}")
    assert "1 to 72 drum D-EL-02 B-EL-1" in back
    assert "73 to 120 drum D-EL-03 B-EL-1" in back


def test_a_complaint_of_an_earlier_week_is_kept_with_its_letter(friday, pad):
    """Bottle 80 lies in tray 7, place 8; the record says what it held and offers a letter."""
    one = pad(friday)
    page = one.page
    one.visitor.open("/complaint")
    one.type("0013")
    one.press("Enter")
    expect(page.locator("#problem")).to_contain_text("NE-0013")
    one.visitor.open(f"/complaint?code={NEXT_LOT}")
    one.put("container", "80")
    one.press("Enter")
    expect(page.locator("#order")).to_have_text("Bottle 80 of lot NE-0013")
    said = page.locator("section[aria-labelledby=can]").inner_text()
    low, high = map(float, re.search(r"between (\d+\.\d) and (\d+\.\d) g", said).groups())
    assert 284.8 < low < high < 305
    facts = page.locator("#notes dl").inner_text()
    for words in ("tray 7, place 8", "D-EL-03, batch B-EL-1", "released"):
        assert words in facts
    letter = page.locator("#letter").input_value()
    assert "about bottle 80 of Elderflower cordial, lot NE-0013" in letter
    assert f"between {low} and {high} g" in letter
    one.shoot("complaint")

    sheet = friday.paper(f"/complaint.pdf?code={NEXT_LOT}&container=80&about=short")
    assert f"between {low} and {high} g, 19 times in 20" in sheet
    assert "Dear customer" in sheet

    one.put("told_words", "80")
    one.to("#main-action")
    one.press("Enter")
    expect(page).to_have_url(re.compile(r"/complaint/4"))


def test_an_inspector_sees_evidence_and_a_rehearsal(friday, pad):
    """Eight lots, calibration in date, cleans, and a sample weighed to its verdict on the pad."""
    one = pad(friday)
    page = one.page
    one.visitor.open("/inspector?seed=7")
    expect(page.locator("#order")).to_have_text("The last lot is in order.")
    expect(page.locator("section[aria-labelledby=lots] li")).to_have_count(8)
    expect(page.locator("section[aria-labelledby=scales]")).to_contain_text("due 2031-11-04")
    expect(page.locator("section[aria-labelledby=cleans]")).to_contain_text("Citric rinse 2 %")
    expect(page.locator("section[aria-labelledby=complaints]")).to_contain_text("No finding")
    one.shoot("inspector")
    told = page.locator("section[aria-labelledby=try]")
    left = int(re.search(r"(\d+) to weigh", told.inner_text()).group(1))
    for place in range(left, 0, -1):
        expect(told).to_contain_text(f"{place} to weigh")
        one.type("423.0")
        one.press("Enter")
    expect(told).to_contain_text("30 of 120 under EU-76/211")
    expect(told.locator("li.is-on").first).to_be_visible()
    one.shoot("inspector-judged")
    sheet = friday.paper("/inspector.pdf?seed=7")
    assert "average 250" in sheet
    assert "No lot" not in sheet


def test_the_cost_page_adds_up_and_a_quote_has_three_sizes(friday, pad):
    """The lines add up to the headline; larger lots cost less each, each within its range."""
    one = pad(friday)
    page = one.page
    one.visitor.open("/job/0056/cost")
    headline = page.locator("#order").inner_text()
    top = sum(money(line) for line in page.locator(".bars .fig").all_inner_texts())
    sold = sum(
        money(t) for t in page.locator("section[aria-labelledby=sold] dd").all_inner_texts()
    )
    out = int(
        re.search(r"(\d+) bottles\.", page.locator("#first, .first").first.inner_text()).group(1)
    )
    # 120 filled, two kept; 0.05 is what rounding each line to a cent may leave.
    assert money(headline) == pytest.approx((top + sold) / out, abs=0.01)
    one.shoot("cost")
    one.press("Enter")
    expect(page).to_have_url(re.compile("/quote"))
    expect(page.locator("#lots")).to_be_focused()
    one.press("NumpadAdd")
    one.put("lots", "60/120/480")
    one.press("Enter")
    expect(page.locator(".rows .fig")).to_have_count(3)
    expect(page.locator("#order")).to_contain_text("60 bottles: ")
    each = [money(text) for text in page.locator(".rows .fig").all_inner_texts()]
    assert each == sorted(each, reverse=True)
    rows = page.locator(".rows li p").all_inner_texts()
    for middle, row in zip(each, rows, strict=True):
        low, high = map(float, re.match(r"(\d+\.\d+) to (\d+\.\d+) EUR", row).groups())
        assert low <= middle <= high
    one.shoot("quote")
    sheet = friday.paper("/quote.pdf?like=0056&lots=60/120/480")
    assert "480 bottles" in sheet
