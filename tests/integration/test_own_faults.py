"""A fault file of the site beside its store: used where it fits, told where it does not."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files

import pytest
from starlette.testclient import TestClient

from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.fault.learn import figures_of
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.web import create_app
from fillwright.wiring import maker, open_bench

SHIPPED = (files("fillwright.knowledge") / "data" / "service" / "faults.toml").read_text("utf-8")
OWN = SHIPPED.replace('words = "Nothing moves"', 'words = "Dead as a post"', 1)
PRESS = Press(person="AB")
PAGE = "/job/0101/fault"


@pytest.fixture
def page_with(tmp_path):
    """Opens a bench beside a fault file, and returns its Fault page and whose figures count."""
    opened = []

    def opening(text):
        (tmp_path / "faults.toml").write_text(text, encoding="utf-8")
        bench = open_bench(tmp_path / "bench.sqlite")
        opened.append(bench)
        desk = bench.desk
        change_settings(desk, maker.SETTINGS, PRESS)
        list_person(desk, maker.PEOPLE[0], PRESS)
        for thing in (*maker.PRODUCTS, *maker.CONTAINERS, *maker.MACHINES, *maker.SCALES):
            keep_thing(desk, thing, PRESS)
        facts = replace(maker.JOBS[0], number="0101", lot_code="NE-0101")
        open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), PRESS)
        match.take(desk, "0101", PRESS)
        with TestClient(create_app(bench), base_url="http://localhost") as client:
            client.cookies.set("fw_person", "AB")
            return client.get(PAGE).text, figures_of(desk).words

    yield opening
    for bench in opened:
        bench.close()


def test_a_file_of_the_site_is_what_the_page_shows(page_with):
    """Its words stand on the page, and its figures are named as its own."""
    page, figures = page_with(OWN)

    assert "<span>Dead as a post</span>" in page
    assert "<span>Nothing moves</span>" not in page
    assert "is not used" not in page
    assert figures.startswith("Figures of faults.toml")


def test_a_file_that_does_not_fit_is_told_and_the_shipped_data_work(page_with):
    """File, line and mend stand on the page, above the signs of the program's data."""
    page, figures = page_with(OWN.replace("weight = 5.0", "weight = -5.0", 1))

    assert "A file of faults is not used." in page
    assert "faults.toml, line " in page
    assert "cause.air_off.weight" in page
    assert "<span>Nothing moves</span>" in page
    assert figures.startswith("Shipped figures")
