"""``fillwright export`` in this process: tables, the whole journal, its schema."""

from __future__ import annotations

import csv
import json
from dataclasses import replace

import jsonschema
import openpyxl
import pytest
from workshop import job

from fillwright.jobs.desk import Press
from fillwright.jobs.opening import open_job
from fillwright.wiring import open_bench


@pytest.fixture
def store(tmp_path):
    """A store with two jobs, one of a product that looks like a formula."""
    path = tmp_path / "journal.sqlite3"
    bench = open_bench(path)
    plain = job()
    strange = replace(job("0300"), product=replace(plain.product, name="=1+1"))
    for facts in (plain, strange):
        open_job(bench.desk, facts, Press(person="AB"))
    bench.close()
    return path


def test_a_table_is_written_as_csv_and_as_a_workbook(command, store, tmp_path):
    """The ending of the name says which; both hold the same rows."""
    first = command("export", "jobs", "jobs.csv", "--store", str(store))
    second = command("export", "jobs", "jobs.xlsx", "--store", str(store))

    assert (first.status, second.status) == (0, 0)
    assert "Wrote 2 rows to jobs.csv." in first.out
    rows = list(csv.DictReader((tmp_path / "jobs.csv").read_text("utf-8-sig").splitlines()))
    sheet = openpyxl.load_workbook(tmp_path / "jobs.xlsx").worksheets[0]
    cells = list(sheet.iter_rows(values_only=True))
    assert [row["job"] for row in rows] == ["0417", "0300"] == [row[0] for row in cells[1:]]
    assert [row["product"] for row in rows] == ["Hand cream", "'=1+1"]
    assert [row[3] for row in cells[1:]] == ["Hand cream", "=1+1"]


def test_one_job_alone_is_written(command, store, tmp_path):
    """Named by its number."""
    ended = command("export", "jobs", "one.csv", "--job", "0300", "--store", str(store))

    assert "Wrote 1 row to one.csv." in ended.out
    assert "0417" not in (tmp_path / "one.csv").read_text()


def test_the_whole_journal_fits_its_schema(command, store, tmp_path):
    """Every line is one entry as the schema says, in order."""
    command("export", "schema", "schema.json")
    ended = command("export", "journal", "all.jsonl", "--store", str(store))
    alone = command("export", "journal", "one.jsonl", "--job", "0300", "--store", str(store))

    schema = json.loads((tmp_path / "schema.json").read_text())
    lines = [json.loads(line) for line in (tmp_path / "all.jsonl").read_text().splitlines()]
    jsonschema.Draft202012Validator.check_schema(schema)
    check = jsonschema.Draft202012Validator(schema)
    assert (ended.status, alone.status) == (0, 0)
    assert lines
    for line in lines:
        check.validate(line)
    assert [line["seq"] for line in lines] == list(range(1, len(lines) + 1))
    assert not check.is_valid(lines[0] | {"payload": {"facts": 1}})
    one = [json.loads(line) for line in (tmp_path / "one.jsonl").read_text().splitlines()]
    assert {line["stream"] for line in one} == {"job/0300"}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("weights", "a.csv"), "There is no table 'weights'"),
        (("jobs", "a.ods"), "end it in .csv or .xlsx"),
        (("jobs", "a"), "ends in nothing"),
        (("journal", "a.csv"), "end it in .jsonl"),
        (("schema", "a.csv"), "end it in .json"),
        (("jobs", "a.csv", "--job", "9"), "There is no job 9."),
        (("journal", "a.jsonl", "--job", "9"), "There is no job 9 "),
        (("jobs", "nowhere/a.csv"), "there is no such folder"),
    ],
)
def test_what_cannot_be_written_is_one_sentence(command, store, tmp_path, words, told):
    """And no file is left, whole or half."""
    before = sorted(tmp_path.iterdir())
    ended = command("export", *words, "--store", str(store))

    assert (ended.status, ended.out) == (2, "")
    assert told in ended.err
    assert sorted(tmp_path.iterdir()) == before


def test_no_store_is_made_where_there_is_none(command, tmp_path):
    """Reading makes nothing."""
    ended = command("export", "jobs", "a.csv", "--store", "nowhere.sqlite3")

    assert (ended.status, list(tmp_path.iterdir())) == (2, [])
    assert "there is no journal there" in ended.err
