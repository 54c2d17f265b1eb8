"""The journal in a database: one way in, any number of readers.

One connection writes, one thread at a time; the head is read again inside each transaction,
so that two programs on one store cannot break the chain.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Self, TypeVar

from fillwright.errors import JournalError, StoreFull
from fillwright.records.alike import Alike, AlikeKept
from fillwright.records.entries import Draft, Entry
from fillwright.records.ports import Clock
from fillwright.store.alike import entries_in, head_ready
from fillwright.store.chain import Row, entry_of
from fillwright.store.connections import Connection, Place
from fillwright.store.drafts import ready
from fillwright.store.inserting import Inserting
from fillwright.store.listeners import Listener, Listeners
from fillwright.store.places import place
from fillwright.store.readers import Readers
from fillwright.store.schema import bring_up_to_date
from fillwright.store.statements import PAGE, compiled

__all__ = ["SqlJournal", "open_journal"]

_Answer = TypeVar("_Answer")


def open_journal(
    where: str | Path,
    *,
    clock: Clock | None = None,
    at_point: Callable[[str], None] | None = None,
) -> SqlJournal:
    """Open the journal, made if it is missing and brought up to date if it is older.

    Parameters
    ----------
    where : str or Path
        A path, ``sqlite:///path`` or ``postgresql+psycopg://user@host/database``.
    clock : Clock, optional
        Dates the copy that is kept of an older store; the machine's when left out.
    at_point : callable, optional
        Called with ``"before-begin"``, ``"after-insert"``, ``"after-commit"`` and
        ``"before-reply"`` on the way of each append.

    Returns
    -------
    SqlJournal
        Close it when done; it is a context manager.

    Raises
    ------
    BadInput
        If `where` names nothing that can be a store.
    JournalError
        If the store cannot be opened, is newer than this program, or is something else.
    """
    found = place(where)
    bring_up_to_date(found, clock=clock)
    return SqlJournal(found, at_point=at_point)


class SqlJournal:
    """The journal of one store; may be used from several threads.

    Parameters
    ----------
    where : Place
        A store that is up to date.
    at_point : callable, optional
        As for `open_journal`.
    """

    def __init__(self, where: Place, *, at_point: Callable[[str], None] | None = None) -> None:
        self._place = where
        self._sql = compiled(where.dialect)
        self._inserting = Inserting(self._sql, where.name)
        self._at = at_point or _pass_by
        self._writing = threading.Lock()
        self._writer: Connection | None = where.writer()
        self._readers = Readers(where)
        self._is_closed = False
        self._listeners = Listeners()

    def append(self, drafts: Sequence[Draft], *, seen: int | None = None) -> tuple[Entry, ...]:
        """Store the drafts of one stream in one transaction and return them as entries.

        Parameters
        ----------
        drafts : sequence of Draft
            All for the same stream, in order. A draft whose id is already stored is
            answered with the stored entry and appends nothing.
        seen : int, optional
            Revision of the stream that the sender had seen. When the stream has moved on
            since, and the first draft is not a repeat, nothing is stored.

        Returns
        -------
        tuple of Entry
            One for each draft; committed before this returns.

        Raises
        ------
        BadInput
            If the drafts are for several streams, or one cannot be stored as text.
        Conflict
            If the stream moved on since `seen` (the entries since are its ``since``), or an
            id is used for something else.
        StoreFull
            If the disk cannot take it; nothing was stored.
        BrokenChain
            If the head does not fit the entries.
        """
        if not drafts:
            return ()
        prepared = ready(drafts)
        self._at("before-begin")
        with self._writing:
            done = self._write(
                lambda connection, is_there: self._inserting.add(
                    connection, prepared, seen, look_up=is_there
                )
            )
            self._listeners.owe(done.fresh)
        self._at("after-commit")
        self._listeners.tell()
        self._at("before-reply")
        return done.stored

    def append_alike(self, alike: Alike) -> AlikeKept | None:
        """Store weights of one file in one transaction, quicker than one by one.

        Parameters
        ----------
        alike : Alike
            The weights.

        Returns
        -------
        AlikeKept or None
            Where they stand, committed before this returns. None where an id is stored
            already: nothing was stored, and `append` tells which.

        Raises
        ------
        BadInput
            If a text cannot be stored.
        StoreFull
            If the disk cannot take it; nothing was stored.
        BrokenChain
            If the head does not fit the entries.
        """
        head = head_ready(alike)
        self._at("before-begin")
        with self._writing:
            done = self._write(
                lambda connection, is_there: (
                    None if is_there else self._inserting.add_alike(connection, alike, head)
                )
            )
            if done is not None and self._listeners.are_there:
                self._listeners.owe(entries_in(done[1]))
        self._at("after-commit")
        self._listeners.tell()
        self._at("before-reply")
        return None if done is None else done[0]

    def entries(self, stream: str, *, after: int = 0) -> Iterator[Entry]:
        """Yield the entries of one stream whose revision is above `after`, in order.

        Parameters
        ----------
        stream : str
            Name of the stream.
        after : int, optional
            Last revision that is known already.

        Yields
        ------
        Entry
            Those that were stored when the first was asked for.
        """
        last = self.count(stream)
        while after < last:
            upto = min(after + PAGE, last)
            given = {"stream": stream, "after": after, "last": upto}
            for row in self._ask(self._sql.of_stream, given):
                yield entry_of(row)
            after = upto

    def entry(self, entry_id: str) -> Entry | None:
        """Return the entry with an id, whatever stream it is in, or None."""
        rows = self._ask(self._sql.by_id, {"id": entry_id})
        return entry_of(rows[0]) if rows else None

    def everything(self, *, after: int = 0) -> Iterator[Entry]:
        """Yield the entries of all streams whose place is above `after`, in order.

        Parameters
        ----------
        after : int, optional
            Last place that is known already.

        Yields
        ------
        Entry
            Until there are no more.
        """
        while rows := self._ask(self._sql.everything, {"after": after}):
            for row in rows:
                yield entry_of(row)
            after = rows[-1][0]

    def streams(self, prefix: str = "") -> tuple[str, ...]:
        """Return the names of all streams that start with `prefix`, oldest first.

        Parameters
        ----------
        prefix : str, optional
            Such as ``"job/"``.

        Returns
        -------
        tuple of str
            In the order of their first entries.
        """
        rows = self._ask(self._sql.streams, {"prefix": prefix, "length": len(prefix)})
        return tuple(name for (name,) in rows)

    def count(self, stream: str) -> int:
        """Return the number of entries of a stream, which is its last revision."""
        return int(self._ask(self._sql.revision, {"stream": stream})[0][0] or 0)

    def last_seq(self) -> int:
        """Return the place of the last entry of the whole journal, 0 when it is empty."""
        return int(self._ask(self._sql.read_head, {})[0][0])

    def subscribe(self, listener: Listener) -> Callable[[], None]:
        """Call `listener` after every commit of this journal; return a function that stops it.

        Parameters
        ----------
        listener : callable
            Gets the new entries of one transaction, transactions in order, in the thread of
            whoever appends. What it raises is logged and goes no further. What another
            program appends to the same store is not told.

        Returns
        -------
        callable
            Stops it; may be called twice.
        """
        return self._listeners.add(listener)

    def close(self) -> None:
        """Let go of the store; may be called twice."""
        with self._writing:
            self._is_closed = True
            self._readers.close()
            # Last, because only a connection that may write can tidy the write-ahead log away.
            self._drop_writer()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _write(self, add: Callable[[Connection, bool], _Answer]) -> _Answer:
        """Run one transaction and return what `add` does in it.

        `add` is told whether an id was found to be there already.
        """
        self._check_open()
        try:
            self._place.check_still_there()
            connection = self._begun()
            try:
                answer = add(connection, False)  # noqa: FBT003  the one thing it is told
            except self._place.taken:
                # The table itself refuses an id that is there, for nothing; only then look.
                connection.rollback()
                connection.execute(self._place.begin)
                answer = add(connection, True)  # noqa: FBT003  the one thing it is told
            self._at("after-insert")
            connection.execute("COMMIT")
        except self._place.error as error:
            self._roll_back()
            if not self._place.may_go_on(error):
                self._drop_writer()
            raise self._place.refusal(error) from error
        except BaseException:
            self._roll_back()
            raise
        return answer

    def _ask(self, sql: str, given: Mapping[str, object]) -> list[Row]:
        """Return what a read-only connection answers."""
        self._check_open()
        return self._readers.ask(sql, given)

    def _check_open(self) -> None:
        """Raise JournalError once the journal is closed."""
        if self._is_closed:
            message = f"The journal {self._place.name} is closed: open it again."
            raise JournalError(message)

    def _begun(self) -> Connection:
        """Return the writing connection, made anew if it was lost, with a transaction begun."""
        if self._writer is not None:
            try:
                self._writer.execute(self._place.begin)
            except self._place.error as error:
                # Nothing has been sent yet, so a second try cannot store anything twice.
                if self._place.may_go_on(error):
                    raise
                self._drop_writer()
            else:
                return self._writer
        connection = self._reopened()
        connection.execute(self._place.begin)
        return connection

    def _reopened(self) -> Connection:
        """Return a new writing connection in place of one that failed."""
        try:
            self._writer = self._place.writer()
        except JournalError as error:
            message = f"The entry was not kept. {error}"
            raise StoreFull(message) from error
        return self._writer

    def _roll_back(self) -> None:
        """Undo an open transaction; a connection that cannot is dropped."""
        if self._writer is not None:
            try:
                self._writer.rollback()
            except self._place.error:
                self._drop_writer()

    def _drop_writer(self) -> None:
        """Close the writing connection; the next append opens another."""
        writer, self._writer = self._writer, None
        if writer is not None:
            with suppress(self._place.error):
                writer.close()


def _pass_by(point: str) -> None:
    """Do nothing at a point of an append."""
