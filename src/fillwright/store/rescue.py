"""Reads a damaged store as far as it can be read, and says plainly what is lost.

The entries whose chain is whole from the first on become a store of their own; what can be
read beyond a gap is written beside it as JSON lines. The damaged file is only read.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fillwright.errors import BadInput, JournalError
from fillwright.records.codec import GENESIS
from fillwright.store.chain import Row, hash_of_row
from fillwright.store.connections import Connection
from fillwright.store.places import place
from fillwright.store.schema import bring_up_to_date
from fillwright.store.sqlite_file import SqliteFile
from fillwright.store.statements import compiled
from fillwright.store.tables import entries

__all__ = ["Rescued", "rescue"]

_COLUMNS: Final = tuple(column.name for column in entries.columns)
_PAGE: Final = 200
_GIVE_UP: Final = 2000
"""Places in a row that cannot be read, after which there is taken to be nothing more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescued:
    """What could be read of a damaged store.

    Parameters
    ----------
    path : Path
        The new store, with the entries that are whole from the first on.
    whole : int
        How many those are.
    rest : Path or None
        File with what could be read beyond the first gap.
    beyond : int
        How many entries that file holds.
    lost : tuple of str
        Places that could not be read, as spans.
    lost_count : int
        How many places those are.
    words : tuple of str
        The report, one sentence each.
    """

    path: Path
    whole: int
    rest: Path | None
    beyond: int
    lost: tuple[str, ...]
    lost_count: int
    words: tuple[str, ...]


def rescue(where: str | Path, to: str | Path) -> Rescued:
    """Read a damaged store as far as possible into new files.

    Parameters
    ----------
    where : str or Path
        The damaged file; it is only read.
    to : str or Path
        File to make; never overwritten, nor is the one beside it.

    Returns
    -------
    Rescued
        What was saved and what is lost.

    Raises
    ------
    BadInput
        If `to` is there already, or `where` is no file.
    JournalError
        If nothing at all can be read.
    """
    source = place(where)
    target = Path(to).expanduser().absolute()
    rest = target.with_name(f"{target.name}.rest.jsonl")
    if not isinstance(source, SqliteFile) or not source.path.is_file():
        message = f"There is no file at {source.name}. Name the damaged journal."
        raise BadInput(message, field="--store", given=source.name, code="missing")
    for path in (target, rest):
        if path.exists():
            message = f"{path} is there already, and nothing is overwritten: give a new name."
            raise BadInput(message, field="to", given=str(path), allowed="a new name")
    try:
        with closing(_opened(source.path)) as connection:
            head = _head(connection)
            rows = list(_readable(connection, head))
    except sqlite3.Error as error:
        message = f"Nothing of {source.path} can be read ({error}): restore a backup."
        raise JournalError(message) from error
    if not rows:
        message = f"No entry of {source.path} can be read: restore a backup."
        raise JournalError(message)
    whole = _whole(rows)
    beyond = rows[len(whole) :]
    _write_store(target, whole)
    if beyond:
        with rest.open("x", encoding="utf-8") as file:
            for row in beyond:
                file.write(json.dumps(dict(zip(_COLUMNS, row, strict=True)), default=str) + "\n")
    last = max(head, int(rows[-1][0]))
    seen = {row[0] for row in rows}
    lost = [seq for seq in range(1, last + 1) if seq not in seen]
    told = tuple(_spans(lost))
    return Rescued(
        path=target,
        whole=len(whole),
        rest=rest if beyond else None,
        beyond=len(beyond),
        lost=told,
        lost_count=len(lost),
        words=_words(whole, beyond, told, len(lost), last, target, rest),
    )


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
    names = ", ".join(_COLUMNS)
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


def _whole(rows: list[Row]) -> list[Row]:
    """Return the rows from the first on whose chain is whole."""
    previous = GENESIS
    for count, row in enumerate(rows):
        try:
            fits = row[0] == count + 1 and row[-2] == previous and hash_of_row(row) == row[-1]
        except (UnicodeEncodeError, TypeError, ValueError):
            fits = False
        if not fits:
            return rows[:count]
        previous = row[-1]
    return rows


def _write_store(target: Path, rows: list[Row]) -> None:
    """Make a store of rows whose chain is whole, and close it to writing."""
    made = SqliteFile(target)
    bring_up_to_date(made)
    ours = compiled(made.dialect)
    with closing(made.writer()) as writing:
        writing.execute(made.begin)
        for row in rows:
            writing.execute(ours.insert, dict(zip(_COLUMNS, row, strict=True)))
        if rows:
            head = {"head_seq": rows[-1][0], "head_hash": rows[-1][-1]}
            writing.execute(ours.move_head, head)
        writing.execute("COMMIT")
        _to_one_file(writing)
    target.chmod(0o444)


def _to_one_file(writing: Connection) -> None:
    """Leave one file without companions."""
    writing.execute("PRAGMA journal_mode = DELETE")


def _words(
    whole: list[Row],
    beyond: list[Row],
    lost: tuple[str, ...],
    lost_count: int,
    last: int,
    target: Path,
    rest: Path,
) -> tuple[str, ...]:
    """Return the report, one sentence each."""
    said = [f"{len(whole)} of {last} entries are whole from the first on; they are in {target}."]
    if whole:
        said.append(f"The last of them is of {whole[-1][6]}.")
    if lost_count:
        said.append(f"{lost_count} entries cannot be read: {', '.join(lost[:10])}.")
        if len(lost) > len(lost[:10]):
            said.append(f"And {len(lost) - 10} spans more.")
    if beyond:
        jobs = sorted({str(row[3]) for row in beyond})
        said.append(
            f"{len(beyond)} entries beyond the first damage can be read but no longer proved; "
            f"they are in {rest}, of {', '.join(jobs[:8])}."
        )
    if not lost_count and not beyond:
        said.append("Nothing is lost.")
    said.append(f"Look at it with: fillwright serve --look-only --store {target}")
    return tuple(said)


def _spans(places: list[int]) -> Iterator[str]:
    """Yield places as spans: ``"3"``, ``"7 to 9"``."""
    start = None
    for at, seq in enumerate(places):
        start = seq if start is None else start
        if at + 1 == len(places) or places[at + 1] != seq + 1:
            yield str(seq) if seq == start else f"{start} to {seq}"
            start = None
