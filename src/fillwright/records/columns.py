"""From the bytes of a file of weights to rows of cells, and the column that is meant.

Takes comma, semicolon, tab or bar between the cells; UTF-8, UTF-16 or a western code page.
Nothing is guessed away: what does not fit is named by file, row and column.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fillwright.errors import BadInput
from fillwright.records.figures import looks_like_figure
from fillwright.records.summaries import is_summary
from fillwright.records.units import unit_named

__all__ = [
    "Column",
    "Grid",
    "Role",
    "Row",
    "columns",
    "grid_from_bytes",
    "grid_from_text",
    "text_from_bytes",
]

MOST_BYTES: Final = 64_000_000
MOST_ROWS: Final = 200_000
_LOOKED_AT: Final = 400
_LINE: Final = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+$")
_REMARK: Final = "# "
_BETWEEN: Final = (";", "\t", "|")
_ZIP: Final = b"PK\x03\x04"
_OLD_WORKBOOK: Final = b"\xd0\xcf\x11\xe0"
_LETTERS: Final = re.compile(r"[^\W\d_]+")
_SIZE: Final = re.compile(r"\d\s*$")
_FLUID: Final = re.compile(r"\bfl(?:uid|\b\.?)[\s_]*(?:oz|ounce)|\bfloz", re.IGNORECASE)
_NET: Final = ("net", "nett", "neto", "netto")
_GROSS: Final = ("gross", "bruto", "brutto")
_TARE: Final = ("tare", "empty", "tara")
_PLAIN: Final = (
    "weight", "weights", "weighing", "reading", "readings", "mass", "dose", "doses",
    "value", "values", "shot", "fill", "content", "contents",
)  # fmt: skip


class Role(StrEnum):
    """What a column of weights holds, by the words of its header."""

    NET = "net"
    GROSS = "gross"
    TARE = "tare"
    PLAIN = "plain"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of cells; `number` is the line in the file or the row of the sheet."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """A file as rows of cells.

    Parameters
    ----------
    source : str
        Name of the file, for messages.
    between : str
        What stood between the cells; empty where nothing did.
    header : tuple of str
        Words above the columns; empty where there are none.
    rows : tuple of Row
        The rows below the header that hold anything.
    """

    source: str
    between: str
    header: tuple[str, ...]
    rows: tuple[Row, ...]

    def refusal(
        self,
        what: str,
        *,
        row: int | None = None,
        column: str = "",
        given: object = None,
        allowed: str = "",
        code: str = "type",
    ) -> BadInput:
        """Return the error that names the file, the row and the column."""
        place = self.source
        place += f", row {row}" if row is not None else ""
        place += f", column {column}" if column else ""
        return BadInput(f"{place}: {what}.", field=place, given=given, allowed=allowed, code=code)


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column by its place, its name as written, its role and its unit (empty if unsaid)."""

    index: int
    name: str
    role: Role
    unit: str


def grid_from_bytes(data: bytes, *, source: str) -> Grid:
    """Return the rows of a file, be it text or a workbook.

    Parameters
    ----------
    data : bytes
        The whole file.
    source : str
        Its name, for messages.

    Returns
    -------
    Grid
        Header and rows.

    Raises
    ------
    BadInput
        If the file is empty, too large, or no table of text.
    """
    if len(data) > MOST_BYTES:
        message = f"{source}: the file has {len(data)} bytes; at most {MOST_BYTES} are read."
        raise BadInput(message, field=source, given=len(data), allowed=f"up to {MOST_BYTES} bytes")
    if data.startswith(_OLD_WORKBOOK):
        message = f"{source}: this is a workbook of the old kind; save it as .xlsx or .csv."
        raise BadInput(
            message, field=source, allowed="a CSV file or an .xlsx workbook", code="type"
        )
    if data.startswith(_ZIP):
        from fillwright.records.workbook import rows_of_workbook  # noqa: PLC0415  heavy, rarely needed

        sheet = rows_of_workbook(data, source=source)
        name = f"{source}, sheet {sheet.name}" if sheet.name else source
        return _grid(list(sheet.rows), between="", source=name)
    return grid_from_text(text_from_bytes(data, source=source), source=source)


