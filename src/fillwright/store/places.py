"""Where a store can live: a SQLite file by its path, or a PostgreSQL database by its URL."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from sqlalchemy import make_url
from sqlalchemy.exc import ArgumentError

from fillwright.errors import BadInput
from fillwright.store.connections import Place
from fillwright.store.postgres import PostgresDatabase
from fillwright.store.sqlite_file import SqliteFile

__all__ = ["place"]

_ALLOWED: Final = "a path, sqlite:///path or postgresql+psycopg://user@host/database"


def place(where: str | Path) -> Place:
    """Return the place that a path or URL names.

    Parameters
    ----------
    where : str or Path
        A path, ``sqlite:///path`` or ``postgresql+psycopg://user@host/database``.

    Returns
    -------
    Place
        Nothing is opened yet.

    Raises
    ------
    BadInput
        If it is neither.
    """
    if isinstance(where, str) and not where.strip():
        # Left to the file system it would be the folder that the program was started in.
        raise _bad_place(where)
    if isinstance(where, Path) or "://" not in where:
        return SqliteFile(Path(where))
    try:
        url = make_url(where)
    except ArgumentError as error:
        raise _bad_place(where) from error
    if url.drivername in {"sqlite", "sqlite+pysqlite"} and url.database not in {
        None,
        "",
        ":memory:",
    }:
        return SqliteFile(Path(url.database or ""))
    if url.drivername in {"postgresql", "postgresql+psycopg"}:
        return PostgresDatabase(url)
    raise _bad_place(url.render_as_string(hide_password=True))


def _bad_place(given: str) -> BadInput:
    """Return the error for a place that cannot hold a store."""
    return BadInput(
        f"The store cannot be {given!r}: give {_ALLOWED}.",
        field="store",
        given=given,
        allowed=_ALLOWED,
        code="choice",
    )
