"""What the store asks of a database: a connection, and the place that opens it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from sqlalchemy import Dialect, Engine

from fillwright.errors import BrokenChain, JournalError

__all__ = ["Connection", "Cursor", "Place", "version_of"]


class Cursor(Protocol):
    """What a statement answers."""

    def executemany(self, sql: str, given: Sequence[Sequence[object]], /) -> object:
        """Run one statement for each row of values."""
        ...

    def fetchone(self) -> Any:  # noqa: ANN401  a row of whatever was asked
        """Return the next row, or None."""
        ...

    def fetchall(self) -> list[Any]:
        """Return all rows that are left."""
        ...


class Connection(Protocol):
    """The part that both drivers have."""

    def execute(self, sql: str, given: Mapping[str, object] | Sequence[object] = ..., /) -> Cursor:
        """Run one statement."""
        ...

    def cursor(self) -> Cursor:
        """Return what runs one statement for many rows."""
        ...

    def rollback(self) -> None:
        """Undo the open transaction, if there is one."""
        ...

    def close(self) -> None:
        """Let go of the database."""
        ...


class Place(Protocol):
    """A place that holds, or will hold, a store."""

    @property
    def name(self) -> str:
        """Return the place as shown to people; never a password."""
        ...

    @property
    def begin(self) -> str:
        """Return what begins a transaction that will write."""
        ...

    @property
    def begin_reading(self) -> str:
        """Return what begins a transaction that sees one state to its end."""
        ...

    @property
    def error(self) -> type[Exception]:
        """Return what the driver raises."""
        ...

    @property
    def taken(self) -> type[Exception]:
        """Return what the driver raises where a row breaks a rule of its table."""
        ...

    @property
    def dialect(self) -> Dialect:
        """Return the dialect in which statements are compiled."""
        ...

    def made(self) -> Connection:
        """Open a connection that may write, and make the place if it is missing."""
        ...

    def writer(self) -> Connection:
        """Open a connection that may write."""
        ...

    def reader(self) -> Connection:
        """Open a connection that only reads."""
        ...

    def engine(self) -> Engine:
        """Return an engine for migrations; two of them never run at once."""
        ...

    def stored_version(self, connection: Connection) -> str | None:
        """Return the version of the store, or None where there is none yet."""
        ...

    def check_still_there(self) -> None:
        """Raise StoreFull if the place is not the one that was opened."""
        ...

    def may_go_on(self, error: Exception) -> bool:
        """Return whether a connection that was rolled back after an error is still good."""
        ...

    def refusal(self, error: Exception) -> JournalError:
        """Return what a driver's error means, as one sentence."""
        ...


def version_of(connection: Connection, tables: set[str], *, name: str) -> str | None:
    """Return the version that a store says it has.

    Parameters
    ----------
    connection : Connection
        To the store.
    tables : set of str
        Names of the tables there are.
    name : str
        Of the place, for the message.

    Returns
    -------
    str or None
        None where there is no table at all.

    Raises
    ------
    BrokenChain
        If the tables are ours and do not say it.
    JournalError
        If the tables are somebody else's.
    """
    if not tables:
        return None
    found = (
        connection.execute("SELECT version_num FROM alembic_version").fetchall()
        if "alembic_version" in tables
        else []
    )
    if len(found) != 1 or not found[0][0].isdecimal():
        if {"entries", "head"} <= tables:
            message = (
                f"The store {name} is damaged: it does not say its version any more. Restore a "
                "backup."
            )
            raise BrokenChain(message)
        message = f"{name} holds something that is not a store: check the path."
        raise JournalError(message)
    return str(found[0][0])
