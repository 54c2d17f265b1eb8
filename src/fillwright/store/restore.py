"""Puts a backup in the place of a journal; nothing is overwritten, the old one is set aside."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fillwright.errors import BadInput, BrokenChain, JournalError
from fillwright.store.photocheck import PhotoNamed
from fillwright.store.places import place
from fillwright.store.sqlite_file import SqliteFile
from fillwright.store.verify import ChainReport, verify

__all__ = ["Restored", "restore"]

_COMPANIONS: Final = ("", "-wal", "-shm")


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """A backup that is in place.

    Parameters
    ----------
    path : Path
        Where the journal is now.
    entries : int
        How many entries it holds.
    head_hash : str
        Hash of the last of them.
    aside : Path or None
        Where the journal that was there is kept.
    photos : tuple of PhotoNamed
        Photos that it names; they are brought back by themselves.
    """

    path: Path
    entries: int
    head_hash: str
    aside: Path | None
    photos: tuple[PhotoNamed, ...] = ()


def restore(copy: str | Path, where: str | Path, *, replaces: bool = False) -> Restored:
    """Put a backup in the place of a journal.

    Parameters
    ----------
    copy : str or Path
        The backup; it is only read.
    where : str or Path
        The journal's place, a file.
    replaces : bool
        Whether a journal that is there may be set aside; it is renamed, never deleted.

    Returns
    -------
    Restored
        What is in place now.

    Raises
    ------
    BadInput
        If a journal is there and `replaces` is not given, a program has it open, or the
        place is no file.
    BrokenChain
        If the backup does not verify; nothing is changed then.
    JournalError
        If there is no backup, or it cannot be copied there.
    """
    source, target = place(copy), place(where)
    if not isinstance(source, SqliteFile) or not isinstance(target, SqliteFile):
        message = "A backup is restored from a file to a file. Give two paths."
        raise BadInput(message, field="--store", given=target.name, allowed="a path")
    if source.path == target.path:
        message = f"{source.path} is the journal itself. Name the backup."
        raise BadInput(message, field="copy", given=str(source.path), code="inconsistent")
    report = verify(source.path)
    if not report.ok:
        message = (
            f"The backup {source.path} does not verify: {report.because} Nothing was changed."
        )
        raise BrokenChain(message)
    _refuse_what_is_there(target.path, replaces=replaces)
    part = target.path.with_name(f"{target.path.name}.part")
    part.unlink(missing_ok=True)
    aside = None
    try:
        source.copy_to(part)
        copied = _same(verify(part), report)
        aside = _set_aside(target.path)
        # A link takes the name only if nobody else has it meanwhile.
        os.link(part, target.path)
    except FileExistsError as error:
        message = (
            f"{target.path} appeared meanwhile, and nothing is overwritten. Look at it first."
        )
        raise BadInput(message, field="--store", given=str(target.path)) from error
    except OSError as error:
        raise JournalError(f"The backup could not be put in place ({error}).") from error
    finally:
        with suppress(OSError):
            part.unlink()
    return Restored(
        path=target.path,
        entries=copied.checked,
        head_hash=copied.head_hash,
        aside=aside,
        photos=copied.photos,
    )


def _refuse_what_is_there(path: Path, *, replaces: bool) -> None:
    """Refuse a journal that is there, unless it may be set aside and nobody uses it."""
    if not path.exists():
        return
    if not replaces:
        message = (
            f"There is a journal at {path} already, and nothing was overwritten. Give --replace "
            "to set it aside under another name first."
        )
        raise BadInput(message, field="--store", given=str(path), allowed="--replace")
    if _is_in_use(path):
        message = f"A program has {path} open. Stop it, then restore."
        raise BadInput(message, field="--store", given=str(path), code="inconsistent")


def _is_in_use(path: Path) -> bool:
    """Return whether another program has a store open; a file that is no store is not."""
    try:
        with closing(sqlite3.connect(path, timeout=0.2, isolation_level=None)) as probe:
            probe.execute("PRAGMA locking_mode = EXCLUSIVE")
            probe.execute("BEGIN EXCLUSIVE")
            probe.execute("ROLLBACK")
    except sqlite3.OperationalError as error:
        return getattr(error, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_BUSY
    except sqlite3.DatabaseError:
        return False
    return False


def _set_aside(path: Path) -> Path | None:
    """Rename a journal with its companions, and return its new name."""
    if not path.exists():
        return None
    number = 1
    while any(path.with_name(f"{path.name}.aside-{number}{end}").exists() for end in _COMPANIONS):
        number += 1
    aside = path.with_name(f"{path.name}.aside-{number}")
    for end in _COMPANIONS:
        companion = path.with_name(path.name + end)
        if companion.exists():
            companion.rename(aside.with_name(aside.name + end))
    return aside


def _same(copied: ChainReport, report: ChainReport) -> ChainReport:
    """Return the report of a copy, after comparing it with that of the backup."""
    if not copied.ok or (copied.checked, copied.head_hash) != (report.checked, report.head_hash):
        message = "The copy differs from the backup: check the disk. Nothing was changed."
        raise BrokenChain(message)
    return copied
