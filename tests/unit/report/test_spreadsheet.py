"""Tables as CSV and workbook: exact, complete, and nothing in them is obeyed."""

from __future__ import annotations

import csv
import io
from decimal import Decimal

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fillwright.errors import BadInput
from fillwright.records.table import Table
from fillwright.report import spreadsheet
from fillwright.report.spreadsheet import write_csv, write_workbook

HEADERS = ("name", "net (g)", "count")


def table(*rows):
    """Return a table of three columns."""
    return Table(name="weighings", headers=HEADERS, rows=rows)


def as_csv(what):
    """Return the rows of a table after it went through CSV, and the bytes."""
    made = io.BytesIO()
    write_csv(what, made)
    text = made.getvalue().decode("utf-8-sig")
    return list(csv.reader(io.StringIO(text, newline=""))), made.getvalue()


def as_workbook(what):
    """Return the cells of a table after it went through a workbook."""
    made = io.BytesIO()
    write_workbook(what, made)
    book = openpyxl.load_workbook(io.BytesIO(made.getvalue()))
    return list(book.worksheets[0].iter_rows())


def test_amounts_stay_exact():
    """Trailing zeros are what the scale showed; nothing turns into a power of ten."""
    rows, data = as_csv(table(('Zoë; "jar"', Decimal("250.10"), 3), (None, Decimal("1E+3"), 0)))

    assert rows[1:] == [['Zoë; "jar"', "250.10", "3"], ["", "1000", "0"]]
    assert data.startswith(b"\xef\xbb\xbfname,net (g),count\r\n")


def test_a_workbook_holds_numbers_as_numbers_and_long_ones_as_text():
    """A spreadsheet keeps 15 digits; a longer figure is not rounded in silence."""
    long = Decimal("1234567890.1234567")
    _, first, second = as_workbook(table(("a", Decimal("250.10"), 3), ("b", long, None)))

    assert [cell.value for cell in first] == ["a", 250.1, 3]
    assert [cell.value for cell in second] == ["b", "1234567890.1234567", None]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n"])
def test_text_that_begins_like_a_formula_is_not_obeyed(start):
    """A product may be called anything; a number below zero is still a number."""
    typed = f'{start}HYPERLINK("http://x","y")'
    rows, _ = as_csv(table((typed, Decimal("-0.5"), -1)))
    [_, cells] = as_workbook(table((typed, Decimal("-0.5"), -1)))

    assert rows[1] == [f"'{typed}", "-0.5", "-1"]
    assert cells[0].data_type == "s"
    assert cells[0].value.lstrip() == typed.lstrip()
    assert [cell.data_type for cell in cells[1:]] == ["n", "n"]


@given(st.text(max_size=40))
def test_any_text_can_be_written(text):
    """Half signs and control signs included; what can stand in the file stands there."""
    rows, _ = as_csv(table((text, Decimal(1), 1)))
    [_, cells] = as_workbook(table((text, Decimal(1), 1)))

    told = text.encode("utf-8", "replace").decode()
    assert rows[1][0].lstrip("'") == told.lstrip("'")
    assert cells[0].data_type != "f"


def test_a_sheet_that_is_full_says_so(monkeypatch):
    """No row is left out in silence."""
    monkeypatch.setattr(spreadsheet, "_MOST_ROWS", 2)
    rows = [("a", Decimal(1), 1)] * 3

    with pytest.raises(BadInput, match="Take CSV"):
        write_workbook(table(*rows), io.BytesIO())
    assert write_csv(table(*rows), io.BytesIO()) == 3
