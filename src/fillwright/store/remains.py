"""A damaged journal as far as it can be shown: read only, each stream up to its first gap.

The chain of the whole journal ends at the first damage, and yet most jobs may be untouched: an
entry is shown while its own hash fits it and no earlier entry of its stream is missing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from typing import Final

from fillwright.errors import BrokenChain, StoreFull
from fillwright.records.alike import Alike, AlikeKept
from fillwright.records.entries import Draft, Entry
from fillwright.store.chain import Row, entry_of
from fillwright.store.damaged import Salvage, is_as_written, salvage, spans
from fillwright.store.places import place
from fillwright.store.sqlite_file import SqliteFile

__all__ = ["Remains", "remains_of"]

_SEQ, _REVISION, _ID, _STREAM, _AT = 0, 1, 2, 3, 6
_MOST_NAMED: Final = 10
_NOTHING_KEPT: Final = "This journal is damaged and only shown: nothing is kept in it."


class Remains:
    """The entries of a damaged journal that can be shown; fulfils `Journal`.

    Parameters
    ----------
    found : Salvage
        What could be read.
    name : str
        Of the damaged journal, for people.

    Attributes
    ----------
    words : tuple of str
        The report, one sentence each.
    is_explained : bool
        Whether entries that are lost or changed are what is damaged.
    """

    def __init__(self, found: Salvage, *, name: str) -> None:
        self._streams: dict[str, list[Row]] = {}
        self._by_id: dict[str, Row] = {}
        self._changed: list[int] = []
        self._hidden: dict[str, int] = {}
        for row in found.rows:
            self._take(row)
        self.is_explained: Final = bool(found.lost or self._changed)
        self.words: Final = self._said(found, name)

    def append(self, drafts: Sequence[Draft], *, seen: int | None = None) -> tuple[Entry, ...]:
        """Refuse the drafts, in words.

        Raises
        ------
        StoreFull
            Always.
        """
        _ = drafts, seen
        raise StoreFull(_NOTHING_KEPT)

    def append_alike(self, alike: Alike) -> AlikeKept | None:
        """Refuse the weights of a file, in words.

        Raises
        ------
        StoreFull
            Always.
        """
        _ = alike
        raise StoreFull(_NOTHING_KEPT)

    def entries(self, stream: str, *, after: int = 0) -> Iterator[Entry]:
        """Yield the entries of one stream whose revision is above `after`, in order."""
        for row in self._streams.get(stream, ())[after:]:
            yield entry_of(row)

    def entry(self, entry_id: str) -> Entry | None:
        """Return the entry with an id, whatever stream it is in, or None."""
        row = self._by_id.get(entry_id)
        return None if row is None else entry_of(row)

    def streams(self, prefix: str = "") -> tuple[str, ...]:
        """Return the names of all streams that start with `prefix`, oldest first."""
        return tuple(name for name in self._streams if name.startswith(prefix))

    def subscribe(self, listener: Callable[[tuple[Entry, ...]], None]) -> Callable[[], None]:
        """Never call the listener, for nothing is committed; return a function all the same."""
        _ = listener
        return _nothing

    def close(self) -> None:
        """Do nothing: the file was let go when it was read."""

    def _take(self, row: Row) -> None:
        """Put a row where it is shown, or count it among those that are not."""
        if not _is_sound(row):
            self._changed.append(row[_SEQ])
            return
        stream = row[_STREAM]
        known = self._streams.get(stream, [])
        if stream in self._hidden or row[_REVISION] != len(known) + 1:
            self._hidden[stream] = self._hidden.get(stream, 0) + 1
            return
        self._streams.setdefault(stream, []).append(row)
        self._by_id[row[_ID]] = row

    def _said(self, found: Salvage, name: str) -> tuple[str, ...]:
        """Return the report, one sentence each."""
        headline = f"The journal {name} is damaged: it is shown as far as it can be read, and"
        whole = f"{found.whole} of {found.last} entries are whole from the first on."
        if found.whole:
            whole += f" The last of them is of {_when(found.rows[found.whole - 1])}."
        said = [f"{headline} nothing is kept in it.", whole]
        kinds = (("cannot be read", found.lost), ("damaged or changed", self._changed))
        for words, places in kinds:
            told = list(spans(tuple(places)))
            if told:
                rest = len(told) - _MOST_NAMED
                more = [f"and {rest} spans more"] if rest > 0 else []
                named = ", ".join(told[:_MOST_NAMED] + more)
                said.append(f"{_entries(len(places))} {words}: {named}.")
        said += [self._cut(stream, count) for stream, count in list(self._hidden.items())]
        said.append(
            "Stop, keep the file as it is, and restore a backup with `fillwright restore`; "
            "`fillwright rescue` saves what can be read into a file of its own."
        )
        return tuple(said)

    def _cut(self, stream: str, hidden: int) -> str:
        """Return where a stream ends for whoever looks, and what is behind that."""
        kind, _, number = stream.partition("/")
        named = f"Job {number}" if kind == "job" else f"The stream {stream}"
        shown = self._streams.get(stream)
        behind = f"{_entries(hidden)} behind a gap can be read and are not shown."
        if not shown:
            return f"{named} is not shown: its first entry is lost. {behind}"
        return f"{named} is shown up to {_when(shown[-1])}: {behind}"


def remains_of(where: str) -> Remains | None:
    """Return what can be shown of a damaged store.

    Parameters
    ----------
    where : str
        As for `open_journal`.

    Returns
    -------
    Remains or None
        None where the store is no file, and so is its server's to mend.

    Raises
    ------
    JournalError
        If nothing at all can be read.
    """
    found = place(where)
    if not isinstance(found, SqliteFile) or not found.path.is_file():
        return None
    return Remains(salvage(found.path), name=found.name)


def _is_sound(row: Row) -> bool:
    """Return whether a row is as it was written and of a kind that is known."""
    if not is_as_written(row):
        return False
    try:
        entry_of(row)
    except (BrokenChain, ValueError, TypeError):
        return False
    return True


def _when(row: Row) -> str:
    """Return when a row was written, for people."""
    return f"{datetime.fromisoformat(row[_AT]):%d %b %Y %H:%M} UTC"


def _entries(count: int) -> str:
    """Return a number of entries in words."""
    return f"{count} {'entry' if count == 1 else 'entries'}"


def _nothing() -> None:
    """Stop what was never begun."""
