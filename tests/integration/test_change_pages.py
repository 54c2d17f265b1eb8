"""Changes, the look, photos and the kept sample over HTTP, as a browser without scripts."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press, keep_on_site
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.first_jar import KEYS
from fillwright.jobs.run.weigh import weigh
from fillwright.records.capture import Capture
from fillwright.records.entries import PersonAllowed
from fillwright.wiring import maker
from fillwright.wiring.bench import open_bench

JOB = "0101"
PRESS = Press(person="AB")
PNG = b"\x89PNG\r\n\x1a\n" + bytes(20)
RIGHT = {f"look_{key}": "right" for key in KEYS}


@pytest.fixture
def bench(tmp_path):
    """A bench with one run started, without a proof."""
    bench = open_bench(tmp_path / "bench.sqlite")
    for person in maker.PEOPLE:
        list_person(bench.desk, person, PRESS)
    facts = replace(maker.JOBS[0], number=JOB, lot_code=f"NE-{JOB}", lot_size=500)
    facts = replace(facts, aim_g=propose_aim(bench.desk, facts).aim_g, band_pct=Decimal(3))
    open_job(bench.desk, facts, PRESS)
    match.take(bench.desk, JOB, PRESS)
    run.start(bench.desk, JOB, PRESS, without_proof="a test")
    yield bench
    bench.close()


@pytest.fixture
def press(client, bench):
    """Press a button of a page of the job."""
    token = re.search(r'name="token" value="(\w+)"', client.get("/people").text).group(1)

    def pressed(page, **form):
        seen = str(bench.desk.book.job(JOB).revision)
        data = {"token": token, "seen": seen, **form}
        return client.post(f"/job/{JOB}/{page}", data=data)

    pressed.token = token
    return pressed


def lots(bench):
    """Cartons, drums and looks of the job."""
    return bench.desk.book.job(JOB).lots


def test_the_start_asks_for_the_look(press, client, bench):
    """Nine boxes; what is not ticked asks what is wrong; a skip needs its reason."""
    page = client.get(f"/job/{JOB}/run").text
    assert page.count('name="look_') == 9

    asked = press("run/first-look", **{k: v for k, v in RIGHT.items() if k != "look_leak"})
    assert asked.status_code == 422
    assert "Leak: tick it, or say what is wrong" in asked.text
    assert 'name="why_leak"' in asked.text
    assert press("run/skip-look", reason="").status_code == 422

    press("run/first-look", **RIGHT)
    assert lots(bench).looks[0].fact.is_right


def test_carton_drum_and_lids_are_taken(press, client, bench):
    """Each by its own button; the page says what the next one is filled from."""
    press("run/first-look", **RIGHT)
    assert "Type the lot code" in press("run/new-container", code="").text
    press("run/new-container", code="K-2")
    for value in ("31.1", "31.2", "31.0", "31.3", "31.1"):
        press("run/weigh-empty", weight=value)
    press("run/first-look", **RIGHT)
    assert "type the density" in press("run/new-drum", code="D-2").text
    density = bench.desk.book.job(JOB).known.product.density_g_per_ml
    press("run/new-drum", code="D-2", density_g_per_ml=str(density + Decimal("0.002")))
    press("run/first-look", **RIGHT)
    press("run/new-lid", code="L-2")

    page = client.get(f"/job/{JOB}/run").text

    for words in ("Carton K-2", "Drum D-2", "Lids L-2", "31.14 g, of 5 weighed"):
        assert words in page


def test_a_carton_without_empties_needs_a_reason(press, bench):
    """The tare goes on, and the record says why."""
    press("run/new-container", code="K-2")
    assert press("run/keep-tare", reason="").status_code == 422
    press("run/keep-tare", reason="same mould")

    assert lots(bench).carton_due is None


def test_another_person_is_who_presses_from_then_on(press, client, bench):
    """The browser knows them; one who is nobody is refused."""
    press("run/first-look", **RIGHT)
    assert press("run/person", initials="XY").status_code == 422
    client.follow_redirects = False
    answer = press("run/person", initials="CD")

    assert "fw_person=CD" in answer.headers["set-cookie"]
    assert lots(bench).people[0].fact.now == "CD"


def test_a_photo_is_kept_and_shown(press, client, bench):
    """By its hash; what is no photo is refused on the page."""
    address = f"/job/{JOB}/photo"
    data = {"token": press.token}
    assert "A photo of bottle 1" in client.get(address).text
    bad = client.post(address, data=data, files={"file": ("x.png", b"no photo at all, no")})
    client.post(address, data=data, files={"file": ("x.png", PNG)})

    told = lots(bench).photos[0]

    assert bad.status_code == 422
    assert "That is no photo" in bad.text
    assert (told.container, told.media_type) == (1, "image/png")
    shown = client.get(f"/photo/{told.sha256}")
    assert (shown.content, shown.headers["content-type"]) == (PNG, "image/png")
    assert client.get("/photo/" + "0" * 64).status_code == 404


def test_the_codes_are_asked_when_a_job_is_opened(client):
    """Optional there; the trace finds them."""
    page = client.get("/jobs/new").text
    assert "a trace ends there" in page
    for field in ("lot_container", "lot_lid", "lot_drum", "lot_batch"):
        assert f'name="{field}"' in page
    trace = client.get(f"/trace?code=NE-{JOB}").text
    assert "Nothing of it is filled yet" in trace
    assert client.get("/trace?code=nothing-like-it").status_code == 422
    assert client.get("/trace.pdf?code=nothing-like-it").status_code == 422
    assert client.get(f"/complaint?code=NE-{JOB}&container=9").status_code == 422


def test_a_program_waits_for_the_look_as_the_page_does(client, bench, press):
    """Its weight is refused in one sentence, and kept under the same id once that was done."""
    sent = {"id": "01e1b0c0-0000-7000-8000-000000000001", "value": "295.0", "basis": "net"}
    refused = client.post(f"/api/v1/jobs/{JOB}/weighings", json=sent)

    error = refused.json()["error"]
    assert (refused.status_code, error["field"]) == (422, "look")
    assert error["message"].startswith("Bottle 1 is the first since the run starts: look at it")
    assert len(bench.desk.book.job(JOB).weighings) == 0
    spoilt = {**sent, "id": sent["id"][:-1] + "2", "set_aside": "it fell"}
    assert client.post(f"/api/v1/jobs/{JOB}/weighings", json=spoilt).status_code == 200

    press("run/first-look", **RIGHT)
    kept = client.post(f"/api/v1/jobs/{JOB}/weighings", json=sent)

    assert (kept.status_code, kept.json()["repeat"]) == (200, False)
    assert client.post(f"/api/v1/jobs/{JOB}/weighings", json=sent).json()["repeat"] is True


def test_who_settles_is_asked_of_programs_too(client, bench, press):
    """Another one is named: a weight that would settle is refused, and nothing is kept."""
    press("run/first-look", **RIGHT)
    desk = bench.desk
    weigh(desk, JOB, _capture("0", 1, set_aside="it fell"), PRESS, purpose="dose")
    run.finish(desk, JOB, 1, PRESS, reason="a test")
    assert desk.book.job(JOB).open_spans
    named = PersonAllowed(initials="CD", turns=False, settles=True, releases=False)
    keep_on_site(desk, [named], PRESS)
    before = desk.book.job(JOB).revision
    sent = {"id": "01e1b0c0-0000-7000-8000-00000000000a", "value": "300.0", "basis": "net"}

    for person in ("", "AB"):
        refused = client.post(f"/api/v1/jobs/{JOB}/weighings", json={**sent, "person": person})
        assert (refused.status_code, refused.json()["error"]["field"]) == (422, "person")
    assert desk.book.job(JOB).revision == before
    kept = client.post(f"/api/v1/jobs/{JOB}/weighings", json={**sent, "person": "CD"})
    assert (kept.status_code, kept.json()["purpose"]) == (200, "held")


def _capture(value, number, **more):
    """A weight of one container as the scale shows it, net."""
    return Capture(
        weighing_id=f"01e1b0c0-0000-7000-8000-1{number:011d}",
        value=Decimal(value),
        basis="net",
        container=number,
        source="typed",
        **more,
    )
