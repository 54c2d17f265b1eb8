"""A bench in US customary units: set by keys, filled by the number pad, read page by page."""

from __future__ import annotations

import contextlib
import html
import io
import itertools
import json
import re
import shutil
import sqlite3
from dataclasses import replace
from decimal import Decimal

import pypdf
import pytest
from playwright.sync_api import expect
from starlette.testclient import TestClient

from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.language.measures import UNIT_WORDS
from fillwright.records.units import grams
from fillwright.web import create_app
from fillwright.wiring import maker, open_bench
from fillwright.wiring.bench import desk_on

from .conftest import PHONE, Server, free_port
from .test_axe import ON_A_PHONE, PAGES

pytestmark = pytest.mark.browser

JOB = "0301"
MOST_ACTS = 140
WEIGHTS_OF_RUN = 3
# Off the aim, in ounces; invented, no trend.
SCATTER = ("0.005", "-0.005", "0", "0.01", "-0.01", "0.005", "0", "-0.005")
READINGS = {"psi": "86", "°F": "70", "oz": "17.635", "s": "44"}
UNITS = "|".join(sorted((re.escape(word) for word in UNIT_WORDS), key=len, reverse=True))
METRIC = re.compile(rf"(?<![\w.,/:#-])[\d.,]*\d\s*(?:{UNITS})(?![\w/])")

ALLOWED = {
    "a label as it was declared, and the name of a container": re.compile(
        r"\b(?:250|300|100|420|370) (?:mL|g)\b"
    ),
    "a size that is the name of a flow cup": re.compile(r"ISO 2431, \d mm"),
    "the mass engraved on a check weight, with ounces behind it": re.compile(
        r"500 g \(17\.635 oz\)"
    ),
    "codes of cartons": re.compile(r"\d+ C-\d{4}|\dC-\d{4}"),
    "what the scale showed, as evidence on a paper": re.compile(r"[\d.]+ g \u2192 [\d.]+"),
    "a calculation, in the units it was made in": re.compile(
        r".*(?: = |divisor n|buoyancy of|k1 = |doses stay within [\d.]+ g of the aim).*"
    ),
}
"""What may stay metric on a page or paper of a US bench, by its reason."""
PAPERS = (
    "/job/0101/record.pdf",
    "/job/0102/card.pdf",
    "/job/0104/card.pdf",
    "/job/0101/proof.pdf",
    "/machine/card.pdf?name=East%20filler",
    "/shelf.pdf",
    "/inspector.pdf?seed=7",
    "/trace.pdf?code=NE-0101",
    "/job/0101/cost.pdf",
)


@pytest.fixture(scope="module")
def client(seeded, tmp_path_factory):
    """The seeded bench in US units, without a browser."""
    store = tmp_path_factory.mktemp("us") / "bench.sqlite"
    shutil.copy(seeded, store)
    bench = open_bench(store)
    us = replace(bench.desk.book.site().settings, units="us")
    change_settings(bench.desk, us, Press(person="AB"))
    with TestClient(create_app(bench), base_url="http://localhost") as client:
        client.cookies.set("fw_person", "AB")
        yield client
    bench.close()


def _lines(page: str) -> list[str]:
    """The texts of a page with what is read from its attributes, inline marks taken out."""
    spoken = re.findall(r'(?:aria-label|title|placeholder|data-say)="([^"]*)"', page)
    page = re.sub(r"</?(?:b|small|span|strong|em|sub|sup|kbd|tspan)\b[^>]*>", "", page)
    return [
        html.unescape(line).strip()
        for line in (*re.sub("<[^>]*>", "\n", page).split("\n"), *spoken)
    ]


def _left(lines: list[str]) -> list[str]:
    """The metric figures in texts that no rule allows."""
    found = []
    for line in lines:
        rest = line
        for allowed in ALLOWED.values():
            rest = allowed.sub("", rest)
        found += [line[:120] for _ in METRIC.findall(rest)]
    return found


@pytest.mark.parametrize("path", [path for path in PAGES if not path.startswith("/manual")])
def test_no_page_shows_a_metric_figure(client, path):
    """Every page in every state: texts, names read aloud, charts, tables."""
    assert _left(_lines(client.get(path).text)) == []


