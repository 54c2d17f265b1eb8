"""``fillwright import`` in this process: looked over, asked about, kept once."""

from __future__ import annotations

import pytest
from workshop import job

from fillwright.jobs.desk import Press
from fillwright.jobs.opening import open_job
from fillwright.wiring import open_bench

LOG = "no;when;net (g)\n1;05.03.2031 08:00;250,1\n2;05.03.2031 08:03;250,4\n"
BAD = LOG + "3;05.03.2031 08:06;abc\n"


@pytest.fixture(autouse=True)
def store(tmp_path):
    """A store with one job."""
    path = tmp_path / "journal.sqlite3"
    bench = open_bench(path)
    open_job(bench.desk, job(), Press(person="AB"))
    bench.close()
    return path


@pytest.fixture
def written(tmp_path):
    """Write a text and return its name."""

    def write(text, name="log.csv"):
        (tmp_path / name).write_text(text)
        return name

    return write


def entries(store):
    """Return how many entries a store holds."""
    bench = open_bench(store)
    try:
        return sum(1 for _ in bench.desk.journal.everything())
    finally:
        bench.close()


def test_weights_come_into_a_job_once(command, written):
    """Kept, and known the next time."""
    first = command("import", written(LOG), "--job", "0417", "--person", "AB")
    again = command("import", written(LOG, "copy.csv"), "--job", "0417")

    assert (first.status, again.status) == (0, 0)
    assert "Kept 2 weights in job 0417." in first.out
    assert "Kept 0 weights in job 0417; 2 were here before." in again.out
    assert "dates with the day first" in first.out


def test_refused_rows_need_a_yes(command, store, written):
    """Without it nothing is kept, and the row is named with what is allowed."""
    before = entries(store)
    asked = command("import", written(BAD), "--job", "0417")
    looked = command("import", "log.csv", "--job", "0417", "--look")

    assert (asked.status, looked.status) == (2, 0)
    assert "row 4, net (g): 'abc': this is no weight" in " ".join(asked.out.split())
    assert "give --yes" in asked.err
    assert entries(store) == before
    assert "Kept 2 weights" in command("import", "log.csv", "--job", "0417", "--yes").out


def test_a_new_job_gets_the_facts_of_another(command, written):
    """Its number is the next free one."""
    ended = command("import", written(LOG), "--like", "0417")

    assert "Kept 2 weights in job 0418." in ended.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "--job NUMBER, or --like"),
        (("--job", "0417", "--column", "weight=nothing"), "no column is headed 'nothing'"),
        (("--job", "0417", "--column", "colour=no"), "there is no field 'colour'"),
        (("--job", "0417", "--purpose", "dose"), "takes elsewhere now"),
        (("--job", "0417", "--holds", "people"), "weighings, products, containers"),
        (("--job", "0417", "--dates", "week"), "give day, month or year"),
        (("--job", "0900"), "no job 0900"),
        (("--job", "0417", "--column", "weight="), "which column holds the weights"),
    ],
)
def test_what_is_missing_or_wrong_is_said(command, store, written, words, said):
    """One sentence, status 2, nothing kept."""
    before = entries(store)
    ended = command("import", written(LOG), *words)

    assert ended.status == 2
    assert said in ended.err
    assert entries(store) == before


def test_products_come_in_and_a_change_is_asked_about(command, written):
    """A kept product is only changed with a yes."""
    first = command("import", written("name,density\nOil,0.915\n"), "--holds", "products")
    other = written("name,density\nOil,0.920\n", "b.csv")
    asked = command("import", other, "--holds", "products")
    done = command("import", other, "--holds", "products", "--yes")

    assert "Kept 1 products." in first.out
    assert (asked.status, done.status) == (2, 0)
    assert "changes: Oil" in asked.out
    assert "Kept 1 products." in done.out


def test_a_file_that_is_not_there_is_said(command):
    """Nothing is opened."""
    ended = command("import", "nowhere.csv", "--job", "0417")

    assert ended.status == 2
    assert "there is no such file" in ended.err


def test_a_job_goes_out_as_one_file_and_in_elsewhere(command, tmp_path):
    """Opened once, under its own number or another; a taken number is asked about."""
    written = command("export", "job", "job.jsonl", "--job", "0417")
    first = command("import", "job.jsonl", "--store", str(tmp_path / "other.sqlite3"))
    again = command("import", "job.jsonl", "--store", str(tmp_path / "other.sqlite3"))

    assert (written.status, first.status, again.status) == (0, 0, 0)
    assert "Opened as job 0417, from elsewhere." in first.out
    assert "It is here already, as job 0417." in again.out


def test_a_job_file_whose_number_is_taken_needs_another(command, tmp_path):
    """Without one nothing is kept."""
    bench = open_bench(tmp_path / "other.sqlite3")
    open_job(bench.desk, job(), Press(person="CD"))
    bench.close()
    command("export", "job", "job.jsonl", "--job", "0417", "--store", "other.sqlite3")
    refused = command("import", "job.jsonl")
    opened = command("import", "job.jsonl", "--number", "0500")

    assert refused.status == 2
    assert "Give --number, such as 0418" in refused.err
    assert "Opened as job 0500" in opened.out


def test_a_job_is_named_to_go_out(command):
    """One file is one job."""
    ended = command("export", "job", "job.jsonl")

    assert ended.status == 2
    assert "--job NUMBER" in ended.err
