"""Strip, shelf and day through the server: a browser without scripts, forms as the page draws."""

from __future__ import annotations

import hashlib
import io
import re
from dataclasses import replace

import pypdf
import pytest
from starlette.testclient import TestClient

from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.web import create_app
from fillwright.wiring import maker, open_bench

PRESS = Press(person="AB")
JOB = "0101"
PNG = b"\x89PNG\r\n\x1a\n" + bytes(20)


@pytest.fixture
def client(tmp_path):
    """A browser at a bench with one open job, and a broken profile beside the store."""
    (tmp_path / "profiles").mkdir()
    (tmp_path / "profiles" / "ours.toml").write_text("[profile]\n", encoding="utf-8")
    bench = open_bench(tmp_path / "bench.sqlite")
    change_settings(bench.desk, maker.SETTINGS, PRESS)
    for person in maker.PEOPLE:
        list_person(bench.desk, person, PRESS)
    for thing in (*maker.PRODUCTS, *maker.CONTAINERS, *maker.MACHINES, *maker.SCALES):
        keep_thing(bench.desk, thing, PRESS)
    facts = replace(maker.JOBS[0], number=JOB, lot_code=f"NE-{JOB}")
    open_job(bench.desk, replace(facts, aim_g=propose_aim(bench.desk, facts).aim_g), PRESS)
    with TestClient(create_app(bench), base_url="http://localhost") as client:
        client.cookies.set("fw_person", "AB")
        yield client
    bench.close()


def press(client, path, **form):
    """Send a form of the strip page with its token and revision; return what comes."""
    page = client.get(f"/job/{JOB}/strip").text
    token = re.search(r'name="token" value="(\w+)"', page).group(1)
    seen = re.search(r'name="seen" value="(\d+)"', page).group(1)
    return client.post(path, data={"token": token, "seen": seen, **form})


def test_a_strip_goes_on_step_by_step(client):
    """Begin, give the evidence, and see the next step; the gate asks before hands go in."""
    profile = "Piston filler, general"
    assert "Run the hopper empty" in press(client, f"/job/{JOB}/strip/begin", profile=profile).text
    assert "Write down indicator" in press(client, f"/job/{JOB}/strip/tick", step="empty").text
    bare = press(client, f"/job/{JOB}/strip/tick", step="note_settings")
    assert (bare.status_code, "Take the photo" in bare.text) == (422, True)
    press(client, f"/job/{JOB}/strip/tick", step="note_settings", photo="tablet, 1")
    press(client, f"/job/{JOB}/strip/tick", step="park")

    gate = press(client, f"/job/{JOB}/strip/tick", step="isolate", reading="0")
    assert (gate.status_code, "Look first, then tick" in gate.text) == (422, True)
    ticks = {"tick_1": "yes", "tick_2": "yes"}
    opened = press(client, f"/job/{JOB}/strip/tick", step="isolate", reading="0", **ticks)
    assert "Take off nozzle" in opened.text
    assert "tick_1" not in opened.text


def test_a_photo_is_the_evidence_of_a_step(client):
    """Taken on its page, shown with the step and on its row, named on the print's record."""
    press(client, f"/job/{JOB}/strip/begin", profile="Piston filler, general")
    strip = client.get(f"/job/{JOB}/strip?step=note_settings").text
    address = f"/job/{JOB}/photo"
    assert f'href="{address}?step=note_settings" data-start>Take the photo' in strip
    page = client.get(f"{address}?step=note_settings").text
    token = re.search(r'name="token" value="(\w+)"', page).group(1)
    data = {"token": token, "step": "note_settings"}
    bad = client.post(address, data=data, files={"file": ("x.png", b"no photo at all, no")})
    none = client.post(address, data={"token": token, "step": "x"}, files={"file": ("x.png", PNG)})
    back = client.post(address, data=data, files={"file": ("x.png", PNG)})
    sha256 = hashlib.sha256(PNG).hexdigest()

    assert (bad.status_code, "That is no photo" in bad.text) == (422, True)
    assert (none.status_code, "That step is none of the strip" in none.text) == (404, True)
    assert f'src="/photo/{sha256}"' in back.text
    done = press(client, f"/job/{JOB}/strip/tick", step="note_settings")
    assert f'<a href="/photo/{sha256}" target="_blank">Photo 1</a>' in done.text
    pages = pypdf.PdfReader(io.BytesIO(client.get(f"/job/{JOB}/strip.pdf").content)).pages
    printed = "".join(page.extract_text() for page in pages)
    assert f"SHA-256 {sha256[:12]}" in " ".join(printed.replace("\u200b", "").split())


