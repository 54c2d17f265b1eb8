"""The shape of every page: nothing sideways, nothing too small, three sizes, three lights."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

SIZES = (
    {"width": 390, "height": 844},
    {"width": 1024, "height": 768},
    {"width": 1180, "height": 820},
)
LIGHTS = ("day", "night", "glare")
PAGES = (
    "/",
    "/people",
    "/settings",
    "/data",
    "/manual/tutorial/first-job",
    "/jobs/new",
    "/job/0104",
    "/job/0104/match",
    "/job/0104/facts",
    "/job/0104/setup",
    "/job/0201/trim",
    "/job/0205/prove",
    "/job/0102/run",
    "/job/0102/run?ask=pause",
    "/job/0102/run?ask=new-drum",
    "/job/0102/run?ask=person",
    "/job/0102/photo",
    "/trace",
    "/trace?code=NE-0101",
    "/trace?code=NE-9999",
    "/complaint?code=NE-0101&container=70",
    "/job/0102/run?ask=spoilt",
    "/job/0102/run?ask=hold",
    "/job/0203/held",
    "/job/0202/release",
    "/job/0204/release",
    "/job/0101/strip",
    "/shelf",
    "/day",
    "/job/0101/fault",
    "/field",
    "/case",
    "/fault",
    "/enquiry",
    "/trial",
    "/practice",
    "/people/allowed",
    "/machines",
    "/machines?name=East%20filler",
    "/machines/describe?name=West%20filler",
    "/job/0104/edge",
    "/job/0104/map",
    "/job/0102/budget",
    "/nothing",
)
# Run in the page: what is wider than the window, and what a gloved finger would miss.
LOOK = """() => {
    const told = [];
    const wide = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth > wide) {
        told.push(`sideways: ${document.documentElement.scrollWidth}`);
    }
    for (const node of document.querySelectorAll("a, button, input, select, summary")) {
        // Links inside sentences are read, not pressed with a glove.
        if (node.type === "hidden" || node.closest(".skip, .prose, [hidden]")) continue;
        const box = (node.closest("label") ?? node).getBoundingClientRect();
        if (!box.width) continue;
        const name = node.id || node.textContent.trim().slice(0, 30) || node.name;
        if (box.height < 55.5 || box.width < 55.5) {
            told.push(`small: ${name} ${box.width.toFixed(0)} x ${box.height.toFixed(0)}`);
        }
        if (box.left < -0.5 || box.right > wide + 0.5) told.push(`outside: ${name}`);
    }
    for (const node of document.querySelectorAll("main *, header *, footer *")) {
        if (!node.childNodes.length || node.closest("[hidden], .sr, svg")) continue;
        const own = Array.from(node.childNodes).some((c) => c.nodeType === 3 && c.data.trim());
        if (own && node.checkVisibility() && parseFloat(getComputedStyle(node).fontSize) < 16) {
            told.push(`letters: ${node.textContent.trim().slice(0, 30)}`);
        }
    }
    for (const text of document.querySelectorAll("svg text")) {
        if (!text.checkVisibility()) continue;
        const svg = text.ownerSVGElement;
        const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
        const size = parseFloat(getComputedStyle(text).fontSize) * scale;
        if (size < 13.5) told.push(`drawn letters: ${text.textContent} ${size.toFixed(1)}`);
    }
    for (const field of document.querySelectorAll("main input, main select")) {
        if (field.type !== "hidden" && !field.labels?.length) told.push(`no label: ${field.name}`);
    }
    if (document.querySelectorAll("h1").length !== 1) told.push("not one heading");
    const ids = Array.from(document.querySelectorAll("[id]"), (node) => node.id);
    if (new Set(ids).size !== ids.length) told.push("an id is there twice");
    return told;
}"""


@pytest.mark.parametrize("size", SIZES, ids=lambda size: str(size["width"]))
def test_pages_fit_and_can_be_pressed_with_a_glove(shared, visitors, size):
    """No page scrolls sideways, no target is under 56 pixels, no letter under 16."""
    visitor = visitors(shared, size=size)
    breaches = {}

    for path in PAGES:
        page = visitor.open(path)
        expect(page.locator("html")).to_have_attribute("data-js", "on")
        told = page.evaluate(LOOK)
        if told:
            breaches[path] = told

    assert breaches == {}


# Run in the page: how high it is with the weight kept last, and with each state of the pan.
HEIGHTS = """() => {
    const high = () => document.documentElement.scrollHeight;
    const show = (isOnPan, name) => {
        document.getElementById("live").hidden = isOnPan;
        document.getElementById("pan").hidden = !isOnPan;
        document.getElementById("weight-tag").hidden = name !== "";
        for (const tag of document.querySelectorAll("[data-pan-tag]")) {
            tag.hidden = tag.dataset.panTag !== name;
        }
    };
    document.querySelector("#pan [data-value]").textContent = "338.2";
    document.querySelector("[data-net]").textContent = "307.01 g net";
    const states = [[false, ""], [true, "settling"], [true, "settled"], [false, "no-signal"]];
    return states.map(([isOnPan, name]) => (show(isOnPan, name), high()));
}"""


@pytest.mark.parametrize("size", SIZES, ids=lambda size: str(size["width"]))
def test_the_page_stands_still_while_the_scale_comes_to_rest(shared, visitors, size):
    """Whatever the pan says, what is below the weight stays where the finger expects it."""
    visitor = visitors(shared, size=size)
    visitor.context.route("**/events*", lambda asked: asked.fulfill(status=204))
    page = visitor.at_scale("/job/0102/run")
    visitor.rest()

    heights = page.evaluate(HEIGHTS)

    assert set(heights) == {heights[0]}


@pytest.mark.parametrize("light", LIGHTS)
def test_each_light_is_the_light_that_was_picked(shared, visitors, light):
    """The ground of the page is that of its light, whatever the device asks for."""
    grounds = {
        "day": "rgb(228, 235, 233)",
        "night": "rgb(11, 20, 19)",
        "glare": "rgb(255, 255, 255)",
    }
    visitor = visitors(shared, light=light, color_scheme="dark")

    page = visitor.open("/job/0102/run")

    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == grounds[light]


def test_the_device_chooses_where_nobody_did(shared, visitors):
    """Without a choice a dark device gets the night."""
    visitor = visitors(shared, light="", color_scheme="dark")

    page = visitor.open("/job/0102/run")

    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert ground == "rgb(11, 20, 19)"


def test_nothing_moves_where_motion_is_not_wanted(shared, visitors):
    """With reduced motion no part of the page is animated."""
    visitor = visitors(shared, reduced_motion="reduce")

    page = visitor.open("/job/0102/run")

    assert page.evaluate("document.getAnimations().length") == 0


def test_states_are_told_by_shape_and_word_without_colours(shared, visitors):
    """With the system's own colours the tag keeps its shape, its word and an edge."""
    visitor = visitors(shared, forced_colors="active")

    page = visitor.open("/job/0101/release")

    tag = page.locator(".tag").first
    expect(tag).to_contain_text("Released")
    expect(tag.locator("svg")).to_be_visible()
    assert tag.evaluate("node => getComputedStyle(node).borderTopWidth") == "2px"


