"""Reads the rows of a damaged file: whatever can be read, and which places cannot."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fillwright.errors import JournalError
from fillwright.records.codec import GENESIS
from fillwright.store.chain import Row, hash_of_row
from fillwright.store.tables import entries

__all__ = ["COLUMNS", "Salvage", "is_as_written", "salvage", "spans"]

COLUMNS: Final = tuple(column.name for column in entries.columns)
_PAGE: Final = 200
_GIVE_UP: Final = 2000
"""Places in a row that cannot be read, after which there is taken to be nothing more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Salvage:
    """What can be read of a damaged file.

    Parameters
    ----------
    rows : tuple of Row
        In order of place.
    whole : int
        How many of them, from the first on, are a chain without a gap.
    last : int
        Place of the last entry there was, as far as that is known.
    lost : tuple of int
        Places that cannot be read.
    """

    rows: tuple[Row, ...]
    whole: int
    last: int
    lost: tuple[int, ...]


def salvage(path: Path) -> Salvage:
    """Read every row of a damaged file that can be read; the file is only read.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Salvage
        At least one row.

    Raises
    ------
    JournalError
        If nothing at all can be read.
    """
    try:
        with closing(_opened(path)) as connection:
            head = _head(connection)
            rows = tuple(_readable(connection, head))
    except sqlite3.Error as error:
        message = f"Nothing of {path} can be read ({error}): restore a backup."
        raise JournalError(message) from error
    if not rows:
        message = f"No entry of {path} can be read: restore a backup."
        raise JournalError(message)
    last = max(head, int(rows[-1][0]))
    seen = {row[0] for row in rows}
    lost = tuple(seq for seq in range(1, last + 1) if seq not in seen)
    return Salvage(rows=rows, whole=_whole(rows), last=last, lost=lost)


def is_as_written(row: Row) -> bool:
    """Return whether a row's own hash fits what it holds."""
    try:
        return bool(hash_of_row(row) == row[-1])
    except (UnicodeEncodeError, TypeError, ValueError):
        return False


def spans(places: tuple[int, ...]) -> Iterator[str]:
    """Yield places as spans: ``"3"``, ``"7 to 9"``."""
    start = None
    for at, seq in enumerate(places):
        start = seq if start is None else start
        if at + 1 == len(places) or places[at + 1] != seq + 1:
            yield str(seq) if seq == start else f"{start} to {seq}"
            start = None


def _opened(path: Path) -> sqlite3.Connection:
    """Open a damaged file to read; with its log where that can be read, else without."""
    for mode in ("mode=ro", "mode=ro&immutable=1"):
        connection = sqlite3.connect(f"{path.as_uri()}?{mode}", uri=True, isolation_level=None)
        connection.text_factory = lambda raw: raw.decode("utf-8", "replace")
        try:
            connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        except sqlite3.Error:
            connection.close()
            if "immutable" in mode:
                raise
        else:
            return connection
    raise AssertionError


def _head(connection: sqlite3.Connection) -> int:
    """Return the place of the last entry as the head says it, or 0 where it is unreadable."""
    try:
        row = connection.execute("SELECT seq FROM head").fetchone()
    except sqlite3.Error:
        return 0
    return int(row[0]) if row and isinstance(row[0], int) else 0


def _readable(connection: sqlite3.Connection, head: int) -> Iterator[Row]:
    """Yield every row that can be read, a page at a time and one by one around damage."""
    names = ", ".join(COLUMNS)
    page = f"SELECT {names} FROM entries WHERE seq > ? ORDER BY seq LIMIT {_PAGE}"  # noqa: S608  our own names
    one = f"SELECT {names} FROM entries WHERE seq = ?"  # noqa: S608  our own names
    after, silent = 0, 0
    while after < head or silent < _GIVE_UP:
        try:
            rows = connection.execute(page, (after,)).fetchall()
        except sqlite3.Error:
            rows = None
        if rows:
            yield from rows
            after, silent = int(rows[-1][0]), 0
            continue
        if rows is not None and after >= head:
            return
        for seq in range(after + 1, after + 1 + _PAGE):
            try:
                row = connection.execute(one, (seq,)).fetchone()
            except sqlite3.Error:
                row = None
            if row is None:
                silent += 1
            else:
                silent = 0
                yield row
        after += _PAGE


def _whole(rows: tuple[Row, ...]) -> int:
    """Return how many rows from the first on are a whole chain."""
    previous = GENESIS
    for count, row in enumerate(rows):
        if row[0] != count + 1 or row[-2] != previous or not is_as_written(row):
            return count
        previous = row[-1]
    return len(rows)