@pytest.mark.parametrize("path", PAGES)
def test_every_field_of_a_metric_name_says_its_unit(client, path):
    """A field whose name ends in a metric unit carries what was shown and what it stands for."""
    page = client.get(path).text
    fields = re.findall(
        r'<input(?![^>]*hidden)[^>]* name="(\w+_(?:g|ml|mm|bar_g|c|kg|l|g_per_ml|per_kg))"', page
    )

    assert [name for name in fields if f'name="in-{name}"' not in page] == []


@pytest.mark.parametrize("path", PAPERS)
def test_no_paper_shows_a_metric_figure(client, path):
    """Batch record, cards, proof, lists: but for the evidence and the calculations."""
    pages = pypdf.PdfReader(io.BytesIO(client.get(path).content)).pages
    lines = "\n".join(page.extract_text() for page in pages).split("\n")

    assert _left(lines) == []


def test_answers_for_programs_stay_metric(client):
    """JSON says grams, whatever the pages show."""
    state = client.get("/api/v1/jobs/0102").json()

    assert "oz" not in json.dumps(state).replace("doz", "")


@pytest.fixture
def us_demo(seeded, tmp_path):
    """The demo bench with its simulated scale, in US units; the scale itself shows grams."""
    store = tmp_path / "bench.sqlite"
    shutil.copy(seeded, store)
    desk = desk_on(store)
    us = replace(desk.book.site().settings, units="us")
    change_settings(desk, us, Press(person="AB"))
    desk.journal.close()
    server = Server(store, free_port())
    server.start()
    yield server
    server.stop()


def test_the_pan_shows_ounces_and_the_record_keeps_what_the_scale_showed(us_demo, visitors):
    """The large figure follows in ounces; the field and the journal hold the scale's grams."""
    visitor = visitors(us_demo)
    page = visitor.at_scale("/job/0102/run")

    expect(page.locator("#pan [data-unit]")).to_have_text("oz")
    expect(page.locator("[data-net]")).to_have_text(re.compile(r"^[\d.]+ oz net$"))
    expect(page.locator("#weight")).to_have_value(re.compile(r"\d"))
    expect(page.locator("#weight + .unit")).to_have_text("g")
    shown = page.locator("#weight").input_value()
    ounces = Decimal(page.locator("#pan [data-value]").inner_text())
    before = len(us_demo.weights("0102"))
    visitor.after(lambda: visitor.press("Enter"))

    assert us_demo.weights("0102")[before] == shown
    assert abs(ounces * Decimal("28.349523125") - Decimal(shown)) < Decimal("0.1")


def test_no_page_in_us_units_is_wider_than_a_phone(us_demo, visitors):
    """Figures in ounces are longer: every page of a job still fits."""
    visitor = visitors(us_demo, size=PHONE)
    wide = {
        path: visitor.open(path).evaluate("document.documentElement.scrollWidth")
        for path in ON_A_PHONE
    }

    assert {path: at for path, at in wide.items() if at > PHONE["width"]} == {}


@pytest.fixture
def without_scale(tmp_path):
    """A bench without a scale, in metric units, with one job before Match."""
    store = tmp_path / "bench.sqlite"
    desk = desk_on(store)
    press = Press(person="AB")
    change_settings(desk, replace(maker.SETTINGS, is_invented=True), press)
    for person in maker.PEOPLE:
        list_person(desk, person, press)
    for thing in (*maker.PRODUCTS, *maker.CONTAINERS, *maker.MACHINES, *maker.SCALES):
        keep_thing(desk, thing, press)
    facts = replace(maker.JOBS[0], number=JOB, lot_code=f"NE-{JOB}")
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), press)
    aim_g = desk.book.job(JOB).known.aim_g
    desk.journal.close()
    server = Server(store, free_port(), kind="serve")
    server.start()
    yield server, aim_g
    server.stop()


