"""The pages of the technician: enquiries and trial fills, by forms as the pages draw them."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Press
from fillwright.web import create_app
from fillwright.wiring import maker, open_bench

PRESS = Press(person="AB")
CREAM = {
    "product_name": "Bee balm",
    "density_g_per_ml": "0.95",
    "product_c": "62",
    "runs_like": "cream",
    "container_name": "60 mL tin",
    "dose_ml": "60",
    "brim_ml": "66",
    "mouth_mm": "55",
}


@pytest.fixture
def client(tmp_path):
    """A browser without scripts at a bench with two machines and no job."""
    bench = open_bench(tmp_path / "bench.sqlite")
    change_settings(bench.desk, maker.SETTINGS, PRESS)
    for person in maker.PEOPLE:
        list_person(bench.desk, person, PRESS)
    for thing in (*maker.MACHINES, *maker.SCALES):
        keep_thing(bench.desk, thing, PRESS)
    with TestClient(create_app(bench), base_url="http://localhost") as client:
        client.cookies.set("fw_person", "AB")
        yield client
    bench.close()


@pytest.fixture
def send(client):
    """Sends a form to its own page."""

    def sending(page, **form):
        token = re.search(r'name="token" value="(\w+)"', client.get(page).text).group(1)
        return client.post(page, data={"token": token, **form})

    return sending


def test_an_enquiry_is_held_against_both_machines_and_printed(client, send):
    """The hot caution stands above, both machines are told, the sheet is a PDF."""
    page = send("/enquiry", **CREAM, who="<b>somebody</b>")

    assert page.url.path == "/enquiry/1"
    assert "62 °C. Gloves and sleeve" in page.text
    assert "East filler" in page.text
    assert "West filler" in page.text
    assert "&lt;b&gt;somebody" in page.text
    assert client.get("/enquiry/1/sheet.pdf").content.startswith(b"%PDF")
    assert "Bee balm" in client.get("/enquiry").text


def test_an_enquiry_keeps_what_was_typed_where_something_is_wrong(client, send):
    """One sentence at the field, and the rest is still there."""
    refused = send("/enquiry", **{**CREAM, "dose_ml": "700"})

    assert refused.status_code == 422
    assert "brims at" in refused.text
    assert 'value="Bee balm"' in refused.text
    assert client.get("/enquiry/1").status_code == 404
    assert client.get("/enquiry/1/sheet.pdf").status_code == 404


def test_a_trial_fill_is_kept_and_printed(client, send):
    """Weights in a row, with a point or a comma; what is none is named."""
    form = {"machine": "bench:East filler", "filled_with": "water", "asked_g": "250"}
    wrong = send("/trial", **form, nets="250.1 x 250")
    assert (wrong.status_code, "no weight" in wrong.text) == (422, True)

    page = send("/trial", **form, nets="250.1 249,8;250.4", note="a drop after each")
    assert page.url.path == "/trial/1"
    assert "Mean of 3 shots: 250.10 g" in page.text
    assert "a drop after each" in page.text
    assert client.get("/trial/1/sheet.pdf?paper=letter").content.startswith(b"%PDF")
    assert (
        client.get("/trial/7").status_code == client.get("/trial/7/sheet.pdf").status_code == 404
    )
