"""Rows of cells out of the first sheet of an .xlsx workbook that is not hidden."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from typing import Final

from fillwright.errors import BadInput
from fillwright.records.columns import MOST_ROWS, Row

__all__ = ["Sheet", "rows_of_workbook"]

_MOST_COLUMNS: Final = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The sheet that was read; `name` is empty where the workbook shows only one."""

    name: str
    rows: tuple[Row, ...]


def rows_of_workbook(data: bytes, *, source: str) -> Sheet:
    """Return the rows of the first sheet that is not hidden.

    A spreadsheet keeps 15 digits of a number and computes with binary ones, so a cell that
    shows 240 may hold 239.99999999999997; the 15 digits are what was meant.

    Parameters
    ----------
    data : bytes
        The whole file.
    source : str
        Its name, for messages.

    Returns
    -------
    Sheet
        Every row that holds anything, with its number in the sheet.

    Raises
    ------
    BadInput
        If the file is no workbook, or has too many rows.
    """
    import openpyxl  # noqa: PLC0415  heavy, needed only for a workbook

    rows: list[Row] = []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
            shown = [one for one in book.worksheets if one.sheet_state == "visible"]
            sheet = shown[0]
            # The size that a file states can be wrong, and would cut rows off.
            sheet.reset_dimensions()
            for number, cells in enumerate(
                sheet.iter_rows(values_only=True, max_col=_MOST_COLUMNS), start=1
            ):
                if any(cell is not None for cell in cells):
                    rows.append(Row(number=number, cells=_texts(cells)))
                if len(rows) > MOST_ROWS + 1:
                    break
            name = str(sheet.title) if len(shown) > 1 else ""
            book.close()
    except Exception as error:  # a damaged file fails in the reader in many ways
        message = f"{source}: the workbook cannot be read; save it again, or as CSV."
        raise BadInput(
            message, field=source, allowed="a CSV file or an .xlsx workbook", code="type"
        ) from error
    return Sheet(name=name, rows=tuple(rows))


def _texts(cells: tuple[object, ...]) -> tuple[str, ...]:
    """Return cells as text, without the empty ones behind the last."""
    texts = [_text(cell) for cell in cells]
    while texts and not texts[-1]:
        texts.pop()
    return tuple(texts)


def _text(cell: object) -> str:
    """Return a cell as text, a number by the digits that a spreadsheet keeps."""
    if cell is None:
        return ""
    return f"{cell:.15g}" if isinstance(cell, float) else str(cell).strip()
