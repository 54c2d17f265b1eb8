"""A store in one file of this machine."""

from __future__ import annotations

import os
import sqlite3
import time
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Dialect, Engine, create_engine, event
from sqlalchemy.dialects.sqlite.pysqlite import dialect as pysqlite_dialect
from sqlalchemy.pool import NullPool

from fillwright.errors import BrokenChain, JournalError, StoreFull
from fillwright.store.connections import Connection, version_of

__all__ = ["SqliteFile"]

_BUSY_S: Final = 5.0
_PAUSE_S: Final = 0.01
_NOT_WRITABLE: Final = {sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_CANTOPEN}


class SqliteFile:
    """A store in one file of this machine."""

    begin: Final = "BEGIN IMMEDIATE"
    begin_reading: Final = "BEGIN"
    error: Final = sqlite3.Error
    taken: Final = sqlite3.IntegrityError

    def __init__(self, path: Path) -> None:
        self.path = path.expanduser().absolute()
        self.name = str(self.path)
        self._opened: tuple[int, int] | None = None

    @property
    def dialect(self) -> Dialect:
        """Return the dialect in which statements are compiled."""
        return pysqlite_dialect(paramstyle="named")

    def made(self) -> Connection:
        """Open the file to read and write, made if it is missing."""
        if not self.path.parent.is_dir():
            message = (
                f"The folder {self.path.parent} is not there: make it, or check the path of "
                "the store."
            )
            raise JournalError(message)
        return self._writer("rwc")

    def writer(self) -> Connection:
        """Open the file to read and write."""
        return self._writer("rw")

    def reader(self) -> Connection:
        """Open the file to read only; a copy on a read-only medium will do."""
        if not self.path.is_file():
            message = f"There is no store at {self.path}: check the path."
            raise JournalError(message)
        connection = self._connect("ro")
        try:
            connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        except sqlite3.Error as error:
            connection.close()
            if _primary_code(error) not in _NOT_WRITABLE or self._has_unmerged():
                raise self._unopened(error) from error
            # The write-ahead log cannot be opened beside a file nobody may write, and is
            # not needed when it holds nothing.
            return self._connect("ro&immutable=1")
        return connection

    def engine(self) -> Engine:
        """Return an engine for migrations; the file is locked from the first statement."""
        engine = create_engine("sqlite://", creator=self.writer, poolclass=NullPool)

        @event.listens_for(engine, "begin")
        def begin(connection: Any) -> None:  # noqa: ANN401  the event's own signature
            connection.exec_driver_sql(self.begin)

        return engine

    def stored_version(self, connection: Connection) -> str | None:
        """Return the version of the store, or None where the file is empty."""
        names = {
            name
            for (name,) in connection.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table'"
            ).fetchall()
        }
        return version_of(connection, names, name=self.name)

    def check_still_there(self) -> None:
        """Raise StoreFull if the file was moved, deleted or replaced since it was opened."""
        try:
            seen = os.stat(self.name)  # noqa: PTH116  half the time of Path.stat
        except FileNotFoundError:
            seen = None
        if seen is None or (seen.st_dev, seen.st_ino) != self._opened:
            message = (
                f"The store {self.path} was moved, deleted or replaced while it was open; the "
                "entry was not kept. Put the file back, or start the program again."
            )
            raise StoreFull(message)

    def copy_to(self, target: Path) -> None:
        """Copy the store, also while it is written to, into a file that must not exist."""
        source = self.reader()
        assert isinstance(source, sqlite3.Connection)  # noqa: S101  narrows the type
        made = sqlite3.connect(target, isolation_level=None)
        try:
            source.backup(made)
            # One file without its companions, so that it can be carried and read anywhere.
            made.execute("PRAGMA journal_mode = DELETE")
        except sqlite3.Error as error:
            raise SqliteFile(target).uncopied(error) from error
        finally:
            made.close()
            source.close()

    def may_go_on(self, error: Exception) -> bool:
        """Return whether the connection can be kept: on a full disk no new one can be opened."""
        return _primary_code(error) not in _NOT_WRITABLE

    def uncopied(self, error: sqlite3.Error) -> JournalError:
        """Return why a copy could not be made here."""
        if _primary_code(error) in {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}:
            return BrokenChain(f"The store is damaged and was not copied ({error}).")
        return StoreFull(
            f"The copy {self.path} was not made ({error}): check the disk and its room."
        )

    def refusal(self, error: Exception) -> JournalError:
        """Return what a driver's error means, as one sentence."""
        code = _primary_code(error)
        kept = "The entry was not kept."
        if code in {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}:
            return BrokenChain(
                f"The file {self.path} is damaged or is no store ({error}): restore a backup, "
                "or check the path."
            )
        if code == sqlite3.SQLITE_CONSTRAINT:
            return BrokenChain(
                f"The entries in {self.path} do not agree with its head: {kept.lower()} Run "
                "`fillwright verify`, then restore a backup."
            )
        if code == sqlite3.SQLITE_FULL:
            return StoreFull(
                f"{kept} The disk that holds {self.path} is full: make room, then send it again."
            )
        if code in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}:
            return StoreFull(
                f"{kept} Another program has kept {self.path} busy for {_BUSY_S:.0f} s: close "
                "it, then send it again."
            )
        if code in _NOT_WRITABLE:
            return StoreFull(
                f"{kept} {self.path} cannot be written ({error}): check the rights of the file "
                "and its folder, then send it again."
            )
        return StoreFull(
            f"{kept} Writing {self.path} failed ({error}): check the disk, then send it again."
        )

    def _writer(self, mode: str) -> Connection:
        """Open the file with every commit flushed to the disk."""
        connection: Connection = self._connect(mode)
        try:
            _use_log(connection)
            connection.execute("PRAGMA synchronous = FULL")
        except sqlite3.Error as error:
            connection.close()
            if _primary_code(error) not in _NOT_WRITABLE or not self.path.is_file():
                raise self._unopened(error) from error
            # Read it can be; each append then says why it is refused.
            connection = self.reader()
        seen = self.path.stat()
        self._opened = self._opened or (seen.st_dev, seen.st_ino)
        return connection

    def _connect(self, mode: str) -> sqlite3.Connection:
        """Open the file by the driver, with transactions left to us."""
        try:
            connection = sqlite3.connect(
                f"{self.path.as_uri()}?mode={mode}",
                uri=True,
                timeout=_BUSY_S,
                isolation_level=None,
                # A lock of ours, or one borrower at a time, stands in for the check.
                check_same_thread=False,
            )
        except sqlite3.Error as error:
            raise self._unopened(error) from error
        connection.execute("PRAGMA foreign_keys = ON")
        return connection

    def _unopened(self, error: sqlite3.Error) -> JournalError:
        """Return why the file cannot be opened."""
        refused = self.refusal(error)
        if isinstance(refused, BrokenChain):
            return refused
        return JournalError(
            f"The store {self.path} cannot be opened ({error}): check the path, the rights of "
            "the file and of its folder, and the room on the disk."
        )

    def _has_unmerged(self) -> bool:
        """Return whether the write-ahead log beside the file holds anything."""
        log = self.path.with_name(f"{self.path.name}-wal")
        return log.exists() and log.stat().st_size > 0


def _use_log(connection: Connection) -> None:
    """Switch a file to write-ahead logging, which it remembers.

    Of two programs that switch at once one is refused without waiting, whatever the timeout.
    """
    until = time.monotonic() + _BUSY_S
    # Asked first: a file that may not be written still has its journal mode.
    while connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if _primary_code(error) != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(_PAUSE_S)


def _primary_code(error: Exception) -> int:
    """Return SQLite's result code without the part that only refines it."""
    return int(getattr(error, "sqlite_errorcode", 0)) & 0xFF
