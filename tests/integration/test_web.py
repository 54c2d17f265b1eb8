"""The server in this process: who may talk to it, what it answers, what it refuses."""

from __future__ import annotations

import hashlib
import json
import re
import sys
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fillwright.errors import BadInput
from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import change_facts, next_number, open_job, propose_aim
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import weigh
from fillwright.questions import names
from fillwright.records.capture import Capture
from fillwright.records.codec import new_id
from fillwright.records.entities import JobFacts
from fillwright.web import create_app, render
from fillwright.web.pages.manual import HELP
from fillwright.wiring import maker, open_bench

PRESS = Press(person="AB")
JOB = "0101"


def _facts(number: str) -> JobFacts:
    """The invented cordial as a job."""
    return replace(maker.JOBS[0], number=number, lot_code=f"NE-{number}")


@pytest.fixture
def bench(tmp_path):
    """A bench with one open job, on a journal of its own."""
    bench = open_bench(tmp_path / "bench.sqlite")
    desk = bench.desk
    change_settings(desk, maker.SETTINGS, PRESS)
    for person in maker.PEOPLE:
        list_person(desk, person, PRESS)
    for thing in (*maker.PRODUCTS, *maker.CONTAINERS, *maker.MACHINES, *maker.SCALES):
        keep_thing(desk, thing, PRESS)
    facts = _facts(JOB)
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), PRESS)
    yield bench
    bench.close()


@pytest.fixture
def token(client) -> str:
    """What the forms of this browser carry."""
    page = client.get("/people").text
    return re.search(r'name="token" value="(\w+)"', page).group(1)


@pytest.fixture
def running(bench):
    """The job with its run started, without a proof."""
    match.take(bench.desk, JOB, PRESS)
    run.start(bench.desk, JOB, PRESS, without_proof="a test")
    firstjar.look_at_first(bench.desk, JOB, dict.fromkeys(firstjar.KEYS), PRESS)
    return bench


def _weight(bench, value: str = "320.1", **more: object) -> dict[str, object]:
    """A weight as a program sends it."""
    return {"id": new_id(bench.desk.clock.now()), "value": value, "unit": "g", **more}


# -- the guard ---------------------------------------------------------------------------


def test_every_answer_carries_the_strict_policy(client):
    """Pages, files and refusals alike may load from this server only."""
    for path in ("/", "/static/page.css", "/nothing", f"/job/{JOB}/match", "/api/v1/nothing"):
        policy = client.get(path).headers["content-security-policy"]

        assert policy.startswith("default-src 'self';")


def test_another_host_name_is_refused(client):
    """A page elsewhere that points its name at this machine gets nothing."""
    answer = client.get("/", headers={"host": "bench.example.org"})

    assert answer.status_code == 421
    assert "Job" not in answer.text


@pytest.mark.parametrize("host", ["localhost:8420", "127.0.0.1", "[::1]:8420", "192.0.2.7:80"])
def test_a_name_of_this_machine_is_answered(client, host):
    """Names of the machine itself and bare addresses are answered."""
    assert client.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"origin": "http://bench.example.org"},
        {"origin": "null"},
    ],
)
def test_a_press_from_another_page_is_refused(client, token, headers):
    """A state-changing request from elsewhere keeps nothing, even with the right token."""
    answer = client.post("/people", data={"token": token, "pick": "CD"}, headers=headers)

    assert answer.status_code == 403


def test_a_form_without_the_token_keeps_nothing(client, bench):
    """The token of this browser is asked for; the page says what to do."""
    answer = client.post(f"/job/{JOB}/match/take", data={"token": "0" * 32})

    assert answer.status_code == 403
    assert "Nothing was kept." in answer.text
    assert bench.desk.book.job(JOB).match is None


def test_the_pages_of_the_framework_are_off(client):
    """The ready-made pages that load scripts from outside hosts are not there."""
    assert client.get("/docs").status_code == 404
    assert client.get("/redoc").status_code == 404


def test_a_huge_body_is_refused(client):
    """A body beyond the limit is refused before it is read."""
    answer = client.post("/people", content=b"", headers={"content-length": "999999999"})

    assert answer.status_code == 413


