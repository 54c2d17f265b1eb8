"""Tables as CSV and as a workbook: exact figures, and no text that a spreadsheet would obey.

A cell of text that begins like a formula is data that somebody typed; in CSV an apostrophe
goes before it, in a workbook it is stored as text.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import BinaryIO, Final

from fillwright.errors import BadInput
from fillwright.records.table import Cell, Table

__all__ = ["write_csv", "write_workbook"]

_STARTS_A_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\n")
_NOT_IN_XML: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_MOST_ROWS: Final = 1_048_575
_MOST_DIGITS: Final = 15
_MOST_LETTERS: Final = 32_767


def write_csv(table: Table, to: BinaryIO) -> int:
    """Write a table as CSV (RFC 4180) in UTF-8 with its mark, and return the number of rows.

    Parameters
    ----------
    table : Table
        Its rows are read one by one.
    to : BinaryIO
        Where to.

    Returns
    -------
    int
        Rows below the headers.
    """
    # A pair of signs that is only half there cannot be written; it is shown as a question mark.
    text = io.TextIOWrapper(to, encoding="utf-8-sig", errors="replace", newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(table.headers)
    count = 0
    for row in table.rows:
        writer.writerow([_plain(cell) for cell in row])
        count += 1
    text.flush()
    text.detach()
    return count


def write_workbook(table: Table, to: BinaryIO) -> int:
    """Write a table as a workbook with one sheet, and return the number of rows.

    Parameters
    ----------
    table : Table
        Its rows are read one by one.
    to : BinaryIO
        Where to.

    Returns
    -------
    int
        Rows below the headers.

    Raises
    ------
    BadInput
        If there are more rows than a sheet holds.
    """
    import openpyxl  # noqa: PLC0415  heavy, needed only for a workbook
    from openpyxl.cell import WriteOnlyCell  # noqa: PLC0415

    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet(table.name)
    sheet.freeze_panes = "A2"

    def stored(cell: Cell) -> object:
        if isinstance(cell, Decimal):
            # A spreadsheet keeps 15 digits; a longer figure stays whole as text.
            return cell if len(cell.as_tuple().digits) <= _MOST_DIGITS else f"{cell:f}"
        if not isinstance(cell, str) or not cell:
            return cell
        told = _NOT_IN_XML.sub("\ufffd", cell)[:_MOST_LETTERS]
        if not told.startswith("="):
            return told
        text = WriteOnlyCell(sheet, value="")
        text.value, text.data_type = told, "s"
        return text

    count = 0
    try:
        sheet.append(table.headers)
        for row in _as_many_as_fit(table.rows):
            sheet.append([stored(cell) for cell in row])
            count += 1
    except BaseException:
        # The library writes rows through a file of its own, which is let go here.
        book.save(io.BytesIO())
        raise
    book.save(to)
    return count


def _as_many_as_fit(rows: Iterable[tuple[Cell, ...]]) -> Iterator[tuple[Cell, ...]]:
    """Yield the rows; raise BadInput at the first that a sheet has no room for."""
    for count, row in enumerate(rows):
        if count == _MOST_ROWS:
            message = f"A sheet holds {_MOST_ROWS:,} rows. Take CSV, or one job at a time."
            raise BadInput(message, field="file", allowed="a .csv file", code="range")
        yield row


def _plain(cell: Cell) -> str:
    """Return a cell as the text that stands in the file."""
    if cell is None:
        return ""
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    text = str(cell)
    return f"'{text}" if isinstance(cell, str) and text.startswith(_STARTS_A_FORMULA) else text
