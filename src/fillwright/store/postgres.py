"""A store in a PostgreSQL database of its own."""

from __future__ import annotations

from typing import Any, Final, cast

from sqlalchemy import URL, Dialect, Engine, create_engine, event
from sqlalchemy.dialects.postgresql.psycopg import dialect as psycopg_dialect
from sqlalchemy.pool import NullPool

from fillwright.errors import BrokenChain, JournalError, StoreFull
from fillwright.store.connections import Connection, version_of

__all__ = ["PostgresDatabase"]

_MIGRATION_LOCK: Final = 0x46494C4C
"""Any number will do, as long as every program takes the same one."""


class PostgresDatabase:
    """A store in a PostgreSQL database of its own."""

    # The head row's lock orders the writers; each statement after it must see the newest
    # commit, which a snapshot taken at the beginning would hide.
    begin: Final = "BEGIN ISOLATION LEVEL READ COMMITTED"
    begin_reading: Final = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"

    def __init__(self, url: URL) -> None:
        self.url = url.set(drivername="postgresql+psycopg")
        self.name = url.render_as_string(hide_password=True)
        self._psycopg = _driver()
        self.error: type[Exception] = self._psycopg.Error
        self.taken: type[Exception] = self._psycopg.IntegrityError

    @property
    def dialect(self) -> Dialect:
        """Return the dialect in which statements are compiled."""
        return psycopg_dialect()  # type: ignore[no-untyped-call]

    def made(self) -> Connection:
        """Open a connection that may write; the database itself must be there."""
        return self.writer()

    def writer(self) -> Connection:
        """Open a connection that may write."""
        _, given = self.dialect.create_connect_args(self.url)
        try:
            opened = self._psycopg.connect(**given, autocommit=True, client_encoding="utf8")
        except self._psycopg.Error as error:
            message = f"The database {self.name} cannot be reached ({_first_line(error)})."
            raise JournalError(message) from error
        return cast("Connection", opened)

    def reader(self) -> Connection:
        """Open a connection that only reads."""
        opened = self.writer()
        opened.execute("SET default_transaction_read_only = on")
        return opened

    def engine(self) -> Engine:
        """Return an engine for migrations, one program at a time."""
        engine = create_engine(self.url, poolclass=NullPool)

        @event.listens_for(engine, "begin")
        def begin(connection: Any) -> None:  # noqa: ANN401  the event's own signature
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_MIGRATION_LOCK})")

        return engine

    def stored_version(self, connection: Connection) -> str | None:
        """Return the version of the store, or None where the database is empty."""
        names = {
            name
            for (name,) in connection.execute(
                "SELECT tablename FROM pg_tables WHERE schemaname = current_schema()"
            ).fetchall()
        }
        return version_of(connection, names, name=self.name)

    def check_still_there(self) -> None:
        """Do nothing: a server that is gone says so itself."""

    def may_go_on(self, error: Exception) -> bool:  # noqa: ARG002  whatever it was
        """Return False: a new line costs a millisecond, and carries none of the old trouble."""
        return False

    def refusal(self, error: Exception) -> JournalError:
        """Return what a driver's error means, as one sentence."""
        if isinstance(error, self.taken):
            return BrokenChain(
                f"The entries in {self.name} do not agree with its head: the entry was not "
                "kept. Run `fillwright verify`, then restore a backup."
            )
        return StoreFull(
            f"The database {self.name} did not confirm the entry ({_first_line(error)}): put "
            "that right, then send it again; it is never kept twice."
        )


def _driver() -> Any:  # noqa: ANN401  a module
    """Return the driver, which only those who use PostgreSQL have."""
    try:
        import psycopg  # noqa: PLC0415
    except ImportError as error:
        message = "PostgreSQL needs its driver: install fillwright[postgres]."
        raise JournalError(message) from error
    return psycopg


def _first_line(error: Exception) -> str:
    """Return the first line of a driver's message."""
    return (str(error).strip() or type(error).__name__).splitlines()[0]
