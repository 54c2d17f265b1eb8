"""Cost, quote, inspector and repeat jobs over HTTP, as a browser without scripts sees them."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from tests.fakes.disk_workshop import DiskWorkshop
from tests.fakes.workshop import AB

from fillwright.jobs.catalogue import keep_thing, list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.opening import open_job
from fillwright.wiring.bench import open_bench

PRESS = Press(person="AB")


@pytest.fixture
def bench(tmp_path):
    """A bench with a released job, and the same again up to Prove."""
    bench = open_bench(tmp_path / "bench.sqlite")
    list_person(bench.desk, AB, PRESS)
    shop = DiskWorkshop(bench)
    shop.open("0412").to_released()
    keep_thing(bench.desk, shop.facts.machine, PRESS)
    shop.open("0413")._trim()
    yield bench
    bench.close()


@pytest.fixture
def press(client):
    """Send a form as a page of this browser does."""
    token = re.search(r'name="token" value="(\w+)"', client.get("/people").text).group(1)

    def pressed(path, **form):
        return client.post(path, data={"token": token, **form})

    return pressed


def test_prices_are_asked_once_and_the_page_then_tells_the_cost(client, press):
    """First the prices, then the cost; the quote rests on what is there, and says so."""
    assert "Say what things cost." in client.get("/job/0412/cost").text

    told = press("/job/0412/cost/prices", product_cost_per_kg="8,40", work_cost_per_h="36")

    assert told.status_code == 200
    assert re.search(r"One jar costs \d+\.\d\d", told.text)
    assert "No price for a 250 mL jar with its lid." in told.text
    quoted = client.get("/quote?like=0413&lots=100+400")
    assert "It rests on one earlier job: no range can be told." in quoted.text
    assert "Rests on job 0412" in quoted.text
    assert 'href="/quote.pdf?like=0413' in quoted.text
    for paper in ("/quote.pdf?like=0413&lots=100+400", "/job/0412/cost.pdf?yearly=900"):
        assert client.get(paper).content.startswith(b"%PDF")
    assert client.get("/quote.pdf?like=0413&lots=0").status_code == 422


def test_losses_are_kept_for_a_closed_job(press, bench):
    """A released lot can still be told what it lost; a slip is answered in place."""
    assert press("/job/0412/cost/losses", hopper_kg="0.6", is_trim_back="yes").status_code == 200

    wrong = press("/job/0412/cost/losses", hopper_kg="-1")

    assert wrong.status_code == 422
    assert "What stayed in the hopper cannot be -1" in wrong.text
    kept = bench.desk.book.site().losses["0412"]
    assert (str(kept.hopper_kg), kept.is_trim_back) == ("0.6", True)


@pytest.mark.parametrize("path", ["/job/9999/cost", "/quote?like=9999"])
def test_a_job_that_is_not_there_is_said(client, path):
    """In plain words, with the status of a page that is not there."""
    answer = client.get(path)

    assert answer.status_code == 404
    assert "No such job." in answer.text


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/quote?like=0412", "Nothing has a price yet"),
        ("/quote?like=0412&lots=many", "is not a number for A lot size"),
        ("/job/0413/cost", "Nothing was filled yet"),
        ("/inspector?weight=heavy&seed=3", "is not a number for The weight"),
        ("/inspector?job=9999", "There is no job 9999"),
    ],
)
def test_a_slip_is_one_clear_sentence(client, path, words):
    """Never a traceback, and never half a page."""
    assert words in client.get(path).text


def test_an_inspector_is_shown_and_printed_the_same(client):
    """The page and the paper hold the lot; the draw of the page is that of the paper."""
    page = client.get("/inspector?seed=7")

    assert page.status_code == 200
    assert "The last lot is in order." in page.text
    paper = client.get("/inspector.pdf?seed=7")
    assert (paper.status_code, paper.content[:5]) == (200, b"%PDF-")
    number = re.search(r"Fetch jar (\d+) and weigh it", page.text).group(1)
    again = client.get("/inspector?seed=7&weight=252.0")
    assert re.search(r"Fetch jar (\d+) and weigh it", again.text).group(1) != number


def test_five_shots_are_offered_and_a_repair_takes_the_offer_back(client, press):
    """The order names the kept proof; once the machine was repaired it says why there is none."""
    assert "Fill and weigh 5 jars against the kept proof." in client.get("/job/0413/prove").text

    told = press("/machines/changed", machine="East filler", change="repaired", note="new screw")

    assert "came back from repair" in told.text
    page = client.get("/job/0413/prove").text
    assert "The proof of job 0412 is a guess now." in page
    wrong = press("/machines/changed", machine="East filler", change="painted")
    assert (wrong.status_code, "pick one from the list" in wrong.text) == (422, True)


def test_a_second_market_is_asked_for_and_kept(client, bench):
    """The facts page offers the other rule sets; the job's page names both."""
    facts = bench.desk.book.job("0413").known
    open_job(
        bench.desk, replace(facts, number="0420", second_rules="US-HB133-A", lot_size=60), PRESS
    )

    assert 'name="second_rules"' in client.get("/job/0420/facts").text
    assert "EU-76/211 and US-HB133-A" in client.get("/job/0420").text
    assert "weigh every jar" in client.get("/job/0420/match").text
