"""From a new job to a released lot by keyboard alone; number pad only from Trim to Release."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

PAD = set("0123456789.,-*/+") | {"Enter"}
MOST_ACTS = 90


class _Pad:
    """A number pad: every other key is refused."""

    def __init__(self, visitor) -> None:
        self.visitor = visitor

    def press(self, key: str) -> None:
        """Press one key of the pad."""
        assert key in PAD
        self.visitor.press(key)


def _fill_by_keys(visitor, fields: dict[str, str]) -> None:
    """Fill a form by Tab, arrows and letters only."""
    page = visitor.page
    left = dict(fields)
    for _ in range(80):
        at = page.evaluate("document.activeElement.id")
        if at in left:
            if page.evaluate("document.activeElement.tagName") == "SELECT":
                page.keyboard.type(left[at])
            else:
                page.keyboard.press("Control+a")
                page.keyboard.type(left[at])
            del left[at]
        if not left:
            return
        if page.evaluate("document.activeElement.closest('#more-lot > summary') !== null"):
            page.keyboard.press("Enter")
        page.keyboard.press("Tab")
    pytest.fail(f"the Tab key does not reach {sorted(left)}", pytrace=False)


def _tab_to(visitor, name: str) -> None:
    """Walk by Tab to a thing."""
    for _ in range(80):
        if visitor.page.evaluate("document.activeElement.id") == name:
            return
        visitor.page.keyboard.press("Tab")
    pytest.fail(f"the Tab key does not reach {name}", pytrace=False)


def test_a_lot_from_new_job_to_release_by_keyboard_alone(server, visitors):
    """Nobody touches mouse or glass: a job is opened, set up, trimmed, proved, run, released."""
    visitor = visitors(server, person="")
    page = visitor.open("/jobs/new")
    visitor.press("1")
    expect(page).to_have_url(re.compile("/jobs/new$"))
    _fill_by_keys(
        visitor,
        {
            "product_pick": "Elderflower",
            "container_pick": "250 mL bottle",
            "machine_pick": "East",
            "scale_pick": "Bench",
            "nominal": "250",
            "lot_code": "K-1",
            "lot_size": "14",
            "tray_size": "7",
            "rules": "UK",
            "expected_sd_pct": "0.16",
        },
    )
    _tab_to(visitor, "main-action")
    visitor.press("Enter")
    expect(page.locator("#aim_g")).to_have_value(re.compile(r"\d"))
    expect(page.locator("#main-action")).to_be_focused()
    visitor.press("Enter")
    expect(page).to_have_url(re.compile("/match$"))
    assert visitor.after(lambda: visitor.press("Enter")) == "Build the wet end."
    _set_up(visitor)
    pad = _Pad(visitor)

    for _ in range(MOST_ACTS):
        if "/release" in page.url and "closed" in visitor.order():
            break
        _by_pad(visitor, pad)

    assert server.state(page.url.split("/job/")[1].split("/")[0])["released"] == "released"


def _set_up(visitor) -> None:
    """Do the steps of Set up; readings are typed, weights come from the scale."""
    page = visitor.page
    readings = {"Air": "5.9", "Product": "21", "Time": "44"}
    while "/setup" in page.url:
        order = visitor.order()
        if page.locator("#tick-1:not(:checked)").count():
            visitor.press("1")
        word = order.split()[0]
        if word in readings:
            expect(page.locator("#reading")).to_be_focused()
            page.keyboard.press("Control+a")
            page.keyboard.type(readings[word])
        elif page.locator("#weight, #reading[data-check]").count():
            field = page.locator("#weight, #reading[data-check]")
            expect(field).to_have_value(re.compile(r"\d"))
        visitor.after(lambda: visitor.press("Enter"))


def _by_pad(visitor, pad: _Pad) -> None:
    """Do one act with the number pad: tick what is asked, wait for the scale, press Enter.

    What is looked at on the first one is ticked as well.
    """
    page = visitor.page
    for place in ("1", "2"):
        if page.locator(f"#tick-{place}:not(:checked)").count():
            pad.press(place)
    for place in "123456789":
        if page.locator(f".looklist [data-key='{place}']:not(:checked)").count():
            pad.press(place)
    if page.locator("#weight").count():
        expect(page.locator("#weight")).to_have_value(re.compile(r"\d"))
        expect(page.locator("#weight")).to_be_focused()
    visitor.after(lambda: pad.press("Enter"))


def test_f6_walks_between_sheet_notes_and_foot_bar(shared, visitors):
    """F6 goes round the three parts of the page and comes back to the weight."""
    visitor = visitors(shared)
    page = visitor.at_scale("/job/0102/run")
    places = []

    for _ in range(3):
        visitor.press("F6")
        places.append(
            page.evaluate(
                "document.activeElement.closest('#notes') ? 'notes' : "
                "document.activeElement.closest('#foot') ? 'foot' : 'main'"
            )
        )

    assert places == ["notes", "foot", "main"]


def test_focus_never_lands_under_the_foot_bar(shared, visitors):
    """Walking by Tab on a phone, what has the focus is in view above the foot bar."""
    visitor = visitors(shared, size={"width": 390, "height": 844})
    page = visitor.at_scale("/job/0102/run")
    hidden = []

    for _ in range(30):
        page.keyboard.press("Tab")
        covered = page.evaluate(
            """() => {
                const at = document.activeElement;
                if (at === document.body || at.closest("#foot, .skip")) return "";
                const foot = document.getElementById("foot").getBoundingClientRect();
                return at.getBoundingClientRect().top >= foot.top ? at.id || at.tagName : "";
            }"""
        )
        hidden += [covered] if covered else []

    assert hidden == []
