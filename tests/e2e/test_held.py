"""Held ones settled at the real page by the number pad alone, and what the batch record says."""

from __future__ import annotations

import io
import os
import re
from pathlib import Path

import httpx2
import pypdf
import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

TO_HELD = "0203"
AT_RUN = "0102"
DESK = {"width": 1180, "height": 820}
PHONE = {"width": 390, "height": 844}
PICTURES = os.environ.get("FILLWRIGHT_HELD_SHOTS", "")


def keys(visitor, text):
    """Press the keys of a number pad, one after another."""
    visitor.press(*[{"\n": "Enter"}.get(sign, sign) for sign in text])


def held(server):
    """How many are held."""
    return sum(last - first + 1 for first, last in server.state(TO_HELD)["held"])


def look(visitor, name):
    """Keep pictures of a state in both widths, where somebody wants to see them."""
    if not PICTURES:
        return
    for size in (DESK, PHONE):
        visitor.page.set_viewport_size(size)
        visitor.rest()
        path = Path(PICTURES) / f"{name}-{size['width']}.png"
        visitor.page.screenshot(path=path, full_page=True)
    visitor.page.set_viewport_size(DESK)


def words_of(file):
    """The words of a paper."""
    pages = pypdf.PdfReader(io.BytesIO(file)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def test_every_outcome_by_the_number_pad(server, visitors):
    """Scrap, take back, top up, empty back, re-label, release; the record counts them all."""
    visitor = visitors(server)
    page = visitor.open(f"/job/{TO_HELD}/held")
    notes, problem = page.locator("#notes"), page.locator("#problem:visible")
    begun = held(server)
    assert begun >= 7
    tare = float(page.locator("#weight").get_attribute("data-tare") or 0)
    label_g = label_weight(page)
    look(visitor, "held")

    # A tray that there is not, more than there are, and no reason: one sentence each.
    visitor.press("*")
    look(visitor, "outcomes")
    keys(visitor, "499\n\n\n2\n")
    expect(problem).to_contain_text("There is no tray 99")
    page.locator("#tray-scrapped").fill("")
    page.locator("#count-scrapped").fill("500")
    visitor.press("Enter")
    expect(problem).to_contain_text("held bottles, not 500")
    look(visitor, "refused")
    assert held(server) == begun

    # One is scrapped by its key, and taken back by another: nothing is deleted.
    visitor.open(f"/job/{TO_HELD}/held")
    keys(visitor, "*4\n\n1\n")
    visitor.after(lambda: keys(visitor, "2\n"))
    expect(notes).to_contain_text("container cracked or dirty")
    assert held(server) == begun - 1
    visitor.after(lambda: keys(visitor, "-"))
    expect(notes.locator("s")).to_contain_text("Row 1")
    assert held(server) == begun

    # One is topped up: below the label it stays held, from the label on it is good.
    keys(visitor, "*1\n\n1\n")
    order = visitor.after(lambda: keys(visitor, "1\n"))
    assert order.startswith("Weigh topped-up bottle")
    order = visitor.after(lambda: keys(visitor, f"{label_g + tare - 1:.1f}\n"))
    assert "below the label" in order
    look(visitor, "below-label")
    visitor.after(lambda: keys(visitor, f"{label_g + tare + 1:.1f}\n"))
    expect(notes).to_contain_text("topped up, weighed good")
    assert held(server) == begun - 1

    # Two are emptied into the hopper, and their grams weighed.
    keys(visitor, "*2\n\n2\n490\n")
    look(visitor, "hopper")
    visitor.after(lambda: keys(visitor, "2\n"))
    expect(notes).to_contain_text("490 g into the hopper, weighed")
    assert held(server) == begun - 3

    # A short one cannot carry more than it holds; with a smaller label it is a lot of its own.
    order = visitor.after(lambda: keys(visitor, f"{label_g * 0.9 + tare:.1f}\n"))
    assert "is short" in order
    nominal = page.locator("#about-nominal-relabelled").inner_text()
    carried = float(re.search(r"([\d.]+) (?:g|mL)", nominal)[1])
    keys(visitor, f"*5\n\n1\n{carried * 0.95:.0f}\n1\n")
    expect(problem).to_contain_text("less than the new label")
    look(visitor, "relabel")
    page.locator("#nominal-relabelled").fill(f"{carried * 0.85:.0f}")
    visitor.after(lambda: visitor.press("Enter"))
    expect(notes).to_contain_text("re-labelled")
    expect(notes).to_contain_text(f"lot NE-{TO_HELD}-R1")

    # The rest goes out with a reason, but for the one that was weighed far short.
    keys(visitor, "*6\n\n\n")
    visitor.after(lambda: keys(visitor, "1\n"))
    keys(visitor, "*6\n\n\n1\n")
    expect(problem).to_contain_text("48 was weighed short or overfull")
    page.locator("#count-released-with-reason").fill("11")
    visitor.after(lambda: visitor.press("Enter"))
    keys(visitor, "*4\n\n\n")
    visitor.after(lambda: keys(visitor, "1\n"))
    assert visitor.order() == "Nothing is held."
    look(visitor, "settled")

    file = httpx2.get(f"{server.url}/job/{TO_HELD}/record.pdf").content
    if PICTURES:
        (Path(PICTURES) / "record.pdf").write_bytes(file)
    told = words_of(file)
    assert "scrapped, container cracked or dirty" in told
    assert "Struck out: taken back at the bench (AB)" in told
    assert "490 g into the hopper, weighed" in told
    assert f"NE-{TO_HELD}-R1" in told
    fates = "Settled|T ?opped up|Re-labelled|Emptied back|Scrapped|Waiting"
    counted = [int(one) for one in re.findall(rf"(?:{fates}) (\d+) \d", told)]
    together = int(re.search(r"T ?ogether (\d+) all", told)[1])
    assert len(counted) == len(fates.split("|"))
    assert sum(counted) == together == server.state(TO_HELD)["filled"]


def label_weight(page):
    """The reading that holds the label, from the job's own facts."""
    answer = page.request.get(page.url.replace("/held", "/record.pdf"))
    return float(re.search(r"Label ([\d.]+) g", words_of(answer.body()))[1])


def test_two_tablets_settle_at_once(server, visitors):
    """The second is told in one sentence what the first did, and nothing is kept twice."""
    one, other = visitors(server), visitors(server, person="CD")
    for visitor in (one, other):
        visitor.open(f"/job/{TO_HELD}/held")
    begun = held(server)
    keys(other, "*2")
    token = other.page.locator("#form-hopper [name=token]").input_value()
    seen = other.page.locator("#form-hopper [name=seen]").input_value()
    keys(one, "*4\n\n1\n")
    one.after(lambda: keys(one, "1\n"))

    form = {"token": token, "seen": seen, "reason": "1"}
    answer = other.page.request.post(f"{server.url}/job/{TO_HELD}/held/hopper", form=form)

    assert answer.status == 409
    assert "were settled: scrapped by AB" in answer.text()
    assert held(server) == begun - 1


def test_a_tray_is_held_by_hand_by_the_number_pad(server, visitors):
    """Star and six on Run, star and eight on the page of held ones; then it is settled."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    problem = page.locator("#problem:visible")
    before = spans(server, AT_RUN)

    visitor.press("*", "6")
    expect(page.locator("#hold-tray")).to_be_focused()
    look(visitor, "hold-by-hand")
    keys(visitor, "99\n\n2\n")
    expect(problem).to_contain_text("There is no tray 99")
    page.locator("#hold-tray").fill("2")
    visitor.press("Enter")
    visitor.after(lambda: visitor.press("Enter"))
    expect(page.locator("#notes")).to_contain_text("are held")
    tray = sorted(spans(server, AT_RUN) - before)
    assert tray

    # Numbers, from the page of held ones; the first thing to do is to look, not to weigh.
    visitor.open(f"/job/{AT_RUN}/held")
    visitor.press("*", "8")
    keys(visitor, "\n1-3\n")
    visitor.after(lambda: keys(visitor, "4\n"))
    assert {1, 2, 3} <= spans(server, AT_RUN)
    expect(page.locator("#order")).to_contain_text("product in doubt")
    keys(visitor, "*6\n\n3\n")
    visitor.after(lambda: keys(visitor, "4\n"))
    expect(page.locator("#notes")).to_contain_text("held by mistake")
    assert not {1, 2, 3} & spans(server, AT_RUN)
    look(visitor, "hold-settled")
    page.set_viewport_size(PHONE)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def spans(server, job):
    """The numbers of what is held."""
    return {n for first, last in server.state(job)["held"] for n in range(first, last + 1)}
