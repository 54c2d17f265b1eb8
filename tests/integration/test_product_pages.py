"""A product on its form: described in each way, asked about, drawn, and kept."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from starlette.testclient import TestClient

from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Press
from fillwright.web import create_app
from fillwright.wiring import maker, open_bench

PRESS = Press(person="AB")
TYPED = {
    "product_pick": "",
    "product_name": "Night cream",
    "density_g_per_ml": "0.96",
    "runs_like": "cream",
    "container_pick": maker.CONTAINERS[3].name,
    "machine_pick": maker.MACHINES[1].name,
    "scale_pick": maker.SCALES[0].name,
    "nominal": "250",
    "unit": "mL",
    "lot_code": "NC-1",
    "lot_size": "120",
    "tray_size": "12",
    "rules": "EU-76/211",
}
POINTS = {"flow_way": "points", "point_c_1": "20", "point_v_1": "350"}


@pytest.fixture
def bench(tmp_path):
    """A bench where the invented maker's things are kept, without a job."""
    bench = open_bench(tmp_path / "bench.sqlite")
    desk = bench.desk
    change_settings(desk, maker.SETTINGS, PRESS)
    for person in maker.PEOPLE:
        list_person(desk, person, PRESS)
    for thing in (*maker.PRODUCTS, *maker.CONTAINERS, *maker.MACHINES, *maker.SCALES):
        keep_thing(desk, thing, PRESS)
    yield bench
    bench.close()


@pytest.fixture
def send(bench):
    """Sends the form of a new job, and follows where it leads."""
    with TestClient(create_app(bench), base_url="http://localhost") as client:
        client.cookies.set("fw_person", "AB")
        page = client.get("/people").text
        token = re.search(r'name="token" value="(\w+)"', page).group(1)

        def post(path="/jobs/new", **typed):
            return client.post(path, data={"token": token, **TYPED, **typed})

        post.get = client.get
        yield post


def test_measured_viscosities_draw_a_curve_and_are_kept(bench, send):
    """Two points: the aim page shows the curve, and the job keeps what was typed."""
    typed = {**POINTS, "point_c_2": "40", "point_v_2": "120", "tension": "30"}

    look = send(**typed)
    done = send(what="open", aim_g="241", **typed)

    assert look.status_code == 200
    assert "from 2 measured viscosities" in look.text
    assert 'class="draw chart flow-plot"' in look.text
    assert done.status_code == 200
    flow = bench.desk.book.job("0001").known.product.flow
    assert [str(p.viscosity_mpa_s) for p in flow.points] == ["350", "120"]
    assert (flow.way, flow.preset, str(flow.tension_mn_per_m)) == ("points", "cream", "30")


def test_what_is_assumed_is_said_with_how_much_it_matters(send):
    """Nothing measured: the middle figure, its range, and what it would change."""
    page = send().text

    assert "Not measured. Taken as lotion" in page
    assert "times thicker, and so may every time and pressure be" in page


def test_a_viscosity_in_pascal_seconds_is_asked_about(send):
    """0.035 typed for 35 mPa s: asked, and taken once it is said to be meant."""
    typed = {**POINTS, "point_v_1": "0.035"}

    asked = send(**typed)
    meant = send(**typed, units_sure="yes")

    assert asked.status_code == 422
    assert "Did you mean 35 mPa s (0.035 Pa s)?" in asked.text
    assert meant.status_code == 200


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"flow_way": "points"}, "Type at least one row"),
        ({"flow_way": "points", "point_c_1": "20"}, "The viscosity of row 1 is missing"),
        ({"flow_way": "cup", "cup": "another cup", "cup_s": "60"}, "two speeds or more"),
        ({"flow_way": "cup", "cup": "4 mm", "cup_s": "10"}, "The time of the cup cannot be 10"),
        ({"flow_way": "guess"}, "Choose how its thickness is known"),
        ({"media_1": "soup"}, "Choose what is in it"),
        ({"weighed_ml": "1000", "weighed_g": "96.2"}, "would be 0.0962 g/mL"),
        ({"density_g_per_ml": "960"}, "Did you mean 0.96 g/mL?"),
    ],
)
def test_a_slip_is_answered_with_what_to_do(send, typed, told):
    """A field that cannot be is named, and what was typed stays."""
    page = send(**typed)

    assert page.status_code == 422
    assert told in page.text
    assert 'value="Night cream"' in page.text


def test_a_known_volume_that_was_weighed_gives_the_density(bench, send):
    """96.2 g in 100 mL: the density with the air put back, and what it was weighed with."""
    send(what="open", aim_g="241", density_g_per_ml="", weighed_ml="100", weighed_g="96.2")

    product = bench.desk.book.job("0001").known.product
    assert product.density_g_per_ml == Decimal("0.9631")
    assert product.weighed.net_g == Decimal("96.2")
    assert not product.is_apparent


def test_readings_of_a_viscometer_and_a_cup_are_kept(bench, send):
    """The two other ways of knowing how thick it is."""
    readings = {"flow_way": "readings", "rate_1": "1", "read_v_1": "30000", "rate_2": "100",
                "read_v_2": "900", "readings_c": "20", "media_1": "surfactant"}  # fmt: skip
    send(what="open", aim_g="241", **readings)
    send(what="open", aim_g="241", flow_way="cup", cup="6 mm", cup_s="55", runs_like="honey")

    one, two = (bench.desk.book.job(n).known.product for n in ("0001", "0002"))
    assert (len(one.flow.readings), one.media) == (2, ("surfactant",))
    assert (two.flow.cup.orifice, two.flow.preset) == ("6 mm", "honey")


def test_more_known_of_a_product_opens_match_alone(bench, send):
    """A figure measured later is typed on the facts page; trim and proof stand."""
    send(what="open", aim_g="241")
    page = send.get("/job/0001/facts").text
    kept = {"product_pick": "Night cream", "aim_g": "241", **POINTS}
    changed = send("/job/0001/facts", **kept)

    assert "How thick it is taken to be" in page
    assert changed.status_code == 200
    state = bench.desk.book.job("0001")
    assert state.known.product.flow.way == "points"
    assert set(state.reopened) <= {"match"}
