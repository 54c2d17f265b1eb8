"""Machines and the computing pages of Set up through the server, by a browser without scripts."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from decimal import Decimal

import pytest
from described import THICK
from starlette.testclient import TestClient

from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Press, find_job
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.records.entries import StepDone
from fillwright.web import create_app
from fillwright.wiring import maker, open_bench

PRESS = Press(person="AB")
JOB = "0104"


@pytest.fixture
def bench(tmp_path):
    """A bench with one open job of a thick product on a described machine."""
    found = open_bench(tmp_path / "bench.sqlite")
    change_settings(found.desk, maker.SETTINGS, PRESS)
    for person in maker.PEOPLE:
        list_person(found.desk, person, PRESS)
    for thing in (*maker.PRODUCTS, *maker.CONTAINERS, *maker.MACHINES, *maker.SCALES):
        keep_thing(found.desk, thing, PRESS)
    facts = maker.JOBS[3]
    facts = replace(facts, product=replace(facts.product, flow=THICK, product_c=Decimal(22)))
    open_job(found.desk, replace(facts, aim_g=propose_aim(found.desk, facts).aim_g), PRESS)
    yield found
    found.close()


@pytest.fixture
def client(bench):
    """A browser at that bench."""
    with TestClient(create_app(bench), base_url="http://localhost") as found:
        found.cookies.set("fw_person", "AB")
        yield found


def hidden(page):
    """Hidden fields of the form with the answer."""
    form = page[page.index('id="act"') :]
    form = form[: form.index("</form>")]
    fields = re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form)
    return {name: html.unescape(value) for name, value in fields}


def shown(page):
    """What stands in the open fields of the question."""
    form = page[page.index('id="act"') :]
    form = form[: form.index("</form>")]
    found = dict(re.findall(r'<input id="\w+" name="(\w+)" value="([^"]*)"', form))
    for name, body in re.findall(
        r'<select id="\w+" name="(\w+)"[^>]*>(.*?)</select>', form, re.DOTALL
    ):
        found[name] = re.search(r'value="([^"]*)" selected', body).group(1)
    return {name: html.unescape(value) for name, value in found.items()}


def answer(client, page, what="next", **typed):
    """Answer the question of a page and return the response."""
    data = {**hidden(page), **shown(page), "what": what, **typed}
    return client.post(action(page), data=data)


def action(page):
    """Where the form of a page is sent; the draft is in it."""
    return html.unescape(
        re.search(r'<form method="post" action="([^"]+)" id="act"', page).group(1)
    )


def order(page):
    """The order of a page."""
    return html.unescape(re.search(r'<h1 id="order"[^>]*>(.*?)</h1>', page).group(1))


def test_a_machine_is_described_question_by_question_and_kept(client, bench):
    """From a shipped one to the end by Enter alone, but for its name; then it is on the list."""
    page = client.get("/machines/describe?from=medium").text
    assert order(page) == "What does the bench call it?"
    page = answer(client, page, name="Third filler").text
    asked = 2
    while "Keep this machine" not in page:
        page = answer(client, page).text
        asked += 1
    assert f"Question {asked} of {asked}" in page
    assert "Third filler" not in bench.desk.book.site().machines

    end = answer(client, page)

    assert end.url.path == "/machines"
    assert order(end.text) == "Third filler"
    assert bench.desk.book.site().machines["Third filler"].is_described
    assert "wet-sketch" in end.text


def test_what_cannot_be_stays_on_its_question(client, bench):
    """A rod as thick as the bore: the field is marked, what was typed stays, nothing is kept."""
    page = client.get("/machines/describe?name=East%20filler").text
    while "Read the air cylinder" not in page:
        page = answer(client, page).text

    wrong = answer(client, page, rod_mm="62")

    assert wrong.status_code == 422
    assert "no thinner than the bore of the air cylinder" in html.unescape(wrong.text)
    assert 'id="rod_mm" name="rod_mm" value="62"' in wrong.text
    assert bench.desk.book.site().machines["East filler"] == maker.MACHINES[0]
    back = answer(client, wrong.text, what="back", rod_mm="x")
    assert order(back.text) == "Product cylinder 3 of 3."
    assert order(client.get(str(back.url)).text) == "Product cylinder 3 of 3."


def test_a_piece_is_added_left_out_and_kept_early(client, bench):
    """One more piece, one less, and the rest as it is: three presses change the wet path."""
    page = client.get("/machines/describe?name=East%20filler").text
    while "piece 2 of 4, hopper" not in page:
        page = answer(client, page).text
    page = answer(client, page, what="add").text
    assert order(page) == "New piece: piece 3 of 5, hopper to cylinder."
    page = answer(client, page, piece_name="Hose", kind="hose", length_mm="400").text
    page = answer(client, page, what="back").text
    assert "Hose: piece 3 of 5" in order(page)

    answer(client, page, what="keep")

    suction = bench.desk.book.site().machines["East filler"].suction
    assert [piece.name for piece in suction][2] == "Hose"
    page = client.get("/machines/describe?name=East%20filler").text
    while "Hose" not in order(page):
        page = answer(client, page).text
    page = answer(client, page, what="drop").text
    answer(client, page, what="keep")
    assert bench.desk.book.site().machines["East filler"] == maker.MACHINES[0]


def test_each_part_leads_to_its_question(client):
    """The page of a machine lists its parts; each is a way to the one question about it."""
    page = client.get("/machines?name=East%20filler").text
    parts = re.findall(r'href="(/machines/describe\?name=East%20filler&amp;at=[^"]+)"', page)
    assert len(parts) > 15

    assert order(client.get(html.unescape(parts[3])).text) == "Product cylinder 2 of 3."
    assert order(client.get("/machines/describe?name=East%20filler&at=hopper").text) == (
        "Measure the hopper."
    )


def test_a_draft_that_was_lost_or_made_up_is_refused(client):
    """Without its draft a page says begin again; an unknown machine says so; no traceback."""
    page = client.get("/machines/describe?from=small").text
    lost = client.post("/machines/describe", data={**hidden(page), "what": "next"})
    assert (lost.status_code, "begin again" in lost.text) == (422, True)
    for made_up in ("x", "%C3%A4", "eJyrrgUAAXUA-Q=="):
        assert client.get(f"/machines/describe?at=air&draft={made_up}").status_code == 422
    assert client.get("/machines/describe?from=tiny").status_code == 404
    assert client.get("/machines/describe?name=Nowhere").status_code == 404
    assert client.get("/machines?name=Nowhere").status_code == 404
    assert client.get("/machines/describe").url.path == "/machines"


def press(client, page, what, **form):
    """Press a button of a job's page."""
    text = client.get(f"/job/{JOB}/{page}").text
    token = re.search(r'name="token" value="(\w+)"', text).group(1)
    seen = re.search(r'name="seen" value="(\d+)"', text).group(1)
    return client.post(f"/job/{JOB}/{page}/{what}", data={"token": token, "seen": seen, **form})


