"""A job as one file: the same job elsewhere, and nothing from a file that was touched."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from decimal import Decimal
from hashlib import sha256

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.files.job import job_lines, look_at_job, open_brought
from fillwright.jobs.papers import batch_record, job_card, proof_sheet
from fillwright.records import job_file
from fillwright.records.entries import JobBrought
from fillwright.records.job_file import is_job_file


@pytest.fixture(scope="module")
def sent():
    """A released job as a file."""
    shop = Workshop().to_released()
    return shop, b"".join(job_lines(shop.desk, shop.number))


@pytest.fixture
def other():
    """Another bench, whose only job has another number."""
    return Workshop(job("0100"))


def look(shop, data):
    """Look at the bytes of a job file."""
    return look_at_job(shop.desk, io.BytesIO(data))


def sealed(lines):
    """Return lines with a seal that fits them, as somebody would who changed them."""
    body = b"".join(lines)
    return body + json.dumps({"seal": sha256(body).hexdigest()}).encode() + b"\n"


def test_a_job_is_the_same_elsewhere(sent, other):
    """Every fact, time, person and id; the papers say the same."""
    shop, data = sent
    looked = look(other, data)
    state = open_brought(other.desk, looked, looked.number, other.press)
    entries = list(other.desk.journal.entries(f"job/{looked.number}"))

    assert is_job_file(data)
    assert (looked.number, looked.is_taken, looked.here_as) == (shop.number, False, "")
    assert [(e.id, e.at, e.person, e.bench, e.payload) for e in entries[:-1]] == [
        (e.id, e.at, e.person, e.bench, e.payload) for e in shop.entries()
    ]
    brought = state.files.brought
    assert isinstance(brought, JobBrought)
    assert brought.last_hash == shop.entries()[-1].hash
    here, there = batch_record(other.desk, state), batch_record(shop.desk, shop.state)
    assert (here.lot, here.released, here.weighings) == (
        there.lot,
        there.released,
        there.weighings,
    )
    assert proof_sheet(other.desk, state).lines == proof_sheet(shop.desk, shop.state).lines
    assert job_card(other.desk, state).facts == job_card(shop.desk, shop.state).facts


def test_a_job_that_is_here_is_told_and_not_doubled(sent, other):
    """The same file again adds nothing."""
    _, data = sent
    looked = look(other, data)
    open_brought(other.desk, looked, looked.number, other.press)
    count = len(other.journal.log)

    assert look(other, data).here_as == looked.number
    with pytest.raises(BadInput, match="is here already, as job 0417"):
        open_brought(other.desk, looked, "0900", other.press)
    assert len(other.journal.log) == count


def test_a_number_that_is_taken_is_asked_about(sent):
    """The other job stays; under another number all pages and papers go by that."""
    _, data = sent
    other = Workshop(job("0417"))
    before = other.refolded()
    looked = look(other, data)

    assert (looked.is_taken, looked.number) == (True, "0418")
    with pytest.raises(BadInput, match="is another job here, and stays"):
        open_brought(other.desk, looked, "0417", other.press)
    state = open_brought(other.desk, looked, "0418", other.press)
    assert (state.known.number, state.files.brought.number) == ("0418", "0417")
    assert batch_record(other.desk, state).facts.number == "0418"
    assert other.refolded() == before


def test_what_was_brought_can_be_sent_on(sent, other):
    """With where it came from, and the maker whose job it is."""
    _, data = sent
    looked = look(other, data)
    open_brought(other.desk, looked, looked.number, other.press)
    third = Workshop(job("0200"))
    again = look(third, b"".join(job_lines(other.desk, looked.number)))

    assert again.file.header.entries == looked.file.header.entries + 1
    assert again.file.header.maker == looked.file.header.maker
    open_brought(third.desk, again, again.number, third.press)


def _changed(lines, place, change):
    """Return the lines with one JSON document changed, and a seal that fits."""
    document = json.loads(lines[place])
    change(document)
    put = json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"
    return sealed([*lines[:place], put, *lines[place + 1 : -1]])


TOUCHED = {
    "a weight changed": (
        lambda rows: _changed(
            rows,
            next(at for at, row in enumerate(rows) if b'"weighing taken"' in row),
            lambda one: one["payload"].update(value="1.0"),
        ),
        "was changed",
    ),
    "an entry left out": (lambda rows: sealed([*rows[:3], *rows[4:-1]]), "missing|cut off"),
    "two entries swapped": (
        lambda rows: sealed([*rows[:2], rows[3], rows[2], *rows[4:-1]]),
        "another order",
    ),
    "cut off": (lambda rows: b"".join(rows[:-3]), "cut off before its seal"),
    "cut in a line": (lambda rows: b"".join(rows)[:-9], "cut off"),
    "a byte changed": (lambda rows: b"".join(rows).replace(b"hand", b"Hand", 1), "changed"),
    "something below": (lambda rows: b"".join(rows) + b"x", "below the seal"),
    "another form": (
        lambda rows: b"".join(rows).replace(b"fillwright-job 1", b"fillwright-job 9", 1),
        "newer program",
    ),
    "an unknown kind": (
        lambda rows: _changed(rows, 2, lambda one: one.update(kind="run this")),
        "no kind of entry",
    ),
    "a stream of the site": (
        lambda rows: _changed(rows, 2, lambda one: one.update(stream="site")),
        "belongs to no job",
    ),
    "a path for a number": (
        lambda rows: _changed(rows, 0, lambda one: one.update(job="../../x")),
        "number or its count",
    ),
    "one name more": (
        lambda rows: _changed(rows, 1, lambda one: one["payload"].update(code="import os")),
        "other names",
    ),
    "a figure without end": (
        lambda rows: _changed(
            rows, 1, lambda one: one["payload"]["facts"].update(aim_g="1E+999999")
        ),
        "no end",
    ),
    "a huge count": (
        lambda rows: _changed(
            rows, 1, lambda one: one["payload"]["facts"].update(lot_size=10**18)
        ),
        "too large",
    ),
    "not a number": (lambda rows: sealed([rows[0], b'{"seq":NaN}\n']), "not readable"),
    "nested without end": (lambda rows: sealed([rows[0], b"[" * 5000 + b"\n"]), "too deep"),
    "a name twice": (lambda rows: sealed([rows[0], b'{"seq":1,"seq":2}\n']), "not readable"),
    "signs of a terminal": (
        lambda rows: _changed(rows, 1, lambda one: one.update(person="\x1b[2J")),
        "cannot be shown",
    ),
    "a list for a text": (
        lambda rows: _changed(rows, 1, lambda one: one.update(person=["AB"])),
        "another type",
    ),
    "no text at all": (lambda rows: rows[0] + b"\xff\xfe\n", "not text"),
    "nothing": (lambda _: b"", "cut off"),
}


@pytest.mark.parametrize("how", TOUCHED)
def test_a_file_that_was_touched_is_refused(sent, other, how):
    """In one sentence that names the line; nothing is kept."""
    touch, words = TOUCHED[how]
    before = len(other.journal.log)

    with pytest.raises(BadInput, match=words):
        look(other, touch(sent[1].splitlines(keepends=True)))
    assert len(other.journal.log) == before


def test_a_file_that_is_too_long_is_refused(sent, other, monkeypatch):
    """Before all of it is read."""
    monkeypatch.setattr(job_file, "MOST_BYTES", 1000)

    with pytest.raises(BadInput, match="too long"):
        look(other, sent[1])


def test_figures_that_no_page_can_work_with_are_refused(other):
    """A job whose chain is whole but whose facts cannot be is not opened."""
    strange = Workshop()
    facts = replace(strange.facts, scale=replace(strange.facts.scale, readability_g=Decimal(0)))
    entry = strange.entries()[0]
    payload = replace(entry.payload, facts=facts)
    fresh = replace(strange.drafts(payload)[0], id="another", stream="job/0999")
    strange.journal.append([fresh])

    with pytest.raises(BadInput, match="cannot be worked with"):
        look(other, b"".join(_lines_of(strange, "0999")))


def _lines_of(shop, number):
    """Return the lines of a job that no command would have opened."""
    entries = list(shop.journal.entries(f"job/{number}"))
    header = job_file.JobHeader(
        form=job_file.FORM,
        job=number,
        entries=len(entries),
        program="",
        bench="bench 1",
        maker="",
        signatures=1,
    )
    return job_file.job_to_lines(header, entries)
