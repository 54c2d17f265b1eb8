"""Copies a store into one file, also while it is written to."""

from __future__ import annotations

import os
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path

from fillwright.errors import BadInput, BrokenChain, JournalError
from fillwright.store.connections import Connection, Place
from fillwright.store.photocheck import PhotoNamed
from fillwright.store.places import place
from fillwright.store.schema import bring_up_to_date, check_version
from fillwright.store.sqlite_file import SqliteFile
from fillwright.store.statements import compiled
from fillwright.store.verify import verify

__all__ = ["Backup", "backup"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup:
    """A copy that was made and checked.

    Parameters
    ----------
    path : Path
        Where it is.
    entries : int
        How many entries it holds.
    head_hash : str
        Hash of the last of them.
    photos : tuple of PhotoNamed
        Photos that it names; they are copied by themselves.
    """

    path: Path
    entries: int
    head_hash: str
    photos: tuple[PhotoNamed, ...] = ()


def backup(where: str | Path, to: str | Path) -> Backup:
    """Copy a store into a file of its own and check the copy.

    Parameters
    ----------
    where : str or Path
        The store, by path or URL; it may be in use. One in PostgreSQL becomes a file too.
    to : str or Path
        File to make; never overwritten.

    Returns
    -------
    Backup
        What was made. To restore it, put it in the store's place with no program running.

    Raises
    ------
    BadInput
        If `to` is there already, or its folder is not.
    JournalError
        If there is no store, or the copy could not be made; nothing is left at `to` then.
    BrokenChain
        If the copy does not verify; it is kept for a closer look.
    """
    source = place(where)
    with closing(source.reader()) as connection:
        check_version(source.stored_version(connection), name=source.name)
    target = Path(to).expanduser().absolute()
    _claim(target)
    part = target.with_name(f"{target.name}.part")
    try:
        part.unlink(missing_ok=True)
        if isinstance(source, SqliteFile):
            source.copy_to(part)
        else:
            _copy_rows(source, SqliteFile(part))
        os.replace(part, target)  # noqa: PTH105  over our own empty claim, on any system
    except BaseException:
        for left in (part, target):
            with suppress(OSError):
                left.unlink()
        raise
    report = verify(target)
    if not report.ok:
        message = f"The copy {target} does not verify, so the store does not. {report.because}"
        raise BrokenChain(message)
    return Backup(
        path=target,
        entries=report.checked,
        head_hash=report.head_hash,
        photos=report.photos,
    )


def _claim(target: Path) -> None:
    """Make the file, empty, so that nobody else takes the name meanwhile."""
    try:
        target.open("xb").close()
    except FileExistsError as error:
        message = f"{target} is there already, and a backup overwrites nothing: give a new name."
        raise BadInput(message, field="to", given=str(target), allowed="a new name") from error
    except OSError as error:
        message = f"{target} cannot be made ({error.strerror}): check the folder and its rights."
        raise BadInput(message, field="to", given=str(target), allowed="a new file") from error


def _copy_rows(source: Place, target: SqliteFile) -> None:
    """Copy one state of a store row by row into a new file."""
    bring_up_to_date(target)
    with closing(source.reader()) as reading, closing(target.writer()) as writing:
        try:
            _fill(source, target, reading=reading, writing=writing)
        except source.error as error:
            message = f"The store {source.name} could not be read to its end ({error})."
            raise JournalError(message) from error
        except target.error as error:
            raise target.uncopied(error) from error


def _fill(source: Place, target: SqliteFile, *, reading: Connection, writing: Connection) -> None:
    """Copy the rows and the head in one transaction on either side."""
    theirs, ours = compiled(source.dialect), compiled(target.dialect)
    reading.execute(source.begin_reading)
    writing.execute(target.begin)
    after = 0
    while rows := reading.execute(theirs.everything, {"after": after}).fetchall():
        writing.cursor().executemany(ours.insert, rows)
        after = rows[-1][0]
    head = reading.execute(theirs.read_head).fetchone()
    if head is not None:
        writing.execute(ours.move_head, {"head_seq": head[0], "head_hash": head[1]})
    writing.execute("COMMIT")
    writing.execute("PRAGMA journal_mode = DELETE")