def tell(bench, *steps):
    """Put steps of Set up on record."""
    desk = bench.desk
    from fillwright.jobs.desk import keep  # noqa: PLC0415  beside its one use

    with desk.book.lock:
        keep(desk, find_job(desk, JOB), [StepDone(step=s, outcome="done") for s in steps], PRESS)


def test_strokes_are_timed_on_the_page_and_what_they_change_is_said(client, bench):
    """The aim stands in the order; ten strokes, one fill and other turns go into the model."""
    tell(bench, "wet-end", "setting", "air", "nozzle", "scale", "empties", "product")
    page = client.get(f"/job/{JOB}/setup").text
    assert re.match(r"Time ten strokes: aim \d+ s\.", order(page))
    assert "To start with" in page

    bad = press(client, "setup", "done", step="strokes", reading="60", fill_s="quick", tick_1="y")
    assert (bad.status_code, "not a number for One fill" in html.unescape(bad.text)) == (422, True)
    done = press(client, "setup", "done", step="strokes", reading="60", fill_s="2.5", tick_1="y")

    assert order(done.text) == "Flush until no air spits."
    assert "Ten strokes took 60 s" in done.text
    timed = find_job(bench.desk, JOB).start.timed
    assert (str(timed.ten_s), str(timed.fill_s)) == ("60", "2.5")
    machine = client.get("/machines?name=West%20filler").text
    assert f"job {JOB}: fill control passes {timed.fill_needle_factor:.2f}" in machine


def test_the_recharge_edge_is_walked_by_its_forms(client, bench):
    """Time, three shots, four times over; then the edge is worked out and Set up has it."""
    tell(bench, "wet-end", "setting", "air", "nozzle", "scale", "empties", "product", "strokes")
    at = 3.0
    for shot_g in ("421.0", "420.6", "400.2", "361.0"):
        press(client, "edge", "timed", reading=f"{at:.1f}", tick_1="y")
        for _ in range(3):
            kept = press(client, "edge", "weigh", weight=shot_g, unit="g", source="typed")
            assert kept.status_code == 200
        at *= 0.72
    assert order(client.get(f"/job/{JOB}/edge").text) == "Work out the edge."

    found = press(client, "edge", "judge")

    assert order(found.text) == "The edge is known. Go back to Set up."
    assert "% full" in found.text
    assert f"Found in job {JOB}" in client.get(f"/job/{JOB}/setup").text
    assert order(client.get(f"/job/{JOB}/edge?again=1").text).startswith("Recharge 1 of 4")
    assert "Recharge edge of Plum butter" in client.get("/machines?name=West%20filler").text


def test_map_and_budget_are_drawn_and_asked(client):
    """Both pages show their picture, a table behind it, and answer to what is typed."""
    page = client.get(f"/job/{JOB}/map").text
    assert page.count("recharge-map") >= 2
    assert page.count("nozzle-map") >= 2
    assert "On a cold morning" in page

    budget = client.get(f"/job/{JOB}/budget?claim=0.1").text
    assert "Does not hold yet" in budget
    assert "ranked-bars" in budget
    odd = client.get(f"/job/{JOB}/budget?claim=lots")
    assert odd.status_code == 200
    assert "not a number for The claim" in html.unescape(odd.text)
