"""One story a stage, as a person at the bench lives it."""

from __future__ import annotations

import re

import httpx2
import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

# Jobs of the seeded journal, by where they stand.
AT_MATCH, AT_RUN, RELEASED = "0104", "0102", "0101"
AT_TRIM, AT_SAMPLE, AT_HELD, AT_SIGN, AT_PROVE = "0201", "0202", "0203", "0204", "0205"


def test_initials_are_picked_once_a_shift(shared, visitors):
    """A job asks who is at the bench; one key picks, and the page that was wanted opens."""
    visitor = visitors(shared, person="")

    page = visitor.open(f"/job/{AT_MATCH}/match")

    expect(page.locator("h1")).to_have_text("Who is at the bench?")
    visitor.press("1")
    expect(page).to_have_url(re.compile(f"/job/{AT_MATCH}/match$"))
    expect(page.locator(".tools")).to_contain_text("AB")


def test_the_job_list_shows_open_jobs_first(shared, visitors):
    """Open jobs stand first with their next order, and each opens its whole job."""
    visitor = visitors(shared)

    page = visitor.open("/")

    expect(page.locator("h1")).to_have_text("Open jobs")
    expect(page.locator(f"a[href='/job/{AT_MATCH}']")).to_contain_text("Take the")
    visitor.click(f"a[href='/job/{AT_RUN}']")
    expect(page.locator("#main-action")).to_contain_text("Carry on")
    visitor.shoot("job")


def test_match_is_taken_and_its_facts_can_be_changed(shared, visitors):
    """The parts are taken with Enter; a wider nozzle than the neck makes it not suit."""
    visitor = visitors(shared)
    page = visitor.open(f"/job/{AT_MATCH}/match")

    visitor.press("-")
    expect(page).to_have_url(re.compile("/facts$"))
    page.locator("#tray_size").fill("10")
    page.locator("#reason").fill("other trays today")
    visitor.click("#main-action")
    expect(page).to_have_url(re.compile("/match$"))
    visitor.press("Enter")

    expect(page).to_have_url(re.compile("/setup$"))
    expect(page.locator("#order")).to_have_text("Build the wet end.")


def test_set_up_asks_for_the_air_tick_and_keeps_readings(shared, visitors):
    """The first step is blocked until the caution is ticked; a reading is kept with its unit."""
    visitor = visitors(shared)
    page = visitor.open(f"/job/{AT_MATCH}/setup")

    visitor.press("Tab", "Tab")
    page.locator("#main-action").focus()
    visitor.press("Enter")
    expect(page.locator("#order")).to_have_text("Build the wet end.")
    page.locator("#tick-1").focus()
    visitor.press("1", "Enter")

    expect(page.locator("#order")).to_contain_text("Turn the wheel to")
    visitor.press("Enter")
    expect(page.locator("#order")).to_contain_text("Air on")
    visitor.press("1")
    page.keyboard.type("5.9")
    visitor.press("Enter")
    expect(page.locator("#order")).to_contain_text("Nozzle 5 mm above the lip")
    expect(page.locator(".wires")).to_contain_text("5.9 bar")


def test_a_step_that_cannot_be_done_needs_a_reason(shared, visitors):
    """The question opens in the page, refuses an empty reason, and keeps what was typed."""
    visitor = visitors(shared)
    page = visitor.open(f"/job/{AT_MATCH}/setup")
    expect(page.locator("#order")).to_contain_text("Nozzle 5 mm above the lip")

    visitor.click("[data-ask=ask-cannot]")
    visitor.press("Enter")
    expect(page.locator("#ask-cannot .wrong")).to_contain_text("Say why")
    page.locator("#why-cannot").fill("no bar to measure with")
    visitor.press("Enter")

    expect(page.locator("#notes")).to_contain_text("Not done: no bar to measure with")