def test_a_body_without_end_is_refused(client):
    """A body that does not state its length is cut off at the same limit."""
    pieces = (b" " * 100_000 for _ in range(60))

    assert client.post("/api/v1/ask/shortage", content=pieces).status_code == 413


def test_a_revision_of_other_signs_is_none(client, token):
    """A raised two, or a number without end, is no revision that a page had before it."""
    for seen in ("\u00b2", "9" * 5000):
        answer = client.post(f"/job/{JOB}/match/take", data={"token": token, "seen": seen})

        assert answer.status_code in (200, 303)


# -- pages -------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/nothing", "/job/9999", "/job/9999/run", "/job/9999/fault"])
def test_what_is_not_there_is_said_in_plain_words(client, path):
    """An unknown page or job is answered with words and the way back, never a traceback."""
    answer = client.get(path)

    assert answer.status_code == 404
    assert "Job list" in answer.text
    assert "Traceback" not in answer.text


@pytest.mark.parametrize(
    "stage",
    ["match", "setup", "trim", "prove", "run", "held", "release", "strip", "fault", "facts"],
)
def test_no_stage_is_locked_shut(client, stage):
    """Every page of a job opens early and says its order."""
    answer = client.get(f"/job/{JOB}/{stage}")

    assert answer.status_code == 200
    assert '<h1 id="order"' in answer.text


def test_a_product_name_is_only_ever_text(client, bench):
    """What people type is shown as they typed it and runs nowhere."""
    name = "<script>alert(1)</script>"
    desk = bench.desk
    facts = _facts("0666")
    product = replace(facts.product, name=name)
    container = replace(facts.container, word='jar"><b>')
    open_job(desk, replace(facts, product=product, container=container), PRESS)

    for path in ("/", "/job/0666", "/job/0666/match", "/job/0666/setup", "/job/0666/trim"):
        page = client.get(path).text

        assert name not in page
        assert "&lt;script&gt;" in page
        assert 'jar"><b>' not in page


def test_a_light_that_is_none_is_the_devices_own(client):
    """A cookie that says nonsense does not reach the page."""
    client.cookies.set("fw_light", '"><script>')

    assert 'data-light="device"' in client.get("/").text


def test_the_way_back_stays_on_this_server(client, token):
    """After picking initials nobody is sent to another machine."""
    for back in ("//example.org/", "https://example.org/", "/\\example.org"):
        answer = client.post(
            "/people", data={"token": token, "pick": "AB", "back": back}, follow_redirects=False
        )

        assert answer.headers["location"] == "/"


def test_a_slip_in_a_new_job_is_told_at_its_field(client, token):
    """The page comes back with the message at the field and all that was typed."""
    typed = {"product_pick": maker.PRODUCTS[0].name, "nominal": "abc", "lot_code": "L-9"}
    things = {
        "container_pick": maker.CONTAINERS[0].name,
        "machine_pick": maker.MACHINES[0].name,
        "scale_pick": maker.SCALES[0].name,
        "tray_size": "12",
    }

    answer = client.post("/jobs/new", data={"token": token, **typed, **things})

    assert answer.status_code == 422
    assert 'value="L-9"' in answer.text
    assert "&#39;abc&#39; is not a number" in answer.text


def test_a_job_number_is_one_of_plain_letters_and_figures(bench):
    """A raised two counts as a digit for some and would stop the counting of jobs."""
    with pytest.raises(BadInput, match="letters, digits and hyphens only"):
        open_job(bench.desk, _facts("\u00b2"), PRESS)

    assert next_number(bench.desk) == "0102"


def test_the_later_of_two_presses_is_told_who_was_first(client, token, bench):
    """A press on an old page keeps nothing and names what was done since."""
    seen = bench.desk.book.job(JOB).revision
    match.take(bench.desk, JOB, Press(person="CD"))

    answer = client.post(f"/job/{JOB}/match/take", data={"token": token, "seen": str(seen)})

    assert answer.status_code == 409
    assert "by CD" in answer.text


def test_papers_are_printed(client):
    """The job card is a PDF at both sizes of paper."""
    for query in ("", "?paper=letter"):
        answer = client.get(f"/job/{JOB}/card.pdf{query}")

        assert answer.headers["content-type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF")


