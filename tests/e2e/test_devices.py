"""Two tablets and a phone on one job, and a screen that stays on where weights are taken."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from playwright.sync_api import expect

from .conftest import PHONE, STEADY

pytestmark = pytest.mark.browser

AT_RUN = "0102"
TABLET = {"width": 1024, "height": 768}
STEPS = ("0.1", "-0.1", "0.0", "0.2", "-0.2")

# Stands in for the browser's own: counts, and says what is held.
WAKE = """
window.wakes = { asked: 0, released: 0 };
Object.defineProperty(navigator, "wakeLock", { value: { request: async (kind) => {
    window.wakes.asked += kind === "screen" ? 1 : 0;
    const lock = { released: false };
    lock.release = async () => { lock.released = true; window.wakes.released += 1; };
    return lock;
} } });
"""
NO_WAKE = 'Object.defineProperty(navigator, "wakeLock", { value: undefined });'
WAKE_REFUSED = """
Object.defineProperty(navigator, "wakeLock", { value: { request: async () => {
    throw new DOMException("low battery", "NotAllowedError");
} } });
"""


@pytest.fixture
def weights(steady_run) -> list[str]:
    """Five weights about the aim, as a scale shows them."""
    _, shown = steady_run
    return [str(shown + Decimal(step)) for step in STEPS]


@pytest.fixture
def three(steady_run, visitors):
    """A tablet that weighs, a second one and a phone that watch, their tables open."""
    server, _ = steady_run
    people = (("AB", TABLET), ("CD", TABLET), ("EF", PHONE))
    all_three = [visitors(server, person=person, size=size) for person, size in people]
    for visitor in all_three:
        page = visitor.open(f"/job/{STEADY}/run")
        visitor.rest()
        # Whoever is heard by the bench first sits.
        expect(page.locator("html")).to_have_attribute("data-bench", "there")
        # A fold that is closed is not brought up to date.
        page.locator("#doses-table").evaluate("fold => { fold.open = true; }")
    for watcher in all_three[1:]:
        expect(watcher.page.locator("#seat")).to_be_visible()
    return all_three


def type_in(visitor, weight: str) -> None:
    """Type a weight at a page and press Enter."""
    field = visitor.page.locator("#weight")
    field.fill(weight)
    field.press("Enter")


def weigh_all(visitor, weights) -> None:
    """Keep weights at a page, each once the page shows the one before."""
    for weight in weights:
        visitor.after(lambda weight=weight: type_in(visitor, weight))


def rows_of(visitor) -> list[str]:
    """The numbers of the open table."""
    return visitor.page.locator("#doses-table tbody tr td:first-child").all_inner_texts()


def at_revision(visitor, revision: object) -> None:
    """Wait until a page shows where the job stands."""
    expect(visitor.page.locator("body")).to_have_attribute("data-revision", str(revision))


def test_three_devices_show_every_weight_in_order(steady_run, three, weights):
    """What the first keeps stands on all three, complete and in the order of the journal."""
    server, _ = steady_run
    weigh_all(three[0], weights)
    revision = server.state(STEADY)["revision"]
    for visitor in three:
        at_revision(visitor, revision)

    assert server.weights(STEADY) == weights
    assert [rows_of(visitor) for visitor in three] == [["1", "2", "3", "4", "5"]] * 3
    orders = {visitor.order() for visitor in three}
    assert len(orders) == 1


def test_taking_over_among_three_leaves_one_that_weighs(three):
    """The phone takes over: it weighs, both tablets watch and name who does."""
    three[2].after_takeover()

    for tablet in three[:2]:
        expect(tablet.page.locator("#seat")).to_contain_text("on the other tablet (EF)")
        expect(tablet.page.locator("#weight")).not_to_be_editable()
    expect(three[2].page.locator("#weight")).to_be_editable()


def test_what_a_lost_tablet_kept_comes_to_all_three_in_order(steady_run, three, weights):
    """Cut off in the middle, it keeps on; back, its weights follow in order, for all to see.

    A reload afterwards lands on the same act.
    """
    server, _ = steady_run
    first, *watchers = three
    weigh_all(first, weights[:2])
    first.context.set_offline(True)
    for count, weight in enumerate(weights[2:], start=1):
        type_in(first, weight)
        expect(first.page.locator("#unsaved")).to_contain_text(f"Not saved yet: {count} weight")
    assert server.weights(STEADY) == weights[:2]

    first.context.set_offline(False)
    expect(first.page.locator("#unsaved")).to_be_hidden()

    assert server.weights(STEADY) == weights
    revision = server.state(STEADY)["revision"]
    for visitor in three:
        at_revision(visitor, revision)
    assert {watcher.order() for watcher in watchers} == {first.order()}
    order = first.order()
    first.page.reload()
    assert first.order() == order


def test_the_screen_is_kept_on_where_weights_are_taken(server, visitors):
    """Asked for once in Run, kept through weights, and let go where nothing is weighed."""
    visitor = visitors(server)
    visitor.context.add_init_script(WAKE)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    visitor.weigh()
    assert page.evaluate("window.wakes") == {"asked": 1, "released": 0}
    expect(page.locator("#stay-on")).to_be_hidden()
    visitor.click("#foot [data-ask=ask-pause]")

    visitor.click("#stop-fault")

    expect(page).to_have_url(re.compile("/fault"))
    assert page.evaluate("window.wakes") == {"asked": 1, "released": 1}


@pytest.mark.parametrize("script", [NO_WAKE, WAKE_REFUSED], ids=["missing", "refused"])
def test_a_browser_that_lets_the_screen_go_dark_says_so(server, visitors, script):
    """The page asks the person to keep the screen on, and weighs all the same."""
    visitor = visitors(server)
    visitor.context.add_init_script(script)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    expect(page.locator("#stay-on")).to_be_visible()

    visitor.weigh()

    expect(page.locator("#stay-on")).to_contain_text("Keep the screen on yourself")
