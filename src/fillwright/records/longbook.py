"""A workbook opened to be read row by row, however long its sheets are.

Loaded only where a workbook is read, since the library behind it is heavy.
"""

from __future__ import annotations

import re
import warnings
from typing import Any, BinaryIO, Final

from openpyxl.reader.excel import ExcelReader
from openpyxl.worksheet._read_only import ReadOnlyWorksheet

__all__ = ["open_book", "rows_about"]

_LOOKED_AT: Final = 200_000
_ROW: Final = re.compile(rb"<(?:\w+:)?row[ >]")
_SIZE: Final = re.compile(rb'<(?:\w+:)?dimension ref="[A-Z]+\d+:[A-Z]+(\d{1,7})"')


class _Unmeasured(ReadOnlyWorksheet):  # type: ignore[misc]  # the library gives no types
    """A sheet whose size is not looked for: where it is not stated, that reads all of it."""

    def _get_size(self) -> None:
        """Leave the size open, so that no row is cut off by a wrong one either."""


class _Reader(ExcelReader):  # type: ignore[misc]  # the library gives no types
    """Reads a workbook without looking into its sheets."""

    def read_worksheets(self) -> None:
        """Take every sheet of cells by its name."""
        for sheet, link in self.parser.find_sheets():
            if link.target in self.valid_files and "chartsheet" not in link.Type:
                page = _Unmeasured(self.wb, sheet.name, link.target, self.shared_strings)
                page.sheet_state = sheet.state
                self.wb._sheets.append(page)  # noqa: SLF001  as the library itself does


def open_book(file: BinaryIO) -> Any:  # noqa: ANN401  the library gives no types
    """Return a workbook for reading; formulas give the value that was last shown."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        reader = _Reader(file, read_only=True, data_only=True, keep_links=False)
        reader.read()
        return reader.wb


def rows_about(page: Any) -> int:  # noqa: ANN401  the library gives no types
    """Return how many rows a sheet has: as it states, else by the size of its first rows."""
    archive = page.parent._archive  # noqa: SLF001  the only way to its bytes
    path = page._worksheet_path  # noqa: SLF001  likewise
    with archive.open(path) as data:
        begin = data.read(_LOOKED_AT)
    told = _SIZE.search(begin[:4000])
    if told is not None:
        return int(told[1])
    whole: int = archive.getinfo(path).file_size
    return round(len(_ROW.findall(begin)) * whole / max(len(begin), 1))
