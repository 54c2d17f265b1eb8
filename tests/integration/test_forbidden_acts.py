"""Every act that is kept for others by name, tried over HTTP by somebody who is not named."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient
from tests.fakes.disk_workshop import DiskWorkshop
from tests.fakes.workshop import AB, CD

from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press, keep_on_site
from fillwright.jobs.people import practice
from fillwright.jobs.run import stage as run
from fillwright.jobs.setup import stage as setup
from fillwright.records.codec import new_id
from fillwright.records.entries import ContainersHeld, PersonAllowed
from fillwright.records.spans import Span
from fillwright.web.app import create_app
from fillwright.wiring.bench import open_bench

AT_SETUP, AT_TRIM, AT_RUN, AT_HELD, AT_SIGNED = "0401", "0402", "0403", "0404", "0405"
PRESS = Press(person="AB")
TICKS = {f"tick_{place}": "on" for place in range(1, 9)}
FETCH = (
    "AB may not {what} at this bench: fetch CD (C. Drum), who presses under their own initials."
)
TURN, SETTLE, RELEASE = (
    FETCH.format(what=what) for what in ("turn the wheel", "settle held ones", "release a lot")
)
ACTS = (
    (AT_SETUP, "setup/done", {"step": "setting", "reading": "50"}, TURN),
    (AT_TRIM, "trim/moved", {"setting": "40", "locked": "yes"}, TURN),
    (AT_RUN, "run/adjust", {"setting": "40"}, TURN),
    (AT_HELD, "held/scrapped", {"reason": "1"}, SETTLE),
    (AT_HELD, "held/released-with-reason", {"reason": "1", "tray": "5"}, SETTLE),
    (AT_HELD, "held/topped-up", {"reason": "1"}, SETTLE),
    (AT_HELD, "held/hopper", {"reason": "1"}, SETTLE),
    (AT_HELD, "held/drum", {"reason": "1"}, SETTLE),
    (AT_HELD, "held/take-back", {}, SETTLE),
    (AT_HELD, "held/strike", {"row": "1", "reason": "wrong tray"}, SETTLE),
    (AT_HELD, "held/weigh", {"weight": "252.0", "container": "45"}, SETTLE),
    (AT_SIGNED, "release/release", {}, RELEASE),
    (AT_SIGNED, "release/close", {"reason": "not good"}, RELEASE),
)
MAY_STILL = (
    (AT_RUN, "run/hold", {"tray": "1", "reason": "2"}),
    (AT_HELD, "held/hold", {"tray": "1", "reason": "2"}),
    (AT_RUN, "run/pause", {"stop": "pause"}),
)


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """Five jobs where something is kept for CD alone."""
    bench = open_bench(tmp_path_factory.mktemp("named") / "bench.sqlite")
    for person in (AB, CD):
        list_person(bench.desk, person, PRESS)
    shop = DiskWorkshop(bench)
    shop.open(AT_SETUP).to_setup()
    while setup.look(shop.desk, shop.state).now.key != "setting":
        setup.done(shop.desk, AT_SETUP, setup.look(shop.desk, shop.state).now.key, "", PRESS)
    shop.open(AT_TRIM).to_trim()
    shop.open(AT_RUN).to_run()
    shop.off(0, basis="net")
    shop.open(AT_HELD).to_finished()
    shop.tell(ContainersHeld(first=41, last=60, reason="looked odd"))
    shop.scrap(41, 42)
    shop.open(AT_SIGNED).to_judged()
    shop.sign()
    named = PersonAllowed(initials="CD", turns=True, settles=True, releases=True)
    keep_on_site(bench.desk, [named], PRESS)
    yield bench
    bench.close()


@pytest.fixture
def press(bench):
    """Press a button of a page, as AB or as another."""
    with TestClient(create_app(bench), base_url="http://localhost") as client:
        token = re.search(r'name="token" value="(\w+)"', client.get("/people").text).group(1)

        def pressed(number, page, form, person="AB"):
            client.cookies.set("fw_person", person)
            seen = str(bench.desk.book.job(number).revision)
            data = {"token": token, "seen": seen, **TICKS, **form}
            return client.post(f"/job/{number}/{page}", data=data)

        pressed.client = client
        yield pressed


@pytest.mark.parametrize(("number", "page", "form", "told"), ACTS)
def test_who_is_not_named_is_told_whom_to_fetch_and_nothing_is_kept(
    bench, press, number, page, form, told
):
    """In one sentence on the page; the job stands where it stood."""
    before = bench.desk.book.job(number).revision

    answer = press(number, page, form)

    assert answer.status_code == 422
    assert told in answer.text
    assert bench.desk.book.job(number).revision == before


@pytest.mark.parametrize("person", ["", "AB", "XY"])
def test_a_program_may_not_settle_under_another_name(bench, press, person):
    """A good weight of a held one settles it: only under the initials that are named."""
    before = bench.desk.book.job(AT_HELD).revision
    sent = {
        "id": new_id(bench.desk.clock.now()), "value": "252.0", "basis": "net", "container": 45,
        "purpose": "held", "person": person,
    }  # fmt: skip
    press.client.cookies.clear()
    refused = press.client.post(f"/api/v1/jobs/{AT_HELD}/weighings", json=sent)

    assert (refused.status_code, refused.json()["error"]["field"]) == (422, "person")
    assert bench.desk.book.job(AT_HELD).revision == before


def test_the_list_itself_is_closed_to_others(bench, press):
    """AB names nobody, not even with the form of the page."""
    token = re.search(r'name="token" value="(\w+)"', press.client.get("/people").text).group(1)
    press.client.cookies.set("fw_person", "AB")
    answer = press.client.post("/people/allowed", data={"token": token, "turns_AB": "yes"})

    assert answer.status_code == 422
    assert RELEASE in answer.text
    assert set(bench.desk.book.site().allowed) == {"CD"}


@pytest.mark.parametrize(("number", "page", "form"), MAY_STILL)
def test_what_makes_safe_is_kept_from_nobody(bench, press, number, page, form):
    """Whoever doubts holds and stops."""
    before = bench.desk.book.job(number).revision

    assert press(number, page, form).status_code == 200
    assert bench.desk.book.job(number).revision > before


def test_who_is_named_does_it(bench, press):
    """CD turns, settles and releases."""
    press(AT_TRIM, "trim/moved", {"setting": "40", "locked": "yes"}, person="CD")
    press(AT_HELD, "held/scrapped", {"reason": "1", "tray": "5"}, person="CD")
    press(AT_SIGNED, "release/release", {}, person="CD")

    job_of = bench.desk.book.job
    assert str(job_of(AT_TRIM).setting_marks) == "40"
    assert Span(41, 50) in job_of(AT_HELD).scrapped
    assert job_of(AT_SIGNED).released.outcome == "released"


def test_in_practice_nobody_is_kept_from_anything(bench, press):
    """AB turns the wheel of a practice job."""
    number = practice.open_practice(bench.desk, AT_RUN, "water", PRESS)
    shop = DiskWorkshop(bench)
    shop.number = number
    run.start(bench.desk, number, PRESS, without_proof="a test")

    assert press(number, "run/adjust", {"setting": "40"}).status_code == 200
    assert str(bench.desk.book.job(number).setting_marks) == "40"