def test_trim_turns_and_weighs_until_it_is_on_the_aim(shared, visitors):
    """The two faces change places until the trim is done; the wheel is drawn as on the machine."""
    visitor = visitors(shared)
    page = visitor.open(f"/job/{AT_TRIM}/trim")
    visitor.press("1")
    faces = set()

    for _ in range(20):
        order = visitor.order()
        if order.startswith("Trimmed"):
            break
        faces.add(order.split()[0])
        if order.startswith("Turn"):
            expect(page.locator(".turn svg").first).to_be_visible()
            visitor.shoot("trim")
            visitor.after(lambda: visitor.press("Enter"))
        else:
            visitor.weigh()

    assert faces == {"Turn", "Fill"}
    expect(page.locator("#order")).to_contain_text("Go on with Prove")
    expect(page.locator(".tag")).to_contain_text("Trimmed")


def test_prove_shows_no_verdict_before_the_last_shot(shared, visitors):
    """Shots are counted, nothing is judged early, and the verdict comes after the last."""
    visitor = visitors(shared)
    page = visitor.open(f"/job/{AT_PROVE}/prove")

    for _ in range(3):
        expect(page.locator("#main .tag:visible").filter(has_text="Holds")).to_have_count(0)
        expect(page.locator("svg.proof-chart")).to_have_count(0)
        visitor.weigh()

    expect(page.locator("#main .tag").first).to_be_visible()
    expect(page.locator("#claim")).to_be_visible()
    expect(page.locator("svg.chart").first).to_be_visible()


def test_run_keeps_a_weight_and_takes_it_back(shared, visitors):
    """Enter keeps what the scale shows, the tag says how it stands, and minus takes it back."""
    visitor = visitors(shared)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    if page.locator("#tick-1").count():
        visitor.press("1")
    first = visitor.order()

    after = visitor.weigh()

    assert after != first
    expect(page.locator("#weight-tag")).to_contain_text("aim")
    visitor.shoot("run", is_whole=True)
    page.locator("#weight").fill("")
    assert visitor.after(lambda: visitor.press("-")) == first


def test_a_spoilt_weight_asks_why_and_holds_the_container(shared, visitors):
    """Star asks for the reason; one key sets the weight aside, and its container is held."""
    visitor = visitors(shared)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    expect(page.locator("#weight")).to_have_value(re.compile(r"\d"))

    visitor.press("*")
    expect(page.locator("#ask-spoilt")).to_be_visible()
    visitor.press("1")

    expect(page.locator("#notes")).to_contain_text("held")
    assert shared.state(AT_RUN)["held"] != []


def test_the_run_stops_for_a_refill(shared, visitors):
    """Stopping asks for what; after a refill the next one filled is looked at and weighed."""
    visitor = visitors(shared)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    filled = shared.state(AT_RUN)["filled"]

    visitor.click("#foot [data-ask=ask-pause]")
    visitor.press("2")

    expect(page.locator("#notes")).to_contain_text("Stopped: refill")
    expect(page.locator("#order")).to_contain_text(f"Fill bottle {filled + 1} and look at it.")
    expect(page.locator("#first")).to_contain_text("since the hopper was refilled")
    for digit in "123456789":
        visitor.press(digit)
    visitor.press("Enter")
    expect(page.locator("#order")).to_contain_text(f"Weigh bottle {filled + 1}")


def test_a_slip_of_the_key_is_answered_where_it_is(shared, visitors):
    """A weight that cannot be stays in the field with what is wrong, and nothing is kept."""
    visitor = visitors(shared)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    before = shared.state(AT_RUN)["weighings"]

    page.locator("#weight").fill("33790")
    visitor.press("Enter")

    expect(page.locator("#problem")).to_contain_text("33790")
    expect(page.locator("#weight")).to_have_value("33790")
    expect(page.locator("#weight")).to_have_attribute("aria-invalid", "true")
    assert shared.state(AT_RUN)["weighings"] == before


def test_held_ones_are_weighed_scrapped_and_released_with_a_reason(shared, visitors):
    """Each way settles what it names; what is left is told."""
    visitor = visitors(shared)
    page = visitor.open(f"/job/{AT_HELD}/held")
    first = shared.state(AT_HELD)["held"][0][0]

    visitor.click("[data-ask=ask-outcomes]")
    visitor.click("#to-scrapped")
    page.locator("#count-scrapped").fill("1")
    page.locator("#reason-scrapped").fill("cracked neck")
    visitor.press("Enter")

    expect(page.locator("#notes")).to_contain_text("scrapped")
    expect(page.locator("#notes")).to_contain_text("cracked neck")
    held = shared.state(AT_HELD)["held"]
    assert not held or held[0][0] > first


