"""Files from outside: from any spreadsheet the same weights, from any bytes a sentence."""

from __future__ import annotations

import csv
import io
import tempfile
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.files.job import job_lines, look_at_job
from fillwright.records.filecells import FileWeight, WeightReader
from fillwright.records.filefields import guess
from fillwright.records.filerows import FileRows

WEIGHTS = st.lists(
    st.decimals(min_value=Decimal("0.01"), max_value=Decimal("9999.99"), places=2),
    min_size=1,
    max_size=30,
)
TITLES = st.lists(st.sampled_from(["Line 3", "Early shift, week 10", "Scale B"]), max_size=3)
SHOP = Workshop()
JOB = b"".join(job_lines(SHOP.desk, SHOP.number))


def weights_in(data, name):
    """Return the weights of a file by a guess at its columns, and its refused rows."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(data)
        file = FileRows(path, name=name)
        reader = WeightReader(file, guess(file, "weighings"))
        found = [reader.read(row) for row in file.rows()]
    good = [one for one in found if isinstance(one, FileWeight)]
    return [Decimal(one.value) for one in good], [one for one in found if one not in good]


def said_of(data):
    """Return the sentence with which bytes are refused, or another where they are read."""
    try:
        weights_in(data, "noise.csv")
    except BadInput as error:
        return error.message
    return "It was read."


def text_of(weights, titles, *, between, comma):
    """Return a table as a spreadsheet saves it as text."""
    out = io.StringIO()
    for title in titles:
        out.write(f"{title}\r\n")
    writer = csv.writer(out, delimiter=between, lineterminator="\r\n")
    writer.writerow(["No", "Net (g)", "Remark"])
    for place, weight in enumerate(weights, start=1):
        told = f"{weight:f}".replace(".", ",") if comma else f"{weight:f}"
        writer.writerow([place, told, "ok"])
    return out.getvalue()


@settings(max_examples=60, deadline=None)
@given(
    weights=WEIGHTS,
    titles=TITLES,
    between=st.sampled_from([";", "\t", "|"]),
    comma=st.booleans(),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
)
def test_a_table_of_text_gives_its_weights_back(weights, titles, between, comma, encoding):
    """Any separator, decimal mark, encoding and title lines: the same exact weights, in order."""
    data = text_of(weights, titles, between=between, comma=comma).encode(encoding)

    assert weights_in(data, "log.csv") == (weights, [])


@settings(max_examples=25, deadline=None)
@given(weights=WEIGHTS, titles=TITLES, hidden=st.booleans())
def test_a_workbook_gives_its_weights_back(weights, titles, hidden):
    """As binary figures with title lines, behind a hidden sheet or not: exact again."""
    book = openpyxl.Workbook()
    sheet = book.active
    if hidden:
        sheet.append(["net (g)"])
        sheet.append([1.0])
        sheet.sheet_state = "hidden"
        sheet = book.create_sheet("shown")
    for title in titles:
        sheet.append([title])
    sheet.append(["No", "Net (g)"])
    for place, weight in enumerate(weights, start=1):
        sheet.append([place, float(weight)])
    data = io.BytesIO()
    book.save(data)

    assert weights_in(data.getvalue(), "log.xlsx") == (weights, [])


@settings(max_examples=150, deadline=None)
@given(data=st.one_of(st.binary(max_size=400), st.text(max_size=300).map(str.encode)))
def test_any_bytes_are_read_or_refused_in_a_sentence(data):
    """Noise is a table, or one clear sentence; nothing else is raised."""
    for begin in (b"", b"net (g)\n", b"PK\x03\x04", b"\xff\xfe"):
        assert said_of(begin + data).endswith(".")


@settings(max_examples=150, deadline=None)
@given(at=st.integers(min_value=0, max_value=len(JOB) - 1), byte=st.integers(0, 255))
def test_a_job_file_with_one_byte_changed_is_refused(at, byte):
    """Wherever the byte stands, and whatever it becomes."""
    if JOB[at] == byte:
        return
    data = JOB[:at] + bytes([byte]) + JOB[at + 1 :]
    with pytest.raises(BadInput, match=r"line \d+: "):
        look_at_job(SHOP.desk, io.BytesIO(data))
