"""Every page and paper in the wrapped language: whatever is plain went through no catalogue."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from stages import TO_HELD, TO_PROVE, TO_SAMPLE, TO_SIGN, TO_TRIM, fill_with_stages
from starlette.testclient import TestClient
from unspoken import unspoken, unspoken_data

from fillwright.jobs.catalogue import change_settings
from fillwright.jobs.desk import Press
from fillwright.language.measures import US
from fillwright.report import pdf
from fillwright.report.spoken import AS_IS
from fillwright.web import create_app
from fillwright.wiring import maker, open_demo

JOBS = ("0101", "0102", "0103", "0104", TO_TRIM, TO_SAMPLE, TO_HELD, TO_SIGN, TO_PROVE)
STAGES = ("match", "setup", "trim", "prove", "run", "held", "release", "strip", "fault")
MORE = ("", "/facts", "/cost", "/changes", "/cleaning", "/edge", "/map", "/budget?claim=0.2")
PAGES = (
    "/",
    "/jobs/new",
    "/people",
    "/people/allowed",
    "/settings",
    "/demo",
    "/data",
    "/manual",
    "/devices",
    "/scale",
    "/machines",
    "/machines?name=East%20filler",
    "/machines/describe?from=medium",
    "/nothing",
    "/quote?like=0101",
    "/inspector?seed=7",
    "/shelf",
    "/day",
    "/cases",
    "/enquiries",
    "/practice",
    "/trace",
    "/trace?code=NE-0101",
    "/trace?code=NE-9999",
    "/complaint?code=NE-0101&container=70",
    "/job/0102/photo",
    "/job/0102/photo?fault=1",
    "/job/0102/often",
    *(f"/job/0102/run?ask={what}" for what in ("pause", "person", "finish", "spoilt")),
    *(f"/job/{job}/{stage}" for job in JOBS for stage in STAGES),
    *(f"/job/{job}{more}" for job in JOBS for more in MORE),
)
PAPERS = (
    "/job/0101/card.pdf",
    "/job/0101/record.pdf",
    "/job/0102/record.pdf",
    f"/job/{TO_SIGN}/record.pdf",
    "/job/0101/fault/sheet.pdf",
    "/machine/card.pdf?name=East%20filler",
    "/job/0101/strip.pdf",
    "/shelf.pdf",
    "/inspector.pdf?seed=7",
    "/trace.pdf?code=NE-0101",
    f"/trace.pdf?code=NE-{TO_SIGN}",
)
TYPED = {
    *(person.initials for person in maker.PEOPLE),
    *(person.name for person in maker.PEOPLE),
    *(thing.name for thing in (*maker.PRODUCTS, *maker.CONTAINERS, *maker.MACHINES)),
    *(scale.name for scale in maker.SCALES),
    maker.MAKER,
    maker.MAKER.partition(" (")[0],
    "Simulated bench",
}
"""What people of the invented maker typed, as it stands alone."""


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    """A browser at the demo bench, in the wrapped language."""
    store = tmp_path_factory.mktemp("texts") / "bench.sqlite"
    fill_with_stages(store)
    bench = open_demo(store)
    bench.demo.stop()
    with TestClient(create_app(bench), base_url="http://localhost") as client:
        client.cookies.set("fw_person", maker.PEOPLE[0].initials)
        client.cookies.set("fw_language", "x-wrapped")
        yield client
    bench.close()


def _plain(texts):
    """Texts but what people typed, also where a sign or a figure stands beside it."""
    names = sorted(TYPED, key=len, reverse=True)
    found = set()
    for text in texts:
        rest = text
        for name in names:
            rest = rest.replace(name, "")
        if unspoken_data(rest):
            found.add(text)
    return sorted(found)


def test_no_page_says_what_no_catalogue_holds(client):
    """Each text and each name for a reader of the screen has its entry."""
    told = {path: client.get(path).text for path in PAGES}
    plain = {text: path for path, html in told.items() for text in _plain(unspoken(html))}

    assert "\n".join(f"{path}: {text}" for text, path in sorted(plain.items())) == ""


def test_no_error_says_what_no_catalogue_holds(client):
    """A slip is answered in the language of the page."""
    token = re.search(r'name="token" value="(\w+)"', client.get("/people").text).group(1)
    forms = {
        "/settings": {"band_pct": "many"},
        "/job/0102/run/weigh": {"weight": "much", "weighing_id": "x", "seen": "1"},
        "/people": {"initials": ""},
    }
    told = {
        path: client.post(path, data={"token": token, **form}).text for path, form in forms.items()
    }
    plain = {text: path for path, html in told.items() for text in _plain(unspoken(html))}

    assert "\n".join(f"{path}: {text}" for text, path in sorted(plain.items())) == ""


def test_no_paper_says_what_no_catalogue_holds(client, monkeypatch):
    """What goes to the printer was spoken; pictures and what people typed stay."""
    printed = []

    def keep(_template, data, _files, **_):
        printed.append(data)
        return b"%PDF"

    monkeypatch.setattr(pdf, "run_printer", keep)
    for path in PAPERS:
        client.get(path)

    assert len(printed) > 1
    assert "\n".join(_plain(unspoken_data(printed, as_is=AS_IS))) == ""


def test_no_page_in_us_units_says_what_no_catalogue_holds(client):
    """Figures are turned before a sentence is said: it is known with them too."""
    desk = client.app.state.bench.desk
    change_settings(desk, replace(desk.book.site().settings, units=US), Press(person="AB"))
    pages = [path for path in PAGES if not path.startswith(("/job/02", "/manual"))]
    told = {path: client.get(path).text for path in pages}
    plain = {text: path for path, html in told.items() for text in _plain(unspoken(html))}

    assert any(" fl oz" in html for html in told.values())
    assert "\n".join(f"{path}: {text}" for text, path in sorted(plain.items())) == ""