def test_a_sample_is_fetched_weighed_and_judged(shared, visitors):
    """The last of the sample brings the verdict as rows: result and what is allowed."""
    visitor = visitors(shared)
    page = visitor.open(f"/job/{AT_SAMPLE}/release")

    while visitor.order().startswith("Fetch"):
        visitor.weigh()

    expect(page.locator(".rules li")).to_have_count(3)
    expect(page.locator(".rules")).to_contain_text("Average of the lot")


def test_a_lot_is_signed_released_and_its_record_printed(shared, visitors):
    """Nothing is released unsigned; afterwards the record is a PDF."""
    visitor = visitors(shared)
    page = visitor.open(f"/job/{AT_SIGN}/release")
    expect(page.locator("#main-action")).to_contain_text("Sign")

    order = visitor.after(lambda: visitor.press("Enter"))
    assert order.startswith("Release ")
    visitor.shoot("release", is_whole=True)
    visitor.after(lambda: visitor.press("Enter"))

    expect(page.locator(".tag").first).to_contain_text("Released")
    paper = httpx2.get(f"{shared.url}/job/{AT_SIGN}/record.pdf")
    assert paper.headers["content-type"] == "application/pdf"
    assert paper.content.startswith(b"%PDF")


def test_strip_is_blocked_until_every_caution_is_ticked(shared, visitors):
    """Enter alone does nothing; two ticks and Enter keep that every seal is accounted for."""
    visitor = visitors(shared)
    page = visitor.open(f"/job/{RELEASED}/strip")

    visitor.press("Enter")
    expect(page.locator("#problem")).to_contain_text("Look first, then tick")
    visitor.press("1", "2")
    order = visitor.after(lambda: visitor.press("Enter"))

    assert order == "Stripped and cleaned. The job is done."


def test_a_fault_is_looked_for_by_single_keys(shared, visitors):
    """Slash opens Fault, a digit picks what is seen, and a digit answers the first check."""
    visitor = visitors(shared)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")

    visitor.press("/")
    expect(page).to_have_url(re.compile("/fault"))
    visitor.press("3")
    visitor.press("Enter")
    expect(page.locator("#order")).to_have_text("Is the wheel lock tight?")
    expect(page.locator(".check-no")).to_have_text("Check 14")
    visitor.press("2")
    expect(page.locator("#order")).not_to_have_text("Is the wheel lock tight?")

    visitor.press("-")
    expect(page).to_have_url(re.compile(f"/job/{AT_RUN}/run$"))


def test_the_light_changes_with_one_press(shared, visitors):
    """The light in the top line goes round: day, night, glare, and as the device has it."""
    visitor = visitors(shared)
    page = visitor.open("/")
    seen = []

    for _ in range(4):
        visitor.click("#light-form button")
        light = {0: "night", 1: "glare", 2: "device", 3: "day"}[len(seen)]
        expect(page.locator("html")).to_have_attribute("data-light", light)
        seen.append(light)

    assert seen[-1] == "day"


def test_bench_settings_change_the_light_and_the_keys(shared, visitors):
    """The light is kept on this device; keys that are off do nothing."""
    visitor = visitors(shared)
    page = visitor.open("/settings")
    page.locator("input[name=light][value=night]").check()
    page.locator("input[name=keys_on][value=no]").check()
    visitor.click("#main-action")
    expect(page.locator("html")).to_have_attribute("data-light", "night")

    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    expect(page.locator("body")).to_have_attribute("data-keys", "off")
    page.locator("#weight").focus()
    visitor.press("/")
    expect(page).to_have_url(re.compile("/run$"))

    page = visitor.open("/settings")
    page.locator("input[name=keys_on][value=yes]").check()
    visitor.click("#main-action")
    expect(page.locator("body")).to_have_attribute("data-keys", "on")