def test_the_run_page_does_not_grow_with_the_batch(client, running):
    """Twice as many containers make the page no longer than the thinned line may be."""
    desk = running.desk
    _fill_to(desk, 2400)
    small = len(client.get(f"/job/{JOB}/run").text)
    _fill_to(desk, 4800)
    large = len(client.get(f"/job/{JOB}/run").text)

    # The line of the whole run has at most 600 columns, each of two points, drawn twice.
    assert large - small < 2 * 2 * 600 * 10
    assert large < 60_000


def _fill_to(desk, last: int) -> None:
    """Weigh each twelfth container up to a number, all on the aim."""
    state = desk.book.job(JOB)
    facts = state.known
    if facts.lot_size < last:
        change_facts(desk, JOB, replace(facts, lot_size=last), "more", PRESS)
    aim = facts.aim_g + facts.container.tare_g
    number = desk.book.job(JOB).filled_to
    wobble = 0
    while number + 12 <= last:
        number += 12
        wobble = (wobble + 7) % 5
        value = aim + Decimal(wobble - 2) / 10
        capture = Capture(
            weighing_id=new_id(desk.clock.now()), value=value, container=number, source="http"
        )
        weigh(desk, JOB, capture, PRESS, purpose="dose")


# -- the interface for programs ------------------------------------------------------------


def test_a_weight_is_kept_judged_and_answered_with_the_next_act(client, running):
    """One POST keeps the weight exactly and says how it stands and what comes next."""
    weight = _weight(running, "320.10")

    answer = client.post(f"/api/v1/jobs/{JOB}/weighings", json=weight)

    assert answer.status_code == 200
    body = answer.json()
    assert body["container"] == 1
    assert body["repeat"] is False
    assert body["next"]["stage"] == "run"
    kept = running.desk.book.job(JOB).weighings[-1].fact
    assert kept.value == "320.10"


def test_a_number_is_taken_by_its_decimal_text(client, running):
    """A JSON number is read as it is written: 320.10 keeps its last digit."""
    body = f'{{"id": "{new_id(running.desk.clock.now())}", "value": 320.10, "unit": "g"}}'

    client.post(f"/api/v1/jobs/{JOB}/weighings", content=body)

    assert running.desk.book.job(JOB).weighings[-1].fact.value == "320.10"


def test_the_same_id_again_gets_the_same_answer_and_keeps_nothing(client, running):
    """A retry is answered as the first time, and there is one weight on record."""
    weight = _weight(running)
    first = client.post(f"/api/v1/jobs/{JOB}/weighings", json=weight).json()

    again = client.post(f"/api/v1/jobs/{JOB}/weighings", json=weight)

    assert again.status_code == 200
    assert again.json() == first | {"repeat": True}
    assert len(running.desk.book.job(JOB).weighings) == 1


def test_what_a_page_has_and_does_not_show_is_left_out(client, running):
    """Named as spare, a closed fold and the other drawing come as empty places."""
    client.post(f"/api/v1/jobs/{JOB}/weighings", json=_weight(running))
    path = f"/job/{JOB}/run"
    whole = client.get(path).text
    spare = client.get(path, headers={"Fw-Spares": "doses-table why-run narrow"}).text

    assert whole.count("draw chart dose-chart") == 2
    assert "data-as-is" not in whole
    assert spare.count("draw chart dose-chart") == 1
    assert '<div class="for-phone" data-as-is></div>' in spare
    assert '<details class="more" id="doses-table" data-as-is></details>' in spare
    assert '<details class="more" id="why-run" data-as-is></details>' in spare


