"""Data in by the pages: chosen, columns said, looked over, kept; and what is refused."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from starlette.testclient import TestClient

from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.desk import Press
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.records.entries import WeighingFromFile
from fillwright.web import create_app
from fillwright.wiring import maker, open_bench

PRESS = Press(person="AB")
JOB = "0101"
LOG = "no;when;net (g);note\n" + "".join(
    f"{at + 1};05.03.2031 08:{at:02d};{296 + at / 10:.1f};<b>\n".replace(".", ",", 0)
    for at in range(10)
)


@pytest.fixture
def bench(tmp_path):
    """A bench with one open job."""
    bench = open_bench(tmp_path / "bench.sqlite")
    for thing in (*maker.PRODUCTS, *maker.CONTAINERS):
        keep_thing(bench.desk, thing, PRESS)
    facts = replace(maker.JOBS[0], number=JOB)
    open_job(bench.desk, replace(facts, aim_g=propose_aim(bench.desk, facts).aim_g), PRESS)
    yield bench
    bench.close()


@pytest.fixture
def token(client) -> str:
    """What the forms of this browser carry."""
    return re.search(r'name="token" value="(\w+)"', client.get("/data/in").text).group(1)


@pytest.fixture
def send(client, token):
    """Send a file and return the page that follows."""

    def sent(data=LOG, name="log.csv", holds="weighings", **fields):
        given = {"token": token, "holds": holds, **fields}
        return client.post("/data/in", data=given, files={"file": (name, data)})

    return sent


@pytest.fixture
def press(client, token):
    """Press a button of a page with what it shows chosen, and return what follows."""

    def pressed(page, what, **fields):
        shown = {
            name: value
            for name, body in re.findall(
                r'<select id="\w+" name="(\w+)".*?>(.*?)</select>', page.text, re.DOTALL
            )
            for value in re.findall(r'value="([^"]*)" selected', body)
        }
        base = re.match(r".*/data/in/[\w-]+", str(page.url)).group()
        answer = client.post(f"{base}/{what}", data={"token": token, **shown, **fields})
        for _ in range(200):
            if 'data-again="on"' not in answer.text:
                break
            answer = client.get(base)
        return answer

    return pressed


def heading(page):
    """Return the order of a page."""
    return re.search(r"<h1[^>]*>(.*?)</h1>", page.text).group(1)


def from_files(bench, number=JOB):
    """Return the weights of files on record."""
    return [
        entry.payload
        for entry in bench.desk.journal.entries(f"job/{number}")
        if isinstance(entry.payload, WeighingFromFile)
    ]


def test_a_file_comes_in_step_by_step(bench, client, send, press):
    """Columns, a look, and only then the weights; the job tells them."""
    page = send()
    assert heading(page) == "Which column holds what?"
    assert "&lt;b&gt;" in page.text
    looked = press(page, "look", job=JOB)
    assert heading(looked) == "Keep 10 weights?"
    assert from_files(bench) == []
    kept = press(looked, "keep")

    assert heading(kept) == f"Kept 10 weights in job {JOB}."
    assert len(from_files(bench)) == 10
    assert "From log.csv" in client.get(f"/job/{JOB}").text


def test_the_choice_is_remembered_for_the_same_headings(send, press):
    """The next file with these headings comes with the columns as they were said."""
    first = send("a;b\n250,1;296,1\n250,2;296,2\n")
    press(press(first, "look", job=JOB, at_weight="1", basis="net"), "keep")
    again = send("a;b\n250.3;296.3\n250.2;296.4\n", name="next.csv")

    assert "The columns are as you said last time." in again.text
    assert re.search(r'name="at_weight".*?value="1" selected', again.text, re.DOTALL)
    assert heading(press(again, "look", job=JOB)) == "Keep 2 weights?"


def test_the_same_file_twice_adds_nothing(bench, send, press):
    """It says that it was here."""
    press(press(send(), "look", job=JOB), "keep")
    looked = press(send(name="copy.csv"), "look", job=JOB)

    assert "This file was taken in before." in looked.text
    assert "10 were here before" in press(looked, "keep").text
    assert len(from_files(bench)) == 10


def test_rows_that_cannot_be_used_are_shown_before_anything_is_kept(send, press):
    """Row, column, what was given, why, what is allowed."""
    looked = press(send(LOG + "11;05.03.2031 09:00;=1+1;\nMean;;296;\n"), "look", job=JOB)

    assert heading(looked) == "Keep the 10 good rows? 2 cannot be used."
    row = re.search(r"<tr><td>12</td>.*?</tr>", looked.text).group()
    assert "=1+1" in row
    assert "a number with a decimal point" in row


def test_what_is_open_is_asked_beside_the_file(send, press):
    """Job, net or gross, decimal mark: the page says which, and keeps what was said."""
    page = send("x\n1,234\n1,235\n")
    no_job = press(page, "look", at_weight="0", basis="net", decimal="comma")
    unclear = press(page, "look", at_weight="0", job=JOB, basis="net")
    no_basis = press(page, "look", at_weight="0", job=JOB, decimal="comma")

    assert no_job.status_code == 422
    assert "Choose the job that the weights are for." in no_job.text
    assert "decimal point or with a decimal comma" in unclear.text
    assert "net, or gross" in no_basis.text


def test_a_new_job_of_their_own_is_opened_when_they_are_kept(bench, send, press):
    """Not before; with the facts of the other and the file as its lot."""
    looked = press(send(), "look", job="new", like=JOB)
    assert bench.desk.book.job("0102") is None
    kept = press(looked, "keep")

    assert heading(kept) == "Kept 10 weights in job 0102."
    assert len(from_files(bench, "0102")) == 10


def test_weights_never_land_in_a_job_that_took_the_number_meanwhile(bench, send, press):
    """The new job is refused, the other job gets nothing, and a new look takes the next number."""
    page = send()
    looked = press(page, "look", job="new", like=JOB)
    facts = replace(maker.JOBS[0], number="0102")
    open_job(bench.desk, replace(facts, aim_g=propose_aim(bench.desk, facts).aim_g), PRESS)
    refused = press(looked, "keep")

    assert "Job 0102 is there already." in refused.text
    assert from_files(bench, "0102") == []
    again = press(press(page, "look", job="new", like=JOB), "keep")
    assert heading(again) == "Kept 10 weights in job 0103."


def test_products_come_into_the_catalogue(bench, send, press):
    """And the site keeps them."""
    page = send("Product,Density kg/m3\nLamp oil,805\n", holds="products")
    kept = press(press(page, "look"), "keep")

    assert heading(kept) == "Kept 1 products."
    assert "Lamp oil" in bench.desk.book.site().products


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "nothing in it"),
        (b"PK\x03\x04junk", "cannot be read"),
        (b"\xd0\xcf\x11\xe0junk", "old kind"),
        (bytes(range(256)) * 20, "not text"),
    ],
)
def test_a_file_that_is_none_is_refused_in_one_sentence(send, data, words):
    """The page asks for another."""
    page = send(data)

    assert page.status_code == 422
    assert words in page.text
    assert heading(page) == "Choose a file."


def test_a_name_of_a_file_leads_nowhere(send):
    """Folders in a name are left out, and markup is shown as it is."""
    page = send(name="../../etc/<i>x.csv")

    assert "&lt;i&gt;x.csv" in page.text
    assert "etc/" not in page.text


def test_a_form_without_the_token_keeps_nothing(client):
    """A file from another page is refused."""
    page = client.post("/data/in", data={"holds": "weighings"}, files={"file": ("a.csv", LOG)})

    assert page.status_code == 403


def test_a_file_needs_somebody_at_the_bench(client):
    """Without initials the page asks who it is, and comes back."""
    client.cookies.delete("fw_person")
    page = client.post("/data/in", files={"file": ("a.csv", LOG)}, follow_redirects=False)

    assert page.headers["location"] == "/people?back=/data/in"


def test_a_file_that_is_not_here_any_more_is_asked_for_again(client, send, press):
    """After it was left, or the program was started again."""
    page = send()
    press(page, "drop")

    gone = client.get(str(page.url))
    assert "not here any more" in gone.text
    assert client.get("/data/in/nothing/look").status_code == 404


def test_a_file_is_struck_out_on_the_page_of_its_job(bench, client, token, send, press):
    """With a reason."""
    press(press(send(), "look", job=JOB), "keep")
    [file_id] = bench.desk.book.job(JOB).files.files
    given = {"token": token, "file": file_id}

    assert client.post(f"/job/{JOB}/file", data=given).status_code == 422
    page = client.post(f"/job/{JOB}/file", data={**given, "reason": "wrong column"})
    assert "Struck out: wrong column." in page.text


def test_a_whole_job_goes_from_one_bench_to_another(bench, client, send, press, tmp_path):
    """Written from its page, opened at another bench by the page that takes files in."""
    press(press(send(), "look", job=JOB), "keep")
    file = client.get(f"/job/{JOB}/job.jsonl")
    here = send(file.content, name="job.jsonl")
    assert heading(here) == "This job is here already."

    other = open_bench(tmp_path / "other.sqlite")
    try:
        with TestClient(create_app(other), base_url="http://localhost") as there:
            there.cookies.set("fw_person", "CD")
            found = re.search(r'name="token" value="(\w+)"', there.get("/data/in").text)
            given = {"token": found.group(1), "holds": "weighings"}
            page = there.post("/data/in", data=given, files={"file": ("j.jsonl", file.content)})
            assert heading(page) == f"Open job {JOB} here?"
            opened = there.post(f"{page.url}/open", data={**given, "number": JOB})
            assert str(opened.url).endswith(f"/job/{JOB}")
            assert "From elsewhere:" in opened.text
            assert ", from elsewhere" in there.get("/").text
            assert there.get(f"/job/{JOB}/record.pdf").status_code == 200
        assert other.desk.book.job(JOB).known == bench.desk.book.job(JOB).known
    finally:
        other.close()


def test_a_job_file_that_was_touched_is_refused_on_the_page(client, send):
    """With the line, and nothing kept."""
    data = client.get(f"/job/{JOB}/job.jsonl").content
    page = send(data.replace(b"Elderflower", b"Elderberry!", 1), name="job.jsonl")

    assert page.status_code == 422
    assert "line 2: its hash is not that of its facts: it was changed" in page.text


def test_a_job_whose_number_is_taken_gets_another(bench, client, send, token, tmp_path):
    """It is asked about, and the one that is here stays."""
    other = open_bench(tmp_path / "other.sqlite")
    facts = replace(maker.JOBS[1], number=JOB)
    open_job(other.desk, replace(facts, aim_g=propose_aim(other.desk, facts).aim_g), PRESS)
    with TestClient(create_app(other), base_url="http://localhost") as there:
        there.cookies.set("fw_person", "CD")
        data = there.get(f"/job/{JOB}/job.jsonl").content
    other.close()
    before = bench.desk.book.job(JOB).known
    page = send(data, name="job.jsonl")
    taken = client.post(f"{page.url}/open", data={"token": token, "number": JOB})
    opened = client.post(f"{page.url}/open", data={"token": token, "number": "0900"})

    assert heading(page) == "Give it another number."
    assert "is another job here, and stays" in taken.text
    assert "/job/0900" in str(opened.url)
    assert bench.desk.book.job(JOB).known == before
