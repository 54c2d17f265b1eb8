"""What one append does inside its open transaction: insert what is new, and move the head."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fillwright.errors import BrokenChain, Conflict
from fillwright.records.alike import Alike, AlikeKept
from fillwright.records.entries import Entry
from fillwright.store.alike import rows_alike
from fillwright.store.chain import Row, entry_of
from fillwright.store.connections import Connection
from fillwright.store.drafts import Ready
from fillwright.store.statements import Statements

__all__ = ["Appended", "Inserting"]

_ID, _PAYLOAD = 2, 10
_AT_ONCE: Final = 50
"""Ids asked for in one statement: more cost time to read it, fewer to run it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Appended:
    """What one append answers, and which of it is new."""

    stored: tuple[Entry, ...]
    fresh: tuple[Entry, ...]


class Inserting:
    """Inserts into one store, inside a transaction that the caller began.

    Parameters
    ----------
    sql : Statements
        In the words of the store's database.
    name : str
        Of the store, for messages.
    """

    def __init__(self, sql: Statements, name: str) -> None:
        self._sql = sql
        self._place_name = name

    def add(
        self,
        connection: Connection,
        prepared: Sequence[Ready],
        seen: int | None,
        *,
        look_up: bool,
    ) -> Appended:
        """Insert what is not stored yet and move the head.

        Parameters
        ----------
        connection : Connection
            With a transaction begun.
        prepared : sequence of Ready
            At least one.
        seen : int or None
            Revision that the sender had seen.
        look_up : bool
            Whether an id is known to be there already.

        Returns
        -------
        Appended
            Nothing is committed yet.

        Raises
        ------
        Conflict
            If the stream moved on, or an id is used for something else.
        BrokenChain
            If the head is lost.
        """
        stream = prepared[0].draft.stream
        seq, revision, last_hash = self._end_of(connection, stream)
        has_moved = seen is not None and seen != revision
        is_asked = look_up or has_moved
        known = self._known(connection, prepared) if is_asked else {}
        if has_moved and prepared[0].draft.id not in known:
            raise self._moved_on(connection, stream, seen=seen or 0, revision=revision)
        fresh: list[Entry] = []
        rows: list[Row] = []
        for item in prepared:
            if is_asked and (kept := known.get(item.draft.id)) is not None:
                item.check_repeats(*kept)
                continue
            seq += 1
            revision += 1
            row = item.row_at(seq=seq, revision=revision, previous_hash=last_hash)
            last_hash = row[-1]
            rows.append(row)
            fresh.append(item.entry_in(row))
            if is_asked:
                known[item.draft.id] = fresh[-1], item.payload
        if rows:
            self._insert(connection, rows)
        stored = [known[item.draft.id][0] for item in prepared] if is_asked else fresh
        return Appended(stored=tuple(stored), fresh=tuple(fresh))

    def add_alike(
        self, connection: Connection, alike: Alike, head: Ready | None
    ) -> tuple[AlikeKept, list[Row]]:
        """Insert weights of one file, none of which is stored yet, and move the head.

        Parameters
        ----------
        connection : Connection
            With a transaction begun.
        alike : Alike
            The weights.
        head : Ready or None
            The entry of the file, where it comes before them.

        Returns
        -------
        tuple of AlikeKept and list of Row
            Where they stand, and their rows; nothing is committed yet.

        Raises
        ------
        BrokenChain
            If the head of the journal is lost.
        """
        seq, revision, last_hash = self._end_of(connection, alike.stream)
        rows: list[Row] = []
        told: Entry | None = None
        if head is not None:
            seq, revision = seq + 1, revision + 1
            rows.append(head.row_at(seq=seq, revision=revision, previous_hash=last_hash))
            last_hash = rows[0][-1]
            told = head.entry_in(rows[0])
        rows += rows_alike(alike, seq=seq, revision=revision, previous_hash=last_hash)
        self._insert(connection, rows)
        kept = AlikeKept(
            head=told,
            first_revision=revision + 1,
            last_revision=rows[-1][1],
            last_hash=rows[-1][-1],
        )
        return kept, rows

    def _end_of(self, connection: Connection, stream: str) -> tuple[int, int, str]:
        """Return the last place of the journal, the last revision of a stream, the last hash."""
        head = connection.execute(self._sql.lock_head).fetchone()
        if head is None:
            message = (
                f"The store {self._place_name} has lost its head: the entry was not kept. Run "
                "`fillwright verify`, then restore a backup."
            )
            raise BrokenChain(message)
        revision = connection.execute(self._sql.revision, {"stream": stream}).fetchone()[0] or 0
        return head[0], revision, head[1]

    def _insert(self, connection: Connection, rows: Sequence[Row]) -> None:
        """Insert rows and move the head to the last of them."""
        connection.cursor().executemany(self._sql.insert, rows)
        last = rows[-1]
        connection.execute(self._sql.move_head, {"head_seq": last[0], "head_hash": last[-1]})

    def _known(
        self, connection: Connection, prepared: Sequence[Ready]
    ) -> dict[str, tuple[Entry, str]]:
        """Return the entries that are stored under the drafts' ids, with the stored payloads."""
        ids, found = [item.draft.id for item in prepared], list[Row]()
        for first in range(0, len(ids), _AT_ONCE):
            some = ids[first : first + _AT_ONCE]
            found += connection.execute(self._sql.with_ids(len(some)), some).fetchall()
        return {row[_ID]: (entry_of(row), row[_PAYLOAD]) for row in found}

    def _moved_on(
        self, connection: Connection, stream: str, *, seen: int, revision: int
    ) -> Conflict:
        """Return the conflict with the entries that the sender had not seen."""
        given = {"stream": stream, "after": seen, "last": revision}
        since = tuple(
            entry_of(row) for row in connection.execute(self._sql.of_stream, given).fetchall()
        )
        if seen > revision:
            return Conflict(
                f"{stream!r} has {revision} entries, and {seen} had been seen: an older copy of "
                "the store is open. Load it again."
            )
        return Conflict(
            f"{stream!r} was changed by somebody else: it has {revision} entries now, and {seen} "
            "had been seen. Look at what is new, then decide again.",
            since=since,
        )
