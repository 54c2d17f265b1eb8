"""The trace page on what is typed wrong, on a record with a hole, on a clock that went back."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import pytest
from starlette.testclient import TestClient
from tests.fakes.disk_workshop import DiskWorkshop
from tests.fakes.workshop import AB, StandingClock, job

from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.opening import open_job
from fillwright.jobs.run import changes
from fillwright.jobs.run import stage as run
from fillwright.web.app import create_app
from fillwright.wiring.bench import open_bench

PRESS = Press(person="AB")


@pytest.fixture
def shop(tmp_path):
    """Lot L-0417, jars 1 to 6 filled before anybody told a carton, jars 7 to 9 from carton K-9."""
    clock = StandingClock()
    bench = open_bench(tmp_path / "bench.sqlite", clock=clock)
    list_person(bench.desk, AB, PRESS)
    shop = DiskWorkshop(bench, clock)
    open_job(bench.desk, job(lot_size=30, weigh_every=1), PRESS)
    shop.to_setup()
    run.start(shop.desk, shop.number, PRESS, without_proof="a test")
    shop.look_at_first()
    for _ in range(6):
        shop.off(0, purpose="dose")
    changes.take_lot(shop.desk, shop.number, "container", "K-9", PRESS)
    shop.look_at_first()
    for _ in range(3):
        shop.off(0, purpose="dose")
    shop.bench = bench
    yield shop
    bench.close()


@pytest.fixture
def client(shop):
    """A browser with initials picked."""
    with TestClient(create_app(shop.bench), base_url="http://localhost") as client:
        client.cookies.set("fw_person", "AB")
        yield client


def words_of(answer):
    """Return the words of a page, without its marks."""
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", answer.text)))


@pytest.mark.parametrize(
    ("path", "offered"),
    [
        ("/trace?code=L-0471", "/trace?code=L-0417"),
        ("/trace?code=K-8", "/trace?code=K-9"),
        ("/complaint?code=L-O417", "L-0417"),
    ],
)
def test_a_code_that_is_not_there_offers_the_nearest(client, path, offered):
    """With a link or a name, in the status of a slip; nothing is guessed."""
    answer = client.get(path)

    assert answer.status_code == 422
    assert "Nearest" in words_of(answer)
    assert offered in answer.text


@pytest.mark.parametrize("path", ["/trace.pdf?code=L-0471", "/complaint.pdf?code=L-0471"])
def test_a_print_of_a_code_that_is_not_there_says_so(client, path):
    """No empty paper comes out, and no traceback."""
    answer = client.get(path)

    assert answer.status_code == 422
    assert "Nearest: L-0417" in words_of(answer)


def test_a_recall_with_a_hole_says_where(client):
    """Jars 1 to 6 have no carton on record: the trace of K-9 names them as maybe concerned."""
    said = words_of(client.get("/trace?code=K-9"))

    assert "K-9: 3 concerned." in said
    assert "Jar 1 to 6: no carton of containers on record." in said
    assert "May be concerned too" in said
    assert "No hole in the record." not in said
    assert "Holes in the record of lot L-0417" in said


def test_a_clock_that_went_back_is_shown_as_such(client, shop):
    """Between which two moments, and that the order of entries holds; the count is not touched."""
    before = words_of(client.get("/trace?code=K-9"))
    shop.clock.at -= timedelta(hours=1)
    shop.off(0, purpose="dose")

    said = words_of(client.get("/trace?code=K-9"))

    assert "the clock went back" not in before
    assert "the clock went back" in said
    assert "the order of entries" in said
    assert "K-9: 4 concerned." in said