def text_from_bytes(data: bytes, *, source: str) -> str:
    """Return the text that the bytes hold.

    Parameters
    ----------
    data : bytes
        UTF-8 or UTF-16 with or without a byte order mark, or a code page of western Europe.
    source : str
        Name of the file, for messages.

    Returns
    -------
    str
        The text without a byte order mark.

    Raises
    ------
    BadInput
        If the bytes are not text.
    """
    encoding = "utf-8-sig"
    if data[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        encoding = "utf-16"
    elif len(data) % 2 == 0 and (nuls := data[:4000].count(0)) * 5 > len(data[:4000]):
        encoding = "utf-16-le" if data[1:4000:2].count(0) == nuls else "utf-16-be"
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError:
        text = "\0" if encoding.startswith("utf-16") else data.decode("cp1252", errors="replace")
    if any(sign < " " and sign not in "\t\n\r\f\x1a" for sign in text):
        message = f"{source}: this is not text; give a CSV file or an .xlsx workbook of weights."
        raise BadInput(
            message, field=source, allowed="a CSV file or an .xlsx workbook", code="type"
        )
    return text.rstrip("\x1a")


def grid_from_text(text: str, *, source: str) -> Grid:
    """Return the rows of a text with one reading a line or with cells in columns.

    Parameters
    ----------
    text : str
        The text; blank lines and lines that start with ``#`` and a space hold nothing.
    source : str
        Name of the file, for messages.

    Returns
    -------
    Grid
        Header and rows.

    Raises
    ------
    BadInput
        If there is nothing in it, or a row has more cells than the header.
    """
    lines = _LINE.findall(text)
    told = lines[0].strip()[4:5] if lines and lines[0][:4].lower() == "sep=" else ""
    filled = [
        line.strip("\r\n")
        for line in lines[1 if told else 0 : _LOOKED_AT]
        if line.strip() and not line.startswith(_REMARK)
    ]
    between = told or _separator(filled, source=source)
    reader = csv.reader(lines, delimiter=between or "\x1f", skipinitialspace=True, strict=True)
    rows: list[Row] = []
    try:
        for cells in reader:
            first = cells[0] if cells else ""
            if not first.startswith(_REMARK) and not (told and reader.line_num == 1):
                stripped = tuple(cell.strip() for cell in cells)
                rows.append(Row(number=reader.line_num, cells=stripped))
    except csv.Error as error:
        place = f"{source}, row {reader.line_num}"
        message = f"{place}: the row cannot be read ({error})."
        raise BadInput(message, field=place, code="type") from error
    return _grid(rows, between=between, source=source)


def columns(grid: Grid) -> tuple[Column, ...]:
    """Return the columns with what their headers say.

    Parameters
    ----------
    grid : Grid
        A file as rows of cells.

    Returns
    -------
    tuple of Column
        One for each column; without a header they are ``column 1`` and so on.
    """
    if not grid.header:
        width = max(len(row.cells) for row in grid.rows)
        return tuple(
            Column(index=at, name=f"column {at + 1}", role=Role.PLAIN, unit="")
            for at in range(width)
        )
    found: list[Column] = []
    for index, name in enumerate(grid.header):
        words = _LETTERS.findall(name.lower())
        found.append(
            Column(
                index=index,
                name=name,
                role=_role(words),
                unit=_unit(name),
            )
        )
    return tuple(found)


def _role(words: list[str]) -> Role:
    """Return what a header's words say that a column holds."""
    for role, known in ((Role.NET, _NET), (Role.GROSS, _GROSS), (Role.TARE, _TARE)):
        if any(word in known or word.startswith(known[-1]) for word in words):
            return role
    return Role.PLAIN if any(word in _PLAIN for word in words) else Role.OTHER


def _unit(name: str) -> str:
    """Return the unit in a header: its last word, else a longer one among the others."""
    if _FLUID.search(name):
        return "fl oz"
    # A size such as the 8 oz of a jar is no unit of the column, and a single letter in the
    # middle of a header none either.
    words = [
        (match[0], "" if _SIZE.search(name, 0, match.start()) else unit_named(match[0]))
        for match in _LETTERS.finditer(name)
    ]
    if words and words[-1][1]:
        return words[-1][1]
    return next((unit for word, unit in words if unit and len(word) > 1), "")


def _separator(filled: list[str], *, source: str) -> str:
    """Return what stands between the cells, or an empty text where each line is one cell."""
    for mark in _BETWEEN:
        if filled and all(mark in line for line in filled[:1]):
            return mark
    commas = [line.count(",") for line in filled]
    if not any(commas):
        return ""
    first_is_header = bool(filled) and not looks_like_figure(filled[0])
    rest = filled[1:] if first_is_header else filled
    if all(looks_like_figure(line) for line in rest if '"' not in line):
        if first_is_header and commas[0] == 0:
            return ""
        if not first_is_header and all('"' not in line for line in rest):
            message = (
                f"{source}: each line has a comma and there is no header, so 248,18 can be one "
                "number or two; put a header above, such as net (g)."
            )
            raise BadInput(message, field=source, given=filled[0], allowed="a header", code="type")
    return ","


def _grid(rows: list[Row], *, between: str, source: str) -> Grid:
    """Return rows with their header apart, after checking their shape."""
    filled = [row for row in rows if any(row.cells)]
    if not filled:
        message = f"{source}: there is nothing in it; give one weight a row."
        raise BadInput(message, field=source, allowed="one weight a row", code="missing")
    has_header = not all(looks_like_figure(cell) for cell in filled[0].cells if cell)
    header = filled[0].cells if has_header else ()
    grid = Grid(
        source=source,
        between=between,
        header=header,
        rows=tuple(filled[1:] if has_header else filled),
    )
    if len(grid.rows) > MOST_ROWS:
        what = f"over {MOST_ROWS} rows; give fewer"
        raise grid.refusal(what, allowed=f"up to {MOST_ROWS} rows", code="range")
    if not grid.rows:
        raise grid.refusal("there is a header and no weight below it", code="missing")
    width = Counter(len(row.cells) for row in grid.rows).most_common(1)[0][0]
    width = len(header) if has_header else width
    for row in grid.rows:
        if any(row.cells[width:]):
            what = f"{len(row.cells)} cells where {width} belong"
            if not all(looks_like_figure(cell) for cell in row.cells if cell):
                what += "; where a title stands above the header, take it out"
            elif between == ",":
                what += "; a decimal comma needs quotes around the number, or semicolons"
            raise grid.refusal(what, row=row.number, given=",".join(row.cells)[:80])
        summary = next((cell for cell in row.cells if is_summary(cell)), "")
        if summary:
            what = f"{summary!r} looks like a summary and not a weighing; take the row out"
            raise grid.refusal(what, row=row.number, given=summary)
    return grid