def test_a_program_asks_the_page_that_weighs(client, running, token):
    """Refused while a page weighs, kept once a person there let it in; a repeat is no new weight.

    The page's own browser is not asked, and neither is a bench that nobody weighs at.
    """
    path = f"/api/v1/jobs/{JOB}/weighings"
    first, second = (_weight(running, sender="filler") for _ in range(2))
    device = hashlib.sha256(client.cookies["fw_session"].encode()).hexdigest()[:16]
    with TestClient(client.app, base_url="http://localhost") as program:
        assert program.post(path, json=first).status_code == 200
        page = running.seats.open(JOB, device, "AB", may_sit=True)
        assert program.post(path, json=first).json()["repeat"] is True
        refused = program.post(path, json=second)
        assert client.post(path, json=_weight(running)).status_code == 200
        assert page.asks() == "filler"
        answer = {"token": token, "sender": "filler", "lets": "yes", "back": f"/job/{JOB}/run"}
        client.post(f"/job/{JOB}/seat/program", data=answer)
        kept = program.post(path, json=second)

    assert refused.status_code == 423
    assert refused.json()["error"]["field"] == "seat"
    assert "the page of AB" in refused.json()["error"]["message"]
    assert kept.status_code == 200
    assert len(running.desk.book.job(JOB).weighings) == 3


def test_an_id_used_for_another_weight_is_refused(client, running):
    """The same id with another value is a mistake of the sender, and is told so."""
    weight = _weight(running)
    client.post(f"/api/v1/jobs/{JOB}/weighings", json=weight)

    answer = client.post(f"/api/v1/jobs/{JOB}/weighings", json=weight | {"value": "321.5"})

    assert answer.status_code == 409
    assert "id of its own" in answer.json()["error"]["message"]


@pytest.mark.parametrize(
    ("change", "field", "code"),
    [
        ({"value": "abc"}, "value", "type"),
        ({"value": None}, "value", "missing"),
        ({"value": True}, "value", "type"),
        ({"value": "9" * 99}, "value", "type"),
        ({"value": "3_20.1"}, "value", "type"),
        ({"value": "٣٢٠"}, "value", "type"),
        ({"value": "3.2e2"}, "value", "type"),
        ({"person": "A\x00"}, "person", "type"),
        ({"person": "\ud800"}, "person", "type"),
        ({"\ud800": 1}, "\ud800", "unknown-field"),
        ({"id": ""}, "id", "missing"),
        ({"container": 1.5}, "container", "type"),
        ({"container": -1}, "container", "type"),
        ({"basis": "dry"}, "basis", "choice"),
        ({"source": "thumb"}, "source", "choice"),
        ({"purpose": "fun"}, "purpose", "choice"),
        ({"time": "noon"}, "time", "type"),
        ({"time": "2026-03-04T09:41:00"}, "time", "type"),
        ({"colour": "red"}, "colour", "unknown-field"),
        ({"person": "x" * 999}, "person", "type"),
    ],
)
def test_a_weight_that_cannot_be_read_names_its_field(client, running, change, field, code):
    """The answer names the field, and nothing is kept."""
    body = json.dumps(_weight(running) | change)

    answer = client.post(f"/api/v1/jobs/{JOB}/weighings", content=body)

    assert answer.status_code == 422
    assert answer.json()["error"]["field"] == field
    assert answer.json()["error"]["code"] == code
    assert running.desk.book.job(JOB).weighings == []


@pytest.mark.parametrize(
    "body", [b"", b"[]", b"null", b"{", b"\xff\xfe", b"[" * 5000, b'{"value": NaN}', b"7"]
)
def test_a_body_that_is_no_weight_is_answered_in_words(client, running, body):
    """Whatever is sent, the answer is a sentence and never a failure of ours."""
    answer = client.post(f"/api/v1/jobs/{JOB}/weighings", content=body)

    assert answer.status_code == 422
    assert answer.json()["error"]["message"]
    assert running.desk.book.job(JOB).weighings == []


@pytest.mark.parametrize(
    ("number", "field"),
    [
        ("1e-999999", "weight"),
        ("1e999", "weight"),
        ("0e-99", "weight"),
        ("1e99999999999999999999", "body"),
        ('320.1, "value": 250', "value"),
    ],
)
def test_a_number_that_no_scale_shows_is_refused(client, running, number, field):
    """A power of ten beyond all measure, or two values for one field, keeps nothing."""
    body = f'{{"id": "{new_id(running.desk.clock.now())}", "value": {number}, "unit": "g"}}'

    answer = client.post(f"/api/v1/jobs/{JOB}/weighings", content=body)

    assert answer.status_code == 422
    assert answer.json()["error"]["field"] == field
    assert running.desk.book.job(JOB).weighings == []


