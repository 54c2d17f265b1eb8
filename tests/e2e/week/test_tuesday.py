"""Tuesday: a run from its first bottle to the released lot, changes and a held one; by the pad."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from history import opened
from playwright.sync_api import expect
from steady import steady_bench
from tests.e2e.week.conftest import MONDAY

from fillwright.jobs.desk import Press
from fillwright.wiring import maker
from fillwright.wiring.player import play

pytestmark = pytest.mark.browser

TUESDAY = MONDAY + timedelta(days=1)
JOB = "0061"
# The five shots of the checked proof are the first five of the batch.
FIRST = 6
# An empty of the first carton weighs 26.4 g on average: 322.6 g gross is 296.2 g net, the aim.
EMPTIES = ("26.3", "26.5")
AT_AIM = ("322.6", "322.5", "322.7", "322.6", "322.6")
# Those of the new carton weigh 26.8 g; the new drum, 1.190 for 1.182 g/mL, moves the aim by
# 296.2 x 1.190 / 1.182 = 298.2 g; 325.0 g gross is
# that much net. The aim on record is 298.3 g, never rounded down.
NEW_EMPTIES = ("26.7", "26.8", "26.9", "26.8", "26.8")
CARTON_AFTER, DRUM_AFTER, PERSON_AFTER = 36, 60, 84
HELD = PERSON_AFTER + 1


def to_the_run(desk):
    """Set a job up, trim and check its kept proof, up to the start of its run."""
    facts = opened(desk, JOB, 0, Press(person="AB"))
    bench = steady_bench(facts, EMPTIES, AT_AIM)
    play(
        desk, JOB, bench, maker.PEOPLE[0],
        until=lambda state: state.proof is not None, seed=1, checks_kept=True,
    )  # fmt: skip


def reading_of(order):
    """Return what the scale shows for a bottle: its carton's tare, its drum's aim."""
    number = int(re.search(r"bottle (\d+)", order).group(1))
    if number <= CARTON_AFTER:
        return "322.6"
    return "323.0" if number <= DRUM_AFTER else "325.0"


def weigh_to(one, last):
    """Weigh whatever is due until the bottle named was weighed."""
    while one.server.state(JOB)["filled"] < last:
        order = one.visitor.order()
        if one.page.locator("#weight").count():
            one.weigh(reading_of(order))
        else:
            # A turn of the wheel may come first.
            one.ticks()
            one.enter()


def look(one):
    """Tick the nine things of the look, and keep it."""
    one.ticks()
    return one.enter()


def start_with_a_photo(one):
    """Say what is there, start, and look at the first bottle, with its photo from a file."""
    page = one.page
    one.visitor.open(f"/job/{JOB}/run")
    one.ticks()
    one.put("lot_container", "101")
    one.put("lot_lid", "301")
    one.put("lot_drum", "201")
    one.put("lot_batch", "77")
    # The ten empties of Set up came out of this carton: none is asked for again.
    assert one.enter() == f"Fill bottle {FIRST} and look at it."
    picture = page.screenshot()
    one.to("#photo-place summary")
    one.press("Enter")
    one.press("NumpadDecimal", "Enter")
    expect(page.locator("#order")).to_have_text(f"A photo of bottle {FIRST}.")
    expect(page.locator("#file")).to_be_focused()
    with page.expect_file_chooser() as asked:
        one.press("Enter")
    file = {"name": "first.png", "mimeType": "image/png", "buffer": picture}
    asked.value.set_files(file)
    one.to("#main-action")
    one.press("Enter")
    expect(page.locator("#photo-place summary")).to_have_text("A photo of it: 1 kept")
    one.shoot("look")
    assert look(one) == f"Weigh bottle {FIRST}."


def change_in_mid_run(one):
    """A new carton with five empties, a new drum with its density, another person."""
    weigh_to(one, CARTON_AFTER)
    one.press("*", "5", "6")
    one.type("102")
    order = one.enter()
    assert order.startswith("Weigh empty bottle 1 of 5 from the new carton 102")
    for empty in NEW_EMPTIES:
        order = one.weigh(empty)
    assert order == f"Fill bottle {CARTON_AFTER + 1} and look at it."
    look(one)

    weigh_to(one, DRUM_AFTER)
    one.press("*", "5", "7")
    one.type("202")
    one.press("Enter")
    one.type("1.190")
    assert one.enter() == f"Fill bottle {DRUM_AFTER + 1} and look at it."
    look(one)

    weigh_to(one, PERSON_AFTER)
    one.press("*", "5", "8")
    order = one.visitor.after(lambda: one.press("1"))
    assert order == f"Fill bottle {HELD} and look at it."


def hold_one_and_settle_it(one):
    """Its lid leaks: it is held, scrapped on the Held page, and the next is looked at."""
    page = one.page
    one.press(*"12345678")
    one.press("Enter")
    expect(page.locator("#problem")).to_contain_text("Leak")
    expect(page.locator("#why-leak")).to_be_focused()
    one.type("1")
    assert one.enter().startswith("Put it right.")
    assert one.server.state(JOB)["held"] == [[HELD, HELD]]
    look(one)
    one.shoot("run")
    one.visitor.open(f"/job/{JOB}/held")
    one.press("*", "4", "Enter", "Enter")
    one.type("1")
    one.press("Enter")
    one.type("1")
    assert one.enter() == "Nothing is held."
    one.shoot("held")
    one.visitor.open(f"/job/{JOB}/run")


def release(one):
    """Finish, weigh the sample, sign, keep two bottles and release."""
    page = one.page
    weigh_to(one, 120)
    order = one.visitor.order()
    while not page.locator("#keep-sample").count():
        weighs = page.locator("#weight").count()
        order = one.weigh(reading_of(order)) if weighs else one.enter()
    one.to("#keep-sample summary")
    one.press("Enter")
    one.put("kept_numbers", "30,90")
    one.put("kept_place", "4")
    one.put("kept_until", "20330303")
    one.shoot("release")
    one.enter()
    expect(page.locator(".tag").first).to_contain_text("Released")


def test_a_run_with_changes_and_a_held_one_by_the_pad(morning, pad):
    """From the first bottle to the released lot; the record has each carton, drum and person."""
    bench = morning(TUESDAY, 7.0, to_the_run)
    one = pad(bench)
    start_with_a_photo(one)
    change_in_mid_run(one)
    hold_one_and_settle_it(one)
    release(one)

    state = bench.state(JOB)
    assert (state["released"], state["filled"], state["held"]) == ("released", 120, [])
    record = bench.paper(f"/job/{JOB}/record.pdf")
    for words in (
        "Released: 117 bottles",
        "0 of 30 short by more than 9 mL",
        "Filled C. Drum CD",
        "85: scrapped",
        "Released 117 1 to 29, 31 to 84, 86 to 89 and 91 to 120",
        "Scrapped 1 85",
        "Kept 2 30 and 90",
        "ogether 120 all 120 bottles filled",
        "new carton 102 new drum 202 CD takes over",
        "Carton, by bottle: 1 to 36 101; 37 to 120 102.",
        "Drum, by bottle: 1 to 60 201, batch 77; 61 to 120 202, batch 77.",
        "Average empty of bottle 37 to 120: 26.8 g, of 5 weighed.",
        "Photo of bottle 6, SHA-256",
        "Bottle 6 looked at by AB, the run starts: all 9 right.",
        "density 1.19 g/mL at 20 °C, aim 298.3 g",
        "After bottle 84 CD took over from AB.",
        "Bottle 85 looked at by CD, another person: not right: leak: 1.",
    ):
        assert words in record


def test_practice_counts_nowhere(morning, pad):
    """One key opens a practice job with water; no list of the real ones has it."""
    bench = morning(TUESDAY, 7.0)
    one = pad(bench)
    page = one.page
    one.visitor.open("/practice")
    one.shoot("practice")
    one.press("Enter")
    expect(page).to_have_url(re.compile("/job/practice-1"))
    state = bench.state("practice-1")
    assert (state["product"], state["lot_code"]) == ("Water, for practice", "PRACTICE, WATER")
    # 420 g of plum butter at 1.265 g/mL are 331.4 g of water at 0.9982 g/mL.
    expect(page.locator("main")).to_contain_text("331.4 g")
    for path in ("/", "/day"):
        one.visitor.open(path)
        expect(page.locator("main")).not_to_contain_text("practice-1")
    one.visitor.open("/trace?code=practice-1")
    expect(page.locator("main")).to_contain_text("Nothing on record has the code 'practice-1'.")
    one.visitor.open("/job/practice-1/cost")
    expect(page.locator("#order")).to_contain_text("practice and counts nowhere")