def test_a_job_is_weighed_in_ounces_from_match_to_the_run(without_scale, visitors):
    """Set by keys; then each reading and weight is typed on the pad, in psi, °F and ounces.

    The journal holds what was typed, and grams that are exactly that.
    """
    server, aim_g = without_scale
    visitor = visitors(server)
    page = visitor.open("/settings")
    _choose_us(visitor)
    visitor.open(f"/job/{JOB}/match")
    offs = itertools.cycle(SCATTER)
    typed: list[str] = []

    for _ in range(MOST_ACTS):
        if "/run" in page.url and _of_run(server) >= WEIGHTS_OF_RUN:
            break
        _by_pad(visitor, aim_g, offs, typed)
    else:
        pytest.fail(f"the run is not reached; at {page.url}, {visitor.order()}", pytrace=False)

    rows = _weighings(server)
    assert [(row["value"], row["unit"]) for row in rows] == [(value, "oz") for value in typed]
    assert len(rows) > 20
    for row in rows:
        exact = grams(Decimal(row["value"]), "oz")
        assert exact == Decimal(row["value"]) * Decimal("28.349523125")
        assert Decimal(row["net_g"]) == exact - Decimal(row["tare_g"])
    assert "oz" in page.locator("#main").inner_text()
    _keeps_what_was_typed(visitor)


def _choose_us(visitor) -> None:
    """Walk to the choice of units by Tab and the arrows, and keep it with Enter."""
    page = visitor.page
    for _ in range(60):
        if page.evaluate("document.activeElement.name") == "units":
            break
        page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.activeElement.value") == "us"
    visitor.press("Enter")
    expect(page.locator("input[name=units][value=us]")).to_be_checked()


def _by_pad(visitor, aim_g, offs, typed) -> None:
    """Do one act with the number pad."""
    page = visitor.page
    for place in ("1", "2"):
        if page.locator(f"#tick-{place}:not(:checked)").count():
            visitor.press(place)
    for place in "123456789":
        if page.locator(f".looklist [data-key='{place}']:not(:checked)").count():
            visitor.press(place)
    order = visitor.order()
    if page.locator("#weight").count():
        expect(page.locator("#weight")).to_be_focused()
        weight = _ounces(order, aim_g, offs)
        page.keyboard.type(weight)
        typed.append(weight)
    elif page.locator("#reading").count():
        beside = page.locator("#reading + .unit")
        unit = beside.inner_text() if beside.count() else ""
        # Where the pointer stands is offered, in marks.
        if unit in READINGS:
            page.locator("#reading").press("Control+a")
            page.keyboard.type(READINGS[unit])
    visitor.after(lambda: visitor.press("Enter"))


def _ounces(order: str, aim_g: Decimal, offs) -> str:
    """What a scale in ounces would show now, to its step of 0.005."""
    empty = Decimal("0.93")
    off = Decimal(next(offs))
    if "empty" in order.lower() or "empties" in order.lower():
        return str(empty + off)
    full = (aim_g / Decimal("28.349523125") / Decimal("0.005")).quantize(Decimal(1))
    return str((full * Decimal("0.005") + empty + off).quantize(Decimal("0.005")))


def _weighings(server) -> list[dict]:
    """What the journal holds of every weight, in order, read from the file."""
    with contextlib.closing(sqlite3.connect(f"file:{server.store}?mode=ro", uri=True)) as file:
        rows = file.execute(
            "SELECT payload FROM entries WHERE stream = ? "
            "AND kind = 'weighing taken' ORDER BY seq",
            (f"job/{JOB}",),
        )
        return [json.loads(row[0]) for row in rows]


def _of_run(server) -> int:
    """How many weights of the run are on record."""
    return sum(row["purpose"] == "dose" for row in _weighings(server))


def _keeps_what_was_typed(visitor) -> None:
    """A fact that is typed in US units is shown again as it was typed, also on a phone."""
    page = visitor.open(f"/job/{JOB}/facts")
    page.locator("#aim_g").fill("10.48")
    page.locator("#reason").fill("a test")
    visitor.click("#main-action")
    expect(page).not_to_have_url(re.compile("/facts$"))
    visitor.page.set_viewport_size(PHONE)
    page = visitor.open(f"/job/{JOB}/facts")
    expect(page.locator("#aim_g")).to_have_value("10.48")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