@pytest.mark.parametrize("encoding", ["latin-1", "utf-16", "utf-32"])
@pytest.mark.parametrize("path", [f"/api/v1/jobs/{JOB}/weighings", "/api/v1/ask/shortage"])
def test_a_byte_that_is_no_utf8_is_refused_and_never_replaced(client, running, path, encoding):
    """JSON goes over the wire as UTF-8; anything else is told, for weights and for questions."""
    body = json.dumps(_weight(running, person="J\u00f6"), ensure_ascii=False)

    answer = client.post(path, content=body.encode(encoding))

    assert answer.status_code == 422
    assert "is not UTF-8 text" in answer.json()["error"]["message"]
    assert running.desk.book.job(JOB).weighings == []


def test_a_question_with_half_a_sign_is_answered(client):
    """A lone surrogate in a name goes back escaped and fails nothing."""
    answer = client.post("/api/v1/ask/shortage", content=b'{"\\ud800": 1}')

    assert answer.status_code == 422
    assert answer.json()["error"]["message"]


def test_a_weight_for_an_unknown_job_is_told(client, running):
    """There is no such job, and the sender reads it."""
    answer = client.post("/api/v1/jobs/9999/weighings", json=_weight(running))

    assert answer.status_code == 404
    assert "There is no job 9999" in answer.json()["error"]["message"]


def test_the_state_of_a_job_is_given_as_json(client, running):
    """Stage, revision and the next act are there for programs."""
    body = client.get(f"/api/v1/jobs/{JOB}").json()

    assert body["stage"] == "run"
    assert body["next"]["what"] == "weigh"
    assert body["revision"] == running.desk.book.job(JOB).revision


def test_questions_are_answered_by_the_same_table(client):
    """An answer, a bad input and an unknown question have their statuses."""
    path = "/api/v1/ask"
    right = {"rules": "EU-76/211", "nominal": "250", "unit": "mL"}

    answered = client.post(f"{path}/shortage", json=right)
    bad = client.post(f"{path}/shortage", json=right | {"unit": "pint"})
    unknown = client.post(f"{path}/meaning-of-life", json={})

    assert (answered.status_code, bad.status_code, unknown.status_code) == (200, 422, 404)
    # Directive 76/211/EEC, Annex I, 2.4: 200 to 300 mL, 9 mL.
    assert Decimal(answered.json()["T"]) == 9
    assert bad.json()["error"]["field"] == "unit"


def test_an_unknown_address_of_the_interface_is_json(client):
    """A program reads JSON also where there is nothing."""
    answer = client.get("/api/v1/nothing")

    assert answer.status_code == 404
    assert answer.json()["error"]["message"]


def test_the_interface_describes_itself(client):
    """Each question has its path, each schema its own name, and no host is named."""
    description = client.get("/api/v1/openapi.json").json()

    assert {f"/api/v1/ask/{name}" for name in names()} < set(description["paths"])
    assert "servers" not in description
    shown = [
        part["content"]["application/json"]["schema"]["$id"]
        for path, item in description["paths"].items()
        if "/ask/" in path
        for part in (item["post"]["requestBody"], item["post"]["responses"]["200"])
    ]
    assert len(set(shown)) == len(shown)


def test_serving_reaches_no_other_machine(client):
    """No page looks up a name or connects anywhere."""
    reached = []

    def hook(event: str, arguments: tuple) -> None:
        if event in ("socket.connect", "socket.getaddrinfo") and watching:
            reached.append((event, str(arguments[-1])))

    watching = [True]
    sys.addaudithook(hook)
    for path in ("/", f"/job/{JOB}", f"/job/{JOB}/match", f"/job/{JOB}/card.pdf", "/settings"):
        assert client.get(path).status_code == 200
    watching.clear()

    assert reached == []


def test_json_of_a_weight_is_small_and_plain(client, running):
    """The answer is one small object of JSON."""
    answer = client.post(f"/api/v1/jobs/{JOB}/weighings", json=_weight(running))

    assert len(answer.content) < 2000
    assert json.loads(answer.content)["job"] == JOB


