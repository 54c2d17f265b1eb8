"""Brings a store to the version of this program, with a copy of the old one first."""

from __future__ import annotations

import threading
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from sqlalchemy import Connection as EngineConnection
from sqlalchemy.exc import DBAPIError

from fillwright.errors import BrokenChain, JournalError
from fillwright.records.ports import Clock
from fillwright.store.connections import Place
from fillwright.store.sqlite_file import SqliteFile
from fillwright.store.tables import SCHEMA_VERSION

__all__ = ["MIGRATIONS", "bring_up_to_date", "check_version"]

MIGRATIONS: Final = Path(__file__).parent / "migrations"

# The migration tool keeps its present run in the module itself: one thread at a time.
_migrating: Final = threading.Lock()


def bring_up_to_date(
    where: Place,
    *,
    clock: Clock | None = None,
    migrations: Path = MIGRATIONS,
    version: str = SCHEMA_VERSION,
) -> None:
    """Make the tables where there are none, and add the steps that are missing.

    Parameters
    ----------
    where : Place
        Where the store is, or will be.
    clock : Clock, optional
        Dates the copy that is kept of an older store; the machine's when left out.
    migrations : Path, optional
        Folder of the steps.
    version : str, optional
        The version to reach.

    Raises
    ------
    JournalError
        If the store is newer than this program, is something else, or cannot be written.
    """
    try:
        with closing(where.made()) as connection:
            stored = where.stored_version(connection)
        if stored == version:
            return
        if stored is not None:
            check_version(stored, name=where.name, version=version)
            if isinstance(where, SqliteFile):
                _keep_copy(where, clock=clock, version=version)
        with _migrating:
            _migrate(where, migrations=migrations, version=version)
    except where.error as error:
        raise _not_made(where, error) from error
    except DBAPIError as error:
        if not isinstance(error.orig, where.error):
            raise
        raise _not_made(where, error.orig) from error


def check_version(stored: str | None, *, name: str, version: str = SCHEMA_VERSION) -> None:
    """Raise JournalError where there is no store, or one of a newer program.

    Parameters
    ----------
    stored : str or None
        The version found.
    name : str
        Of the place, for the message.
    version : str, optional
        The newest version known here.

    Raises
    ------
    JournalError
        With what to do.
    """
    if stored is None:
        message = f"{name} is empty: check the path of the store."
        raise JournalError(message)
    if int(stored) > int(version):
        message = (
            f"The store {name} was written by a newer Fillwright (store version {stored}; this "
            f"one knows up to {version}): install the newer program."
        )
        raise JournalError(message)


def _not_made(where: Place, error: Exception) -> JournalError:
    """Return why the tables could not be made, as one sentence."""
    refused = where.refusal(error)
    if isinstance(refused, BrokenChain):
        return refused
    return JournalError(
        f"The store {where.name} could not be made ready ({error}): check the place, the rights "
        "to it, and the room on the disk."
    )


def _keep_copy(where: SqliteFile, *, clock: Clock | None, version: str) -> None:
    """Copy an older store beside itself, under a name that says when and before what."""
    now = (clock.now() if clock else datetime.now(UTC)).astimezone(UTC)
    stem = f"{where.path.name}.before-{version}-{now:%Y%m%dT%H%M%SZ}"
    target = where.path.with_name(stem)
    count = 1
    while target.exists():
        count += 1
        target = where.path.with_name(f"{stem}-{count}")
    where.copy_to(target)


def _migrate(where: Place, *, migrations: Path, version: str) -> None:
    """Run the missing steps in one transaction: all of them, or none."""
    # Slow to import, and needed only here.
    from alembic import command  # noqa: PLC0415
    from alembic.config import Config  # noqa: PLC0415

    engine = where.engine()
    try:
        with engine.begin() as connection:
            # Another program may have done it while this one waited for the lock.
            stored = _stored(connection)
            if stored == version:
                return
            if stored is not None and not isinstance(where, SqliteFile):
                for table in ("entries", "head"):
                    connection.exec_driver_sql(
                        f"CREATE TABLE before_{version}_{table} AS TABLE {table}"
                    )
            config = Config()
            config.set_main_option("path_separator", "os")
            config.set_main_option("script_location", str(migrations).replace("%", "%%"))
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
    finally:
        engine.dispose()


def _stored(connection: EngineConnection) -> str | None:
    """Return the version that the migration tool finds."""
    from alembic.migration import MigrationContext  # noqa: PLC0415  slow to import

    return MigrationContext.configure(connection).get_current_revision()
