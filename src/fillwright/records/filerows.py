"""A file from outside as rows of cells, read one by one: text or workbook, of any length.

Only the row in hand and what is shown first are held in memory. Nothing in a file is run:
formulas give the value that was last shown, links and macros are passed over.
"""

from __future__ import annotations

import codecs
import csv
import io
import zipfile
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import suppress
from hashlib import sha256
from itertools import pairwise
from pathlib import Path
from typing import Any, BinaryIO, Final

from fillwright.errors import BadInput
from fillwright.records.columns import Row
from fillwright.records.figures import looks_like_figure
from fillwright.records.summaries import is_summary

__all__ = ["LONGEST_FILE", "MOST_FILE_ROWS", "FileRows"]

LONGEST_FILE: Final = 200_000_000
MOST_FILE_ROWS: Final = 1_200_000
MOST_COLUMNS: Final = 200
_LONGEST_CELL: Final = 400
_LOOKED_AT: Final = 400
_BETWEEN: Final = (";", "\t", "|", ",")
_PIECE: Final = 1 << 20
_ZIP: Final = b"PK\x03\x04"
_OLD_WORKBOOK: Final = b"\xd0\xcf\x11\xe0"
_UNPACKED: Final = 2_000_000_000
_MOST_WORDS: Final = 200_000_000
_MOST_PARTS: Final = 5_000
_SWOLLEN_BYTES: Final = 20_000_000
_SWOLLEN_TIMES: Final = 200
"""No sheet of rows unpacks to so many times itself: those of weights to some fifteen times."""
_HEADING_WITHIN: Final = 30