def test_a_photo_of_a_fault_is_kept_with_its_search(client):
    """None before something was seen; then it is shown on the page of the photo."""
    address = f"/job/{JOB}/photo"
    page = client.get(f"{address}?fault=1").text
    token = re.search(r'name="token" value="(\w+)"', page).group(1)
    data = {"token": token, "fault": "1"}
    early = client.post(address, data=data, files={"file": ("x.png", PNG)})
    press(client, f"/job/{JOB}/fault", sign="nothing-moves")
    kept = client.post(address, data=data, files={"file": ("x.png", PNG)})

    assert (early.status_code, "No fault was looked for" in early.text) == (422, True)
    assert kept.status_code == 200
    assert "Photo for the technician" in kept.text
    assert hashlib.sha256(PNG).hexdigest() in client.get(f"{address}?fault=1").text


def test_a_step_that_is_not_open_is_refused(client):
    """A step of later, or of no profile, changes nothing."""
    press(client, f"/job/{JOB}/strip/begin", profile="Piston filler, general")

    for step in ("hopper_off", "<b>", ""):
        answer = press(client, f"/job/{JOB}/strip/tick", step=step)
        assert answer.status_code == 422
        assert "not open now" in answer.text
    wrong = press(client, f"/job/{JOB}/strip/seal", position="x", state="good", action="kept")
    assert (wrong.status_code, "no seal" in wrong.text) == (422, True)


def test_a_broken_profile_is_told_and_the_shipped_one_works(client):
    """The page names the file and its line, and still offers the shipped profile."""
    page = client.get(f"/job/{JOB}/strip").text

    assert "ours.toml, line 1" in page
    assert "Piston filler, general" in page


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/shelf", 200),
        ("/shelf?next_job=many", 422),
        ("/shelf?ratio=0", 422),
        ("/shelf?service=99.9", 200),
        ("/day", 200),
        (f"/day?minutes-{JOB}=45&due_min-{JOB}=10", 200),
        (f"/day?minutes-{JOB}=soon", 422),
        ("/day?apart=nut", 422),
        ("/day?lateness=-1", 422),
    ],
)
def test_shelf_and_day_answer_what_is_typed(client, path, status):
    """What can be reckoned is shown, and what cannot is said on the page."""
    assert client.get(path).status_code == status


def test_a_lot_is_put_on_the_shelf(client):
    """A lot is listed with its shelf date; a date that is none is refused on the page."""
    lot = {"seal_lot": "B-7", "material": "FKM", "size": "224", "pieces": "6"}
    assert press(client, "/shelf", cured_on="yesterday", **lot).status_code == 422

    page = press(client, "/shelf", cured_on="2026-03-31", **lot).text
    assert "B-7" in page
    assert "until 2036-03-31" in page


def test_a_lot_of_another_material_asks_for_a_tick(client):
    """The strip offers what is on the shelf; another material is one question with its tick."""
    lot = {"seal_lot": "S-EP-3", "material": "EPDM", "size": "012", "pieces": "6"}
    press(client, "/shelf", cured_on="2026-03-31", **lot)
    press(client, f"/job/{JOB}/strip/begin", profile="Piston filler, general")
    for step in ("empty", "note_settings", "park", "isolate", "nozzle_off"):
        ticks = {"tick_1": "yes", "tick_2": "yes", "reading": "0", "photo": "tablet, 1"}
        page = press(client, f"/job/{JOB}/strip/tick", step=step, **ticks)
    assert '<option value="S-EP-3">EPDM 012</option>' in page.text
    assert "Fit it all the same" not in page.text
    offered = re.search(r'<select id="position".*?</select>', page.text, re.DOTALL).group(0)
    position = re.search(r'value="(suck-back pin|gooseneck clamp)"', offered).group(1)
    seal = {
        "position": position, "state": "worn", "action": "replaced", "reason": "due",
        "seal_lot": "s-ep-3",
    }  # fmt: skip

    asked = press(client, f"/job/{JOB}/strip/seal", **seal)
    assert asked.status_code == 422
    assert f"is EPDM, but {position} asks for" in asked.text
    assert "Fit it all the same" in asked.text
    kept = press(client, f"/job/{JOB}/strip/seal", seal_lot_confirmed="yes", **seal)
    assert (kept.status_code, "Worn, replaced" in kept.text) == (200, True)