# -- data out ----------------------------------------------------------------------------


def test_tables_are_offered_and_given(client, running):
    """The page names every table; each comes as CSV and as a workbook."""
    page = client.get("/data").text
    for name in ("weighings", "jobs", "checks", "service"):
        assert f'href="/data/{name}.csv"' in page
        given = client.get(f"/data/{name}.csv?job={JOB}")
        book = client.get(f"/data/{name}.xlsx")

        assert given.content.startswith(b"\xef\xbb\xbfjob,")
        assert book.content.startswith(b"PK")
        assert f"{name}-{JOB}.csv" in given.headers["content-disposition"]
    assert running.desk.book.job(JOB).number in client.get(f"/data?job={JOB}").text


@pytest.mark.parametrize(
    "address", ["/data/weights.csv", "/data/jobs.ods", "/data/jobs.csv?job=9999"]
)
def test_a_table_that_is_not_there_is_said(client, address):
    """One sentence on a page, no file."""
    answer = client.get(address)

    assert answer.status_code == 404
    assert "content-disposition" not in answer.headers


# -- the manual --------------------------------------------------------------------------


def test_help_on_each_page_opens_a_page_of_the_manual(client, running):
    """Every page of the program has its help, every help its page, and every page its pictures."""
    assert running.desk.book.job(JOB)
    folder = Path(render.__file__).parent / "templates"
    named = {
        found
        for path in folder.glob("*.html")
        for found in re.findall(r"block page %}(\w+)", path.read_text("utf-8"))
    } - {"plain", "manual"}

    assert named == set(HELP)
    for page in (*named, "plain"):
        answer = client.get(f"/help/{page}")
        assert answer.status_code == 200
        assert "/manual/" in str(answer.url)
        for source in re.findall(r'<img src="([^"]+)"', answer.text):
            assert client.get(source).headers["content-type"].startswith("image/")
    assert 'href="/help/setup"' in client.get(f"/job/{JOB}/setup").text


@pytest.mark.parametrize(
    "name", ["nothing", "shots/nothing.png", "..%2f..%2fpyproject", "reference/rules.md"]
)
def test_what_is_not_in_the_manual_is_said(client, name):
    """A page that says so, and no file from elsewhere."""
    assert client.get(f"/manual/{name}").status_code == 404


def test_a_form_of_more_fields_than_any_page_has(client, token):
    """Refused in words before anything of it is read."""
    fields = {f"a{number}": "1" for number in range(500)} | {"token": token}
    answer = client.post(f"/job/{JOB}/held/scrapped", data=fields)

    assert answer.status_code == 422
    assert "more than 400 fields" in answer.text


class _StoppedClock:
    """A clock that fails when it is asked, as a part that nobody thought of might."""

    zone = "UTC"

    def now(self):
        """Fail as nothing that is caught by name does."""
        raise ZeroDivisionError


def test_a_failure_of_a_press_is_told_as_a_page(bench):
    """What was sent was read already; the words come all the same."""
    app = create_app(replace(bench, desk=replace(bench.desk, clock=_StoppedClock())))
    with TestClient(app, base_url="http://localhost", raise_server_exceptions=False) as client:
        client.cookies.set("fw_person", "AB")
        token = re.search(r'name="token" value="(\w+)"', client.get("/people").text).group(1)
        answer = client.post(f"/job/{JOB}/run/undo", data={"token": token})

    assert answer.status_code == 500
    assert "What was kept before is safe" in answer.text


def test_a_photo_far_too_long_is_told_as_one(client):
    """What a phone takes may be longer than any form: the words say what is kept."""
    answer = client.post(f"/job/{JOB}/photo", content=b"x" * 4_000_001)

    assert answer.status_code == 413
    assert answer.text.startswith("The photo is too long: at most 3,500,000 bytes")


def test_a_page_that_saw_more_than_is_on_record(client, token):
    """After an older journal was put back an open page is refused, in words."""
    answer = client.post(f"/job/{JOB}/held/scrapped", data={"token": token, "seen": "999"})

    assert answer.status_code == 409
    assert "shows more than is on record" in answer.text
