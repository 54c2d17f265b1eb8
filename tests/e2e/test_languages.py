"""Pages a third longer and from right to left, on a phone and on a desk."""

from __future__ import annotations

import pytest

from .conftest import DESK, PHONE, violations
from .test_shape import LOOK

pytestmark = pytest.mark.browser

PAGES = (
    "/",
    "/people",
    "/settings",
    "/jobs/new",
    "/job/0104",
    "/job/0104/match",
    "/job/0104/setup",
    "/job/0201/trim",
    "/job/0205/prove",
    "/job/0102/run",
    "/job/0203/held",
    "/job/0204/release",
    "/job/0101/strip",
    "/job/0101/fault",
    "/shelf",
    "/machines?name=East%20filler",
)
# Run in the page: where the stages of the rail stand, and what would tear a figure apart.
ORDER = """() => {
    const told = [];
    const rail = Array.from(document.querySelectorAll("#rail li"), (one) =>
        one.getBoundingClientRect().left);
    const isLeftward = rail.every((left, at) => !at || left <= rail[at - 1]);
    if (!isLeftward) told.push("the rail runs rightward");
    for (const node of document.querySelectorAll(".num, svg.draw")) {
        if (getComputedStyle(node).direction !== "ltr") told.push(`leftward: ${node.textContent}`);
    }
    return told;
}"""


def _in(visitors, shared, size, language):
    """A visitor whose device speaks a language."""
    visitor = visitors(shared, size=size)
    cookie = {"name": "fw_language", "value": language, "url": shared.url}
    visitor.context.add_cookies([cookie])
    return visitor


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_longer_words_fit(shared, visitors, size):
    """Nothing scrolls sideways or gets too small to press, though each text is a third longer."""
    visitor = _in(visitors, shared, size, "x-leftward")
    wrong = {path: visitor.open(path).evaluate(LOOK) for path in PAGES}

    assert {path: told for path, told in wrong.items() if told} == {}


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_leftward_page_breaks_no_rule(shared, visitors, engine, size):
    """The engine finds as little as in English."""
    visitor = _in(visitors, shared, size, "x-leftward")
    wrong = {path: violations(visitor.open(path), engine) for path in PAGES}

    assert {path: found for path, found in wrong.items() if found} == {}


def test_stages_run_leftward_and_figures_do_not(shared, visitors):
    """The order of the stages is mirrored; figures with their units and drawings are not."""
    visitor = _in(visitors, shared, DESK, "x-leftward")
    page = visitor.open("/job/0102/run")

    assert page.locator("html").get_attribute("dir") == "rtl"
    assert page.evaluate(ORDER) == []


def test_another_language_is_taken_at_once(server, visitors):
    """The settings of a device change the page that is open, and its draft says that it is one."""
    visitor = visitors(server)
    page = visitor.open("/settings")
    page.locator("input[name=language_here][value=de]").check()
    visitor.rest()
    visitor.click("#main-action")
    page.locator("html[lang=de]").wait_for()

    assert page.locator(".tongue").inner_text() == "Deutsch (Entwurf)"