class FileRows:
    """The rows of a file, as often as they are asked for.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        What people call it.
    sheet : str
        Which sheet of a workbook; the first that is not hidden when left out.
    heading_row : int or None
        The row of the headings, 0 where there are none; found when left out.

    Raises
    ------
    BadInput
        If it is empty, too large, or neither text nor a workbook.
    """

    def __init__(
        self, path: Path, *, name: str, sheet: str = "", heading_row: int | None = None
    ) -> None:
        self.path = path
        self.name = name
        self.size_bytes = path.stat().st_size
        self.sheets: tuple[str, ...] = ()
        self.sheet = ""
        self.hidden = 0
        self.between = ""
        self._encoding = ""
        self._done_bytes = 0
        self._rows_told = 0
        if not self.size_bytes or self.size_bytes > LONGEST_FILE:
            raise self.refusal(
                "there is nothing in it"
                if not self.size_bytes
                else f"it is larger than {LONGEST_FILE // 1_000_000} MB; split it"
            )
        with path.open("rb") as file:
            begin = file.read(8)
        if begin.startswith(_OLD_WORKBOOK):
            raise self.refusal("this is a workbook of the old kind; save it as .xlsx or .csv")
        self.is_workbook = begin.startswith(_ZIP)
        if self.is_workbook:
            self._look_into_workbook(sheet)
        else:
            self._look_into_text()
        self.first = tuple(row for row, _ in zip(self._all(), range(_LOOKED_AT), strict=False))
        if not self.first:
            raise self.refusal("there is nothing in it")
        self.heading_row = _heading_row(self.first) if heading_row is None else heading_row
        self.header = next((row.cells for row in self.first if row.number == self.heading_row), ())
        if not self.preview(1):
            raise self.refusal("there is a heading and nothing below it")
        width = max(len(row.cells) for row in self.first if row.number >= self.heading_row)
        self.headings = tuple(
            (self.header[at] if at < len(self.header) else "") or f"column {at + 1}"
            for at in range(width)
        )

    def refusal(self, why: str) -> BadInput:
        """Return the error that says why the file is not taken."""
        return BadInput(
            f"{self.name}: {why}.",
            field="file",
            given=self.name,
            allowed="a CSV file or an .xlsx workbook",
            code="type",
        )

    def preview(self, count: int = 8) -> tuple[Row, ...]:
        """Return the first rows below the headings."""
        return tuple(row for row in self.first if row.number > self.heading_row)[:count]

    def rows(self) -> Iterator[Row]:
        """Yield the rows below the headings that hold anything.

        Yields
        ------
        Row
            With its number in the file or sheet.

        Raises
        ------
        BadInput
            If a row cannot be read at all, or there are too many.
        """
        count = 0
        for row in self._all():
            if row.number > self.heading_row:
                count += 1
                if count > MOST_FILE_ROWS:
                    raise self.refusal(f"it has over {MOST_FILE_ROWS:,} rows; split it")
                yield row

    def share(self) -> float:
        """Return how far the reading has come, from 0 to 1."""
        if self.is_workbook:
            return min(self._done_bytes / self._rows_told, 1.0) if self._rows_told else 0.0
        return min(self._done_bytes / self.size_bytes, 1.0)

    def digest(self) -> str:
        """Return the SHA-256 of the bytes of the file."""
        found = sha256()
        with self.path.open("rb") as file:
            while piece := file.read(_PIECE):
                found.update(piece)
        return found.hexdigest()

    def _all(self) -> Iterator[Row]:
        """Yield every row that holds anything, from the top."""
        return self._workbook_rows() if self.is_workbook else self._text_rows()

    def _look_into_text(self) -> None:
        """Find the encoding and what stands between the cells."""
        with self.path.open("rb") as file:
            begin = file.read(4000)
            if begin[:2] in {b"\xff\xfe", b"\xfe\xff"}:
                self._encoding = "utf-16"
            elif (nuls := begin.count(0)) * 5 > len(begin):
                little = begin[1::2].count(0) == nuls
                self._encoding = "utf-16-le" if little else "utf-16-be"
            else:
                self._encoding = "utf-8-sig" if _is_utf8(file, begin) else "cp1252"
        try:
            lines = [line for line, _ in zip(self._lines(), range(_LOOKED_AT), strict=False)]
        except UnicodeDecodeError as error:
            raise self.refusal("this is not text; save it as CSV or .xlsx") from error
        if any(sign < " " and sign not in "\t\n\r\f\x1a" for line in lines for sign in line):
            raise self.refusal("this is not text; save it as CSV or .xlsx")
        told = lines[0].strip()[4:5] if lines and lines[0][:4].lower() == "sep=" else ""
        filled = [line.strip("\r\n") for line in lines if line.strip()]
        self.between = told or self._between_cells(filled)

    def _between_cells(self, filled: Sequence[str]) -> str:
        """Return what stands between the cells: what most lines hold equally often.

        The upper half may be titles; a comma is also a decimal mark, so it comes last.
        """
        below = filled[len(filled) // 2 :]
        for mark in _BETWEEN:
            counts = Counter(line.count(mark) for line in below)
            often = max((many for count, many in counts.items() if count), default=0)
            if often * 2 > len(below):
                break
        else:
            return ""
        if mark != ",":
            return mark
        first = next((at for at, line in enumerate(filled) if looks_like_figure(line)), None)
        rest = [line for line in below if '"' not in line and "," in line]
        if first is not None and all(looks_like_figure(line) for line in rest):
            if first and "," not in filled[first - 1]:
                return ""
            if not first:
                raise self.refusal(
                    "each line has a comma and there is no heading, so 248,18 can be one number "
                    "or two; put a heading above, such as net (g)"
                )
        return mark

    def _lines(self) -> Iterator[str]:
        """Yield the lines of a text, their ends kept."""
        with self.path.open("rb") as file:
            counted = _Counted(file)
            text = io.TextIOWrapper(
                io.BufferedReader(counted, _PIECE),
                encoding=self._encoding,
                errors="replace" if self._encoding == "cp1252" else "strict",
                newline="",
            )
            for line in text:
                if len(line) > _LONGEST_CELL * MOST_COLUMNS:
                    raise self.refusal("a line has no end; this is no table")
                self._done_bytes = counted.done
                yield line

    def _text_rows(self) -> Iterator[Row]:
        """Yield the rows of a text."""
        reader = csv.reader(self._lines(), delimiter=self.between or "\x1f", skipinitialspace=True)
        number = 0
        try:
            for cells in reader:
                number = reader.line_num
                if any(cells) and not (number == 1 and cells[0][:4].lower() == "sep="):
                    told = [cell.strip("\ufeff\x1a \t") for cell in cells[:MOST_COLUMNS]]
                    if any(told):
                        yield Row(number=number, cells=tuple(told))
        except csv.Error as error:
            raise self.refusal(f"row {number + 1} cannot be read ({error})") from error
        except UnicodeDecodeError as error:
            raise self.refusal(f"row {number + 1} is not text") from error

    def _look_into_workbook(self, sheet: str) -> None:
        """Find the sheets that are shown, after a look at how much would be unpacked."""
        try:
            with zipfile.ZipFile(self.path) as packed:
                parts = packed.infolist()
        except (zipfile.BadZipFile, OSError, ValueError) as error:
            raise self.refusal("the workbook cannot be read; save it again") from error
        words = sum(one.file_size for one in parts if "sharedStrings" in one.filename)
        whole = sum(one.file_size for one in parts)
        swollen = any(
            one.file_size > max(_SWOLLEN_BYTES, _SWOLLEN_TIMES * one.compress_size)
            for one in parts
        )
        if len(parts) > _MOST_PARTS or whole > _UNPACKED or words > _MOST_WORDS or swollen:
            raise self.refusal("it unpacks to far more than a workbook of weights; save as CSV")
        with self._book() as book:
            shown = [one for one in book.worksheets if one.sheet_state == "visible"]
            self.hidden = len(book.worksheets) - len(shown)
            self.sheets = tuple(str(one.title) for one in shown)
        if not self.sheets:
            raise self.refusal("no sheet of the workbook is shown")
        if sheet and sheet not in self.sheets:
            named = ", ".join(self.sheets)
            raise self.refusal(f"there is no sheet {sheet!r} that is shown; there are {named}")
        self.sheet = sheet or self.sheets[0]

    def _workbook_rows(self) -> Iterator[Row]:
        """Yield the rows of the chosen sheet."""
        from fillwright.records.longbook import rows_about  # noqa: PLC0415  heavy, rarely needed

        with self._book() as book:
            page = book[self.sheet]
            self._rows_told = rows_about(page)
            rows = page.iter_rows(values_only=True)
            try:
                for number, cells in enumerate(rows, start=1):
                    self._done_bytes = number
                    if any(cell is not None for cell in cells):
                        texts = _texts(cells[:MOST_COLUMNS])
                        if any(texts):
                            yield Row(number=number, cells=texts)
            except BadInput:
                raise
            except Exception as error:  # a damaged sheet fails in the reader in many ways
                raise self.refusal("the sheet cannot be read; save it again") from error

    def _book(self) -> Any:  # noqa: ANN401  the library gives no types
        """Open the workbook; left by closing it."""
        from fillwright.records.longbook import open_book  # noqa: PLC0415  heavy, rarely needed

        # Given open, since the library would judge a path by its ending.
        file = self.path.open("rb")
        try:
            return _Closing(open_book(file), file)
        except Exception as error:  # a damaged file fails in the reader in many ways
            file.close()
            raise self.refusal("the workbook cannot be read; save it again") from error


class _Closing:
    """Lets go of a workbook at the end."""

    def __init__(self, book: Any, file: BinaryIO) -> None:  # noqa: ANN401  without types
        self._book = book
        self._file = file

    def __enter__(self) -> Any:  # noqa: ANN401  the library gives no types
        return self._book

    def __exit__(self, *_: object) -> None:
        self._book.close()
        self._file.close()


class _Counted(io.RawIOBase):
    """A file that counts what was read."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self.done = 0

    def readable(self) -> bool:
        """Say that it can be read."""
        return True

    def readinto(self, buffer: Any) -> int:  # noqa: ANN401  a writable buffer
        """Read into a buffer, and count."""
        piece = self._file.read(len(buffer))
        buffer[: len(piece)] = piece
        self.done += len(piece)
        return len(piece)


def _is_utf8(file: BinaryIO, begin: bytes) -> bool:
    """Say whether a whole file is UTF-8; looked at piece by piece."""
    decoder = codecs.getincrementaldecoder("utf-8")()
    with suppress(UnicodeDecodeError):
        decoder.decode(begin)
        while piece := file.read(_PIECE):
            decoder.decode(piece)
        decoder.decode(b"", final=True)
        return True
    return False


def _texts(cells: Sequence[object]) -> tuple[str, ...]:
    """Return cells as text, without the empty ones behind the last."""
    texts = [_text(cell) for cell in cells]
    while texts and not texts[-1]:
        texts.pop()
    return tuple(texts)


def _text(cell: object) -> str:
    """Return a cell as text, a number by the 15 digits that a spreadsheet keeps."""
    if cell is None:
        return ""
    if isinstance(cell, float):
        return f"{cell:.15g}"
    return (cell if isinstance(cell, str) else str(cell)).strip()


def _heading_row(first: Sequence[Row]) -> int:
    """Return the number of the row of headings: words, with a figure in the row below; or 0."""
    for row, below in pairwise(first[:_HEADING_WITHIN]):
        words = [cell for cell in row.cells if cell and not looks_like_figure(cell)]
        if len(words) < len([cell for cell in row.cells if cell]):
            break
        figures = [at for at, cell in enumerate(below.cells) if looks_like_figure(cell)]
        if any(at < len(row.cells) and row.cells[at] for at in figures):
            return row.number
        if len(words) > 1 and len(words) >= len(below.cells) and not _sums(row):
            return row.number
    only = first[0]
    is_words = not any(looks_like_figure(cell) for cell in only.cells if cell)
    return only.number if is_words and len(only.cells) > 1 else 0


def _sums(row: Row) -> bool:
    """Say whether a row only sums others up."""
    return any(is_summary(cell) for cell in row.cells)
