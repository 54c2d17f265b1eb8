"""The Run page over HTTP, as a browser without scripts: watch, scale, hopper, strike, Fault."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import weigh
from fillwright.records.capture import Capture
from fillwright.records.codec import new_id
from fillwright.wiring import maker
from fillwright.wiring.bench import open_bench

JOB = "0101"
PRESS = Press(person="AB")


@pytest.fixture
def bench(tmp_path):
    """A bench with one job, its parts taken."""
    bench = open_bench(tmp_path / "bench.sqlite")
    for person in maker.PEOPLE:
        list_person(bench.desk, person, PRESS)
    facts = replace(maker.JOBS[0], number=JOB, lot_size=5000, weigh_every=5)
    facts = replace(facts, aim_g=propose_aim(bench.desk, facts).aim_g, band_pct=Decimal(3))
    open_job(bench.desk, facts, PRESS)
    match.take(bench.desk, JOB, PRESS)
    yield bench
    bench.close()


@pytest.fixture
def press(client, bench):
    """Press a button of the Run page."""
    token = re.search(r'name="token" value="(\w+)"', client.get("/people").text).group(1)

    def pressed(what, **form):
        seen = str(bench.desk.book.job(JOB).revision)
        return client.post(f"/job/{JOB}/run/{what}", data={"token": token, "seen": seen, **form})

    return pressed


@pytest.fixture
def running(bench):
    """The run started, without a proof."""
    run.start(bench.desk, JOB, PRESS, without_proof="a test")
    firstjar.look_at_first(bench.desk, JOB, dict.fromkeys(firstjar.KEYS), PRESS)
    return bench


def fill(bench, off, n=40):
    """Weigh a row that lies as `off` says, with seeded scatter."""
    facts = bench.desk.book.job(JOB).known
    scatter = np.random.default_rng(4).normal(0, 0.5, n)
    for place in range(n):
        value = Decimal(str(round(float(facts.aim_g) + scatter[place] + off(place), 1)))
        capture = Capture(
            weighing_id=new_id(bench.desk.clock.now()),
            value=value + facts.container.tare_g,
            source="http",
        )
        weigh(bench.desk, JOB, capture, PRESS, purpose="dose")


def test_the_start_offers_four_ways_and_keeps_the_one_picked(client, press, bench):
    """Each with its run length in words; the usual one is picked beforehand."""
    page = client.get(f"/job/{JOB}/run").text
    assert page.count('name="watch"') == 4
    assert "A false alarm once in 223 weights" in page

    press("start-run", watch="average", reason="a test", tick_1="yes")

    assert bench.desk.book.job(JOB).watch_way.way == "average"


def test_a_creep_asks_for_the_level_and_hands_its_sign_to_fault(client, press, running):
    """The note names it, asks, opens "why?", and every way to Fault has it picked."""
    fill(running, lambda place: -0.05 * place)

    page = client.get(f"/job/{JOB}/run").text

    assert "a creep or a dose that follows the hopper level" in page
    assert 'name="level"' in page
    assert page.count("sign=creeps") == 2
    assert 'id="why-sign"' in page
    assert press("hopper", level="31,5").status_code == 200
    assert running.desk.book.job(JOB).run.levels[0].value == Decimal("31.5")


def test_two_at_once_are_both_on_the_page_and_on_the_record(client, running):
    """A step with scatter that grows: one breath names both; the record keeps both."""
    wild = np.random.default_rng(4).normal(0, 1.5, 60)
    fill(running, lambda place: 0.0 if place < 30 else 1.8 + wild[place], n=60)

    page = client.get(f"/job/{JOB}/run").text

    assert "a step and growing scatter" in page
    seen = running.desk.book.job(JOB).signatures_seen[-1]
    assert set(seen.kinds) == {"step", "scatter"}
    assert seen.is_at_once


def test_to_fault_with_what_was_seen(client, press, running):
    """Stopping because something is wrong leads to Fault with the sign in the address."""
    fill(running, lambda place: -0.05 * place)

    client.follow_redirects = False
    answer = press("pause", stop="fault")

    assert answer.headers["location"].endswith("&sign=creeps")


def test_a_failed_check_of_the_scale_stops_the_weighing(press, running):
    """The page orders the check again and takes no weight; a good one lets it go on."""
    fill(running, lambda _: 0.0, n=6)

    page = press("check-scale", reading="150").text

    assert "Check the weighing scale again" in page
    assert 'name="weight"' not in page
    good = str(running.desk.book.job(JOB).known.scale.check_weight_g)
    restart = press("check-scale", reading=good).text
    assert "since the run was stopped for a fault" in restart
    assert "It goes on with a look at the next one." in restart
    ticks = {f"look_{key}": "right" for key in firstjar.KEYS}
    assert 'name="weight"' in press("first-look", **ticks).text


@pytest.mark.parametrize(
    ("what", "form", "words"),
    [
        ("check-scale", {"reading": "x"}, "What the scale shows"),
        ("hopper", {"level": ""}, "The level in the hopper is missing"),
        ("strike", {"struck": "77", "reason": "spilled"}, "No weight of bottle 77 counts"),
        ("strike", {"struck": "1", "reason": ""}, "Say why the weight is struck out"),
    ],
)
def test_a_slip_is_told_where_it_was_made(press, running, what, form, words):
    """One sentence, on the page, nothing kept."""
    fill(running, lambda _: 0.0, n=1)
    before = running.desk.book.job(JOB).revision

    answer = press(what, **form)

    assert (answer.status_code, words in answer.text) == (422, True)
    assert running.desk.book.job(JOB).revision == before


def test_a_weight_is_struck_out_by_its_number(press, running):
    """It counts no more; the page says beforehand what becomes of signals and holds."""
    fill(running, lambda _: 0.0, n=3)

    page = press("strike", struck="2", reason="wrong bottle").text

    assert 2.0 not in running.desk.book.job(JOB).run.all_containers
    assert "A signal that it raised is withdrawn" in page


def test_why_opens_numbers_assumptions_and_source(client, running):
    """Behind the orders: the watch, what the last check would have shown, where it is from."""
    fill(running, lambda _: 0.0, n=12)

    page = client.get(f"/job/{JOB}/run").text

    why = page[page.index('id="why-run"') :]
    for words in ("would have shown", "one in 223 weights", "Taken for granted", "Source: "):
        assert words in why


class TestHowOften:
    """One in how many to weigh: a page of the run."""

    def test_the_start_of_the_run_leads_to_it(self, client):
        """From "How this run is watched"; what it hangs on can be changed."""
        assert f"/job/{JOB}/often" in client.get(f"/job/{JOB}/run").text
        page = client.get(f"/job/{JOB}/often").text

        assert re.search(r"Weigh one in \d+, not one in 5\.", page)
        assert "expected, not proved yet" in page

    def test_one_press_takes_it(self, bench, client):
        """The job's number changes, with its reason, and the page leads back to the run."""
        page = client.get(f"/job/{JOB}/often").text
        form = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page))
        answer = client.post(f"/job/{JOB}/often/set", data=form, follow_redirects=False)

        assert answer.status_code == 303
        assert answer.headers["location"] == f"/job/{JOB}/run"
        assert bench.desk.book.job(JOB).known.weigh_every == int(form["every"])
        assert "is right." in client.get(f"/job/{JOB}/often").text

    @pytest.mark.parametrize(
        ("query", "words"),
        [
            ("weighing=much", "is not a number"),
            ("weighing=0", "What a weighing costs cannot be 0. Type more than 0."),
            ("weighing=nan", "a number"),
            ("between=2.5", "Type a whole number"),
            ("most=1", "Weighing every one lets more than that pass"),
        ],
    )
    def test_what_cannot_be_is_told_beside_its_field(self, client, query, words):
        """And the usual plan stands meanwhile."""
        page = client.get(f"/job/{JOB}/often?{query}").text

        assert words in page
        assert "Weigh one in" in page

    def test_a_number_beyond_the_lot_is_refused(self, bench, client):
        """One in nought, or in more than there are."""
        page = client.get(f"/job/{JOB}/often").text
        form = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page))
        for every in ("0", "5001", "x"):
            answer = client.post(f"/job/{JOB}/often/set", data={**form, "every": every})
            assert answer.status_code == 422
        assert bench.desk.book.job(JOB).known.weigh_every == 5