def test_the_page_can_be_turned_right_to_left(shared, visitors):
    """Turned round nothing leaves the window, and drawings keep their direction."""
    visitor = visitors(shared, size={"width": 1024, "height": 768})
    page = visitor.open("/job/0102/run")

    page.evaluate("document.documentElement.dir = 'rtl'")

    assert page.evaluate(LOOK) == []
    assert page.locator("svg.chart:visible").first.get_attribute("direction") == "ltr"


def test_print_leaves_the_bench_out(shared, visitors):
    """On paper there is no foot bar, no rail and no filled ground."""
    visitor = visitors(shared)
    page = visitor.open("/job/0101/release")

    page.emulate_media(media="print")

    expect(page.locator("#foot")).to_be_hidden()
    expect(page.locator("#rail")).to_be_hidden()
    assert page.locator(".tag").first.evaluate(
        "node => getComputedStyle(node).backgroundColor"
    ) in ("rgba(0, 0, 0, 0)", "rgb(255, 255, 255)")


def test_the_first_thing_and_the_main_action_are_in_the_first_view(shared, visitors):
    """On a phone the order, the weight field and the main button show without scrolling."""
    visitor = visitors(shared, size={"width": 390, "height": 844})
    page = visitor.at_scale("/job/0102/run")
    visitor.weigh()
    visitor.at_scale("/job/0102/run")
    visitor.shoot("run-phone")

    for selector in ("#order", "#weight", "#main-action"):
        box = page.locator(selector).bounding_box()
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= 844


def test_the_look_finds_what_it_is_for(shared, visitors):
    """A planted breach of each kind is found."""
    visitor = visitors(shared)
    page = visitor.open("/settings")

    page.evaluate(
        """() => {
            const small = document.createElement("button");
            small.id = "tiny";
            document.getElementById("main").append(small);
            small.style.inlineSize = "20px";
            document.querySelector("h1").style.fontSize = "15px";
            document.querySelector("h1").after(document.createElement("h1"));
            const wide = document.createElement("p");
            wide.textContent = "wide";
            wide.style.inlineSize = "4000px";
            document.getElementById("main").append(wide);
            const bare = document.createElement("input");
            bare.name = "bare";
            document.getElementById("main").append(bare);
        }"""
    )
    told = " ".join(page.evaluate(LOOK))

    for word in ("sideways", "small: tiny", "letters", "no label: bare", "not one heading"):
        assert word in told


def test_the_glass_can_be_wiped(shared, visitors):
    """No touch counts until Enter, or until a corner and the one opposite are pressed."""
    visitor = visitors(shared)
    page = visitor.open("/settings")
    cover = page.locator("#wipe")
    for uncover in (
        lambda: page.keyboard.press("Enter"),
        lambda: [page.mouse.click(x, y) for x, y in ((8, 8), (1170, 810))],
    ):
        page.get_by_role("button", name="Wipe the glass").click()
        expect(cover).to_be_visible()
        for x, y in ((590, 780), (8, 8), (1170, 8), (300, 400), (1170, 8)):
            page.mouse.click(x, y)
        page.keyboard.press("5")
        page.keyboard.press("Escape")
        expect(cover).to_be_visible()
        uncover()
        expect(cover).to_be_hidden()
    assert page.url.endswith("/settings")
