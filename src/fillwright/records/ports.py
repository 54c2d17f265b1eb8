"""What the records need from outside: a journal, a clock, a line to a weighing scale."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from typing import Protocol

from fillwright.records.alike import Alike, AlikeKept
from fillwright.records.entries import Draft, Entry
from fillwright.records.photofile import PhotoFile

__all__ = ["Clock", "Journal", "KeptStates", "Line", "Photos"]


class Clock(Protocol):
    """Tells the time, so that every run can be replayed."""

    def now(self) -> datetime:
        """Return the present time in UTC, with its zone set."""
        ...

    def zone(self) -> str:
        """Return the name of the bench's own time zone."""
        ...


class Journal(Protocol):
    """The append-only log; the ways in are `append` and `append_alike`."""

    def append(self, drafts: Sequence[Draft], *, seen: int | None = None) -> tuple[Entry, ...]:
        """Store the drafts of one stream in one transaction and return them as entries.

        Parameters
        ----------
        drafts : sequence of Draft
            All for the same stream, in order. A draft whose id is already stored is
            answered with the stored entry and appends nothing.
        seen : int, optional
            Revision of the stream (its number of entries) that the sender had seen. When
            the stream has moved on since, and the first draft is not a repeat, nothing is
            stored.

        Returns
        -------
        tuple of Entry
            One for each draft; committed before this returns.

        Raises
        ------
        Conflict
            If the stream moved on since `seen`, or an id is used for something else.
        StoreFull
            If the disk cannot take it; nothing was stored.
        """
        ...

    def append_alike(self, alike: Alike) -> AlikeKept | None:
        """Store weights of one file in one transaction, quicker than one by one.

        Returns
        -------
        AlikeKept or None
            Where they stand; committed before this returns. None where an id is stored
            already: nothing was stored, and `append` tells which.

        Raises
        ------
        StoreFull
            If the disk cannot take it; nothing was stored.
        """
        ...

    def entries(self, stream: str, *, after: int = 0) -> Iterator[Entry]:
        """Yield the entries of one stream whose revision is above `after`, in order."""
        ...

    def entry(self, entry_id: str) -> Entry | None:
        """Return the entry with an id, whatever stream it is in, or None."""
        ...

    def streams(self, prefix: str = "") -> tuple[str, ...]:
        """Return the names of all streams that start with `prefix`, oldest first."""
        ...

    def subscribe(self, listener: Callable[[tuple[Entry, ...]], None]) -> Callable[[], None]:
        """Call `listener` after every commit; return a function that stops it."""
        ...


class KeptStates(Protocol):
    """Folds of long jobs as bytes, kept apart from the journal; losing them costs time only."""

    def find(self, stream: str) -> bytes | None:
        """Return what was kept last for a stream, or None; never raises for a bad file."""
        ...

    def keep(self, stream: str, data: bytes) -> None:
        """Keep bytes for a stream in place of the earlier ones; a full disk is passed over."""
        ...


class Photos(Protocol):
    """Photos beside the journal, by the hash of their bytes."""

    def keep(self, data: bytes) -> PhotoFile:
        """Keep a photo and return how it is named on record.

        Raises
        ------
        BadInput
            If it is too long, or no photo.
        StoreFull
            If the disk cannot take it.
        """
        ...

    def find(self, sha256: str) -> tuple[bytes, str] | None:
        """Return the bytes and the type of a photo; None where it is missing or was changed."""
        ...


class Line(Protocol):
    """A line to a weighing scale: bytes come and go, nothing is understood here."""

    def read(self, timeout_s: float) -> bytes:
        """Return what has arrived, at the latest after `timeout_s`; may be empty.

        Raises
        ------
        PortGone
            If the other end is not there any more.
        """
        ...

    def write(self, data: bytes) -> None:
        """Send bytes, for scales that answer only when asked."""
        ...

    def close(self) -> None:
        """Let go of the port."""
        ...
