"""Rows of cells out of the first sheet of an .xlsx workbook."""

from __future__ import annotations

import io
import warnings
from typing import Final

from fillwright.errors import BadInput
from fillwright.records.columns import MOST_ROWS, Row

__all__ = ["rows_of_workbook"]

_MOST_COLUMNS: Final = 200


def rows_of_workbook(data: bytes, *, source: str) -> list[Row]:
    """Return the rows of the first sheet, numbers by their shortest decimal text.

    Parameters
    ----------
    data : bytes
        The whole file.
    source : str
        Its name, for messages.

    Returns
    -------
    list of Row
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
            sheet = book.worksheets[0]
            for number, cells in enumerate(
                sheet.iter_rows(values_only=True, max_col=_MOST_COLUMNS), start=1
            ):
                if any(cell is not None for cell in cells):
                    rows.append(Row(number=number, cells=_texts(cells)))
                if len(rows) > MOST_ROWS:
                    break
            book.close()
    except Exception as error:  # a damaged file fails in the reader in many ways
        message = f"{source}: the workbook cannot be read; save it again, or as CSV."
        raise BadInput(
            message, field=source, allowed="a CSV file or an .xlsx workbook", code="type"
        ) from error
    return rows


def _texts(cells: tuple[object, ...]) -> tuple[str, ...]:
    """Return cells as text, without the empty ones behind the last."""
    texts = ["" if cell is None else str(cell).strip() for cell in cells]
    while texts and not texts[-1]:
        texts.pop()
    return tuple(texts)
