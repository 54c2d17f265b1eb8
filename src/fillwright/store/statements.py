"""The statements of the store, compiled once for one kind of database.

The driver runs them directly: building each anew costs more than the commit itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Dialect, bindparam, func, insert, literal_column, select, text, update
from sqlalchemy.sql import Executable
from sqlalchemy.sql.compiler import SQLCompiler

from fillwright.store.tables import entries, head

__all__ = ["PAGE", "Statements", "compiled"]

PAGE: Final = 4000
"""Rows fetched at a time, so that a long journal never lies in memory whole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Statements:
    """The statements as text of one dialect; parameters go in by name, rows by position.

    Parameters
    ----------
    lock_head : str
        Reads the head and, where the database has it, locks its row.
    read_head : str
        Reads the head.
    revision : str
        Revision of the last entry of `stream`.
    by_id : str
        The row with `id`.
    by_hash : str
        Place of the row with `hash`.
    insert : str
        Adds a row; its values go in by position.
    rows : str
        All rows, for `with_ids`.
    mark : str
        Stands for one value by position.
    move_head : str
        Sets the head to `head_seq` and `head_hash`.
    of_stream : str
        Rows of `stream` with a revision above `after` and up to `last`, in order.
    everything : str
        The next page of rows with a place above `after`, in order.
    streams : str
        Names of the streams that start with the `length` characters of `prefix`.
    """

    lock_head: str
    read_head: str
    revision: str
    by_id: str
    by_hash: str
    insert: str
    rows: str
    mark: str
    move_head: str
    of_stream: str
    everything: str
    streams: str

    def with_ids(self, count: int) -> str:
        """Return the statement for the rows with any of `count` ids, by position."""
        return f"{self.rows} WHERE entries.id IN ({', '.join([self.mark] * count)})"


def compiled(dialect: Dialect) -> Statements:
    """Return the statements in the words of one database.

    Parameters
    ----------
    dialect : Dialect
        Of SQLite or PostgreSQL, with parameters by name.

    Returns
    -------
    Statements
        As text, ready for the driver.
    """
    # By name a row of values takes twice the time to hand over.
    is_sqlite = dialect.name == "sqlite"
    kind: Any = type(dialect)
    by_position = kind(paramstyle="qmark" if is_sqlite else "format")

    def words(statement: Executable, dialect: Dialect = dialect) -> str:
        done = statement.compile(dialect=dialect)  # type: ignore[attr-defined]
        assert isinstance(done, SQLCompiler)  # noqa: S101  narrows the type
        return str(done)

    row = entries.c
    last = select(head.c.seq, head.c.hash)
    page = select(entries).where(row.seq > bindparam("after")).order_by(row.seq)
    return Statements(
        lock_head=words(last.with_for_update()),
        read_head=words(last),
        revision=words(select(func.max(row.revision)).where(row.stream == bindparam("stream"))),
        by_id=words(select(entries).where(row.id == bindparam("id"))),
        by_hash=words(select(row.seq).where(row.hash == bindparam("hash")).order_by(row.seq)),
        insert=words(insert(entries), by_position),
        rows=words(select(entries)),
        mark="?" if is_sqlite else "%s",
        move_head=words(
            update(head).values(seq=bindparam("head_seq"), hash=bindparam("head_hash"))
        ),
        of_stream=words(
            select(entries)
            .where(
                row.stream == bindparam("stream"),
                row.revision > bindparam("after"),
                row.revision <= bindparam("last"),
            )
            .order_by(row.revision)
        ),
        # Both databases know LIMIT; the compiler would add an offset that nobody gives.
        everything=f"{words(page)} LIMIT {PAGE}",
        streams=words(
            select(row.stream)
            .where(
                # The very words of the index, so that it is used.
                text("revision = 1"),
                func.substr(row.stream, literal_column("1"), bindparam("length"))
                == bindparam("prefix"),
            )
            .order_by(row.seq)
        ),
    )
