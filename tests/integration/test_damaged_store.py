"""A bench whose journal is damaged: shown as far as it can be read, told, never written."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fillwright.errors import JournalError, StoreFull
from fillwright.jobs.desk import Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run import first_jar
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import weigh
from fillwright.records.capture import Capture
from fillwright.records.codec import new_id
from fillwright.store.journal import open_journal
from fillwright.web import create_app
from fillwright.wiring import maker, open_bench
from fillwright.wiring.bench import desk_on
from fillwright.wiring.checked import Checked

PRESS = Press(person="AB")
PAGE = 4096


@pytest.fixture(scope="module")
def whole(tmp_path_factory) -> Path:
    """A closed journal with two running jobs, the first with many weights."""
    path = tmp_path_factory.mktemp("whole") / "bench.sqlite"
    desk = desk_on(path)
    for number in ("0101", "0102"):
        facts = replace(maker.JOBS[0], number=number, lot_code=f"NE-{number}", weigh_every=1)
        facts = replace(facts, aim_g=propose_aim(desk, facts).aim_g)
        open_job(desk, facts, PRESS)
        match.take(desk, number, PRESS)
        run.start(desk, number, PRESS, without_proof="a test")
        first_jar.skip_look(desk, number, "a test", PRESS)
        shown = facts.aim_g + (facts.container.tare_g or 0)
        for _ in range(60 if number == "0101" else 3):
            taken = Capture(
                weighing_id=new_id(desk.clock.now()), value=shown, unit="g", source="typed"
            )
            weigh(desk, number, taken, PRESS, purpose="dose")
    desk.journal.close()
    return path


@pytest.fixture
def damaged(whole, tmp_path) -> Path:
    """A copy in which the page with the fortieth weight is rubbish."""
    path = Path(shutil.copy(whole, tmp_path / "bench.sqlite"))
    data = bytearray(path.read_bytes())
    at = next(at for at in range(0, len(data), PAGE) if b'"container":40,' in data[at : at + PAGE])
    data[at : at + PAGE] = b"\xa5" * PAGE
    path.write_bytes(data)
    return path


def test_a_damaged_journal_is_shown_and_not_written(damaged):
    """Pages open with what is lost on them; a weight is refused in words and the file stays."""
    before = damaged.read_bytes()
    with closing(open_bench(damaged, checks=True)) as bench:
        bench.desk.journal._thread.join()
        with TestClient(create_app(bench), base_url="http://localhost") as client:
            client.cookies.set("fw_person", "AB")
            listed = client.get("/")
            cut = client.get("/job/0101/run")
            other = client.get("/job/0102/run")
            answer = client.post(
                "/api/v1/jobs/0102/weighings",
                json={"id": new_id(bench.desk.clock.now()), "value": "320.1", "unit": "g"},
            )

    assert [page.status_code for page in (listed, cut, other)] == [200, 200, 200]
    for page in (listed, cut, other):
        assert 'id="notice"' in page.text
        assert "cannot be read" in page.text
    assert "<details open>" in listed.text
    assert answer.status_code == 507
    assert "damaged" in answer.json()["error"]["message"]
    assert damaged.read_bytes() == before


def test_a_journal_that_is_whole_says_nothing(whole, tmp_path):
    """The chain is followed to its end, and the bench takes weights."""
    path = Path(shutil.copy(whole, tmp_path / "bench.sqlite"))
    with closing(open_bench(path, checks=True)) as bench:
        bench.desk.journal._thread.join()
        assert bench.notice == ()
        with TestClient(create_app(bench), base_url="http://localhost") as client:
            assert 'id="notice"' not in client.get("/").text
            weight = {"id": new_id(bench.desk.clock.now()), "value": "320.1", "unit": "g"}
            answer = client.post("/api/v1/jobs/0102/weighings", json=weight)
            assert answer.status_code == 200


def test_damage_found_late_is_told_once_and_stops_the_keeping(damaged):
    """A long journal is in use before its end is reached: what was open is closed to writing."""
    with closing(open_journal(damaged)) as journal:
        checked, told = Checked(journal, damaged), []
        checked.on_damage(told.append)
        checked.start(wait_s=60)
        with pytest.raises(StoreFull, match="damaged"):
            checked.append([])
        again = []
        checked.on_damage(again.append)

    assert told == again == [checked.words]
    assert "damaged" in checked.words[0]


def test_a_journal_that_cannot_even_be_opened_is_shown(whole, tmp_path):
    """The table that says its version is lost; the entries are all there."""
    path = Path(shutil.copy(whole, tmp_path / "bench.sqlite"))
    with closing(sqlite3.connect(path)) as file:
        file.execute("UPDATE alembic_version SET version_num = 'rubbish'")
        file.commit()
    with closing(open_bench(path, checks=True)) as bench:
        assert "damaged" in bench.notice[0]
        assert bench.desk.book.numbers() == ("0101", "0102")
        assert len(bench.desk.book.job("0101").weighings) == 60


def test_the_server_says_it_in_the_terminal(damaged):
    """Each sentence of the report stands there, and the server goes on until it is stopped."""
    command = [sys.executable, "-m", "fillwright", "serve", "--no-browser"]
    command += ["--store", str(damaged)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as child:
        said = []
        for line in child.stdout:
            said.append(line)
            if "fillwright rescue" in " ".join(said):
                break
        assert child.poll() is None
        child.terminate()

    words = " ".join(" ".join(said).split())
    assert "is damaged: it is shown as far as it can be read" in words
    assert "cannot be read:" in words


def test_a_file_that_is_no_journal_is_still_refused(tmp_path):
    """Rubbish shows nothing: the start ends with words."""
    rubbish = tmp_path / "rubbish.sqlite"
    rubbish.write_bytes(b"\xa5" * 10_000)
    with pytest.raises(JournalError, match="restore a backup"):
        open_bench(rubbish)
