"""Monday: the day's order, a clean, a repeat job from its card to the run, by the pad alone."""

from __future__ import annotations

import re
from itertools import chain, cycle, repeat

import pytest
from history import opened
from playwright.sync_api import expect
from tests.e2e.week.conftest import MONDAY

from fillwright.jobs.desk import Press

pytestmark = pytest.mark.browser

JOB = "0063"
READINGS = {"Air": "5.8", "Product": "21", "Time": "62", "Weighing": "500.0"}
# An empty of the first carton weighs 26.4 g on average: 322.6 g gross is 296.2 g net, the aim.
EMPTIES = ("26.3", "26.5") * 5
AT_AIM = ("322.6", "322.5", "322.7", "322.6", "322.6")


def two_more(desk):
    """Put the other two products of the day on the desk."""
    opened(desk, "0061", 1, Press(person="AB"))
    opened(desk, "0062", 2, Press(person="AB"))


def begin_the_day(bench, one):
    """The order of the day, the clean before the first job, the repeat from the card."""
    page = one.page
    one.visitor.open("/day")
    main = page.locator("main")
    expect(main).to_contain_text("West filler: first Oat hand wash, job 0061.")
    expect(main).to_contain_text("Rosemary oil, job 0062")
    one.shoot("day")

    one.visitor.open("/cleaning?machine=East filler")
    one.put("agent", "4711")
    one.put("agent_batch", "12")
    one.put("residue", "1")
    one.put("discarded_l", "4.5")
    one.shoot("cleaning")
    one.press("Enter")
    expect(page.locator("#order")).to_contain_text("East filler is clean for")
    expect(page.locator("#notes li").first).to_contain_text(
        "cleaner 4711, batch 12; rinse water runs clear; 4.5 L discarded"
    )

    card = bench.paper("/machine/card.pdf?name=East filler")
    assert "Elderflower cordial; 250 mL, 250 mL bottle" in card
    one.visitor.open("/jobs/new?repeat=0056")
    expect(page.locator("#lot_code")).to_be_focused()
    one.type("20310303")
    one.press("Enter")
    expect(page.locator("#order")).to_have_text("Keep this aim and open the job?")
    one.press("Enter")
    expect(page).to_have_url(re.compile(f"/job/{JOB}/match$"))


def test_a_day_begins_by_the_pad(morning, pad):
    """From the day's order over the clean to a repeat job that is set up, trimmed and proved."""
    bench = morning(MONDAY, 7.0, two_more)
    one = pad(bench)
    begin_the_day(bench, one)
    weights = chain(EMPTIES, repeat("322.6", 4), cycle(AT_AIM))

    one.do(READINGS, weights, "Start the run")

    state = bench.state(JOB)
    assert (state["lot_code"], state["held"]) == ("20310303", [])
    card = bench.paper(f"/job/{JOB}/card.pdf")
    assert "20310303" in card
    assert "Elderflower cordial" in card
    one.shoot("proved")
