"""A journal that is looked at and not written to."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from fillwright.errors import StoreFull
from fillwright.records.alike import Alike, AlikeKept
from fillwright.records.entries import Draft, Entry
from fillwright.store.journal import SqlJournal

__all__ = ["LookOnly"]


class LookOnly:
    """Passes reading on and refuses every entry.

    Parameters
    ----------
    journal : SqlJournal
        The journal; closed with this one.
    why : str
        One sentence: why nothing is kept.
    """

    def __init__(
        self,
        journal: SqlJournal,
        why: str = "This journal is open to look at only: nothing is kept in it.",
    ) -> None:
        self._journal = journal
        self.words: tuple[str, ...] = (why,)

    def append(self, drafts: Sequence[Draft], *, seen: int | None = None) -> tuple[Entry, ...]:
        """Refuse the drafts, in words.

        Raises
        ------
        StoreFull
            Always.
        """
        _ = drafts, seen
        raise StoreFull(self.words[0])

    def append_alike(self, alike: Alike) -> AlikeKept | None:
        """Refuse the weights of a file, in words.

        Raises
        ------
        StoreFull
            Always.
        """
        _ = alike
        raise StoreFull(self.words[0])

    def entries(self, stream: str, *, after: int = 0) -> Iterator[Entry]:
        """Yield the entries of one stream; see `Journal`."""
        return self._journal.entries(stream, after=after)

    def entry(self, entry_id: str) -> Entry | None:
        """Return the entry with an id, or None."""
        return self._journal.entry(entry_id)

    def streams(self, prefix: str = "") -> tuple[str, ...]:
        """Return the names of all streams that start with `prefix`."""
        return self._journal.streams(prefix)

    def subscribe(self, listener: Callable[[tuple[Entry, ...]], None]) -> Callable[[], None]:
        """Never call the listener, for nothing is committed; see `Journal`."""
        return self._journal.subscribe(listener)

    def close(self) -> None:
        """Let go of the journal."""
        self._journal.close()
