"""Is the journal as it was written: finds entries changed, removed, moved or slipped in.

Every entry's hash is made again and followed from the first to the head. Whoever rebuilds all
hashes after a place, and the head, leaves a whole chain: only a hash noted elsewhere tells.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fillwright.records.codec import GENESIS
from fillwright.store.chain import Row
from fillwright.store.connections import Connection, Place
from fillwright.store.inspector import Finding, Inspector
from fillwright.store.photocheck import PhotoNamed, photo_named
from fillwright.store.places import place
from fillwright.store.schema import check_version
from fillwright.store.statements import Statements, compiled

__all__ = ["ChainReport", "verify"]

_BELOW_ALL: Final = -(2**63)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainReport:
    """Whether a journal is whole.

    Parameters
    ----------
    ok : bool
        True when nothing was found.
    checked : int
        Entries looked at.
    findings : tuple of Finding
        What was found, in order of place.
    unlisted : int
        Further findings, beyond those listed.
    head_seq : int
        Place of the last entry, to be noted with `head_hash` where nobody can change it.
    head_hash : str
        Hash of the last entry.
    because : str
        One sentence for people.
    photos : tuple of PhotoNamed
        Photos that entries name; `photocheck.look_at` says which are not there.
    """

    ok: bool
    checked: int
    findings: tuple[Finding, ...]
    unlisted: int
    head_seq: int
    head_hash: str
    because: str
    photos: tuple[PhotoNamed, ...] = ()


def verify(where: str | Path, *, known: Mapping[int, str] | None = None) -> ChainReport:
    """Check every entry of a store, also of a copy that nobody may write.

    Parameters
    ----------
    where : str or Path
        A path or URL; it is only read.
    known : mapping, optional
        Hashes noted elsewhere (printed on a report, say), by place.

    Returns
    -------
    ChainReport
        What was found.

    Raises
    ------
    BadInput
        If `where` names nothing that can be a store.
    JournalError
        If there is no store, or a newer one.
    """
    found = place(where)
    sql = compiled(found.dialect)
    with closing(found.reader()) as connection:
        if isinstance(connection, sqlite3.Connection):
            # A byte that is no text any more is a finding, not the end of the search.
            connection.text_factory = _any_text
        return _verified(found, connection, sql=sql, known=known or {})


def _verified(
    found: Place, connection: Connection, *, sql: Statements, known: Mapping[int, str]
) -> ChainReport:
    """Return what an inspector found in one state of the store."""
    inspector = Inspector(_Lookup(connection, sql), known=known)
    head: Row | None = None
    photos: list[PhotoNamed] = []
    try:
        check_version(found.stored_version(connection), name=found.name)
        connection.execute(found.begin_reading)
        head = connection.execute(sql.read_head).fetchone()
        after = _BELOW_ALL
        while rows := connection.execute(sql.everything, {"after": after}).fetchall():
            for row in rows:
                inspector.see(row)
                photo = photo_named(row)
                if photo is not None:
                    photos.append(photo)
            after = rows[-1][0]
        inspector.end(head)
        if isinstance(connection, sqlite3.Connection):
            _look_at_pages(connection, inspector)
    except found.error as error:
        inspector.damaged(str(error))
    with suppress(found.error):
        connection.rollback()
    findings = tuple(sorted(inspector.findings, key=lambda one: one.seq))
    count = len(findings) + inspector.unlisted
    because = (
        f"{count} of {inspector.checked} entries checked do not fit. {findings[0].sentence}"
        if findings
        else f"{inspector.checked} entries checked; the chain is whole."
    )
    return ChainReport(
        ok=not findings,
        checked=inspector.checked,
        findings=findings,
        unlisted=inspector.unlisted,
        head_seq=0 if head is None else head[0],
        head_hash=GENESIS if head is None else head[1],
        because=because,
        photos=tuple(photos),
    )


def _look_at_pages(connection: Connection, inspector: Inspector) -> None:
    """Look at the pages that hold no entry, such as those of the indexes."""
    said = str(connection.execute("PRAGMA quick_check(1)").fetchone()[0])
    if said != "ok":
        inspector.damaged(said.replace("*** in database main ***", "").strip())


@dataclass(frozen=True, slots=True)
class _Lookup:
    """Answers what the inspector asks, on the same connection and state."""

    connection: Connection
    sql: Statements

    def place_of(self, own_hash: str) -> int | None:
        """Return the place of the entry with a hash."""
        row = self.connection.execute(self.sql.by_hash, {"hash": own_hash}).fetchone()
        return None if row is None else int(row[0])

    def between(self, first: int, last: int) -> list[Row]:
        """Return the rows of some places, ends included, as far as one page goes."""
        rows = self.connection.execute(self.sql.everything, {"after": first - 1}).fetchall()
        return [row for row in rows if row[0] <= last]


def _any_text(raw: bytes) -> str:
    """Return stored text, with a mark in place of each byte that is none."""
    return raw.decode("utf-8", "surrogateescape")
