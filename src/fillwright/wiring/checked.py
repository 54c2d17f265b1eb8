"""A journal whose chain is followed from its first entry while it is already in use.

Where that finds damage, the journal takes nothing more and is shown as far as it can be read.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Final

from fillwright.errors import FillwrightError
from fillwright.records.alike import Alike, AlikeKept
from fillwright.records.entries import Draft, Entry
from fillwright.records.ports import Journal
from fillwright.store.journal import SqlJournal
from fillwright.store.remains import remains_of
from fillwright.store.verify import verify
from fillwright.wiring.look_only import LookOnly

__all__ = ["Checked"]

_LOG: Final = logging.getLogger(__name__)


class Checked:
    """Passes everything on to a journal until it is found damaged; fulfils `Journal`.

    Parameters
    ----------
    journal : SqlJournal
        The journal; closed with this one.
    where : str or Path
        Where it is.
    """

    def __init__(self, journal: SqlJournal, where: str | Path) -> None:
        self._store = journal
        self._shown: Journal = journal
        self._where = str(where)
        self._thread = threading.Thread(target=self._check, name="check the chain", daemon=True)
        self._telling = threading.Lock()
        self._tell: Callable[[tuple[str, ...]], None] | None = None
        self.words: tuple[str, ...] = ()

    def start(self, *, wait_s: float) -> None:
        """Begin to follow the chain, and wait for the end of it, but no longer than `wait_s`."""
        self._thread.start()
        self._thread.join(wait_s)

    def on_damage(self, tell: Callable[[tuple[str, ...]], None]) -> None:
        """Call `tell` with the report if damage is found, at once where it was found before."""
        with self._telling:
            self._tell = tell
            found = self.words
        if found:
            tell(found)

    def append(self, drafts: Sequence[Draft], *, seen: int | None = None) -> tuple[Entry, ...]:
        """Store the drafts, or refuse them once damage was found; see `Journal`."""
        return self._shown.append(drafts, seen=seen)

    def append_alike(self, alike: Alike) -> AlikeKept | None:
        """Store weights of one file, or refuse them once damage was found; see `Journal`."""
        return self._shown.append_alike(alike)

    def entries(self, stream: str, *, after: int = 0) -> Iterator[Entry]:
        """Yield the entries of one stream; see `Journal`."""
        return self._shown.entries(stream, after=after)

    def entry(self, entry_id: str) -> Entry | None:
        """Return the entry with an id, or None."""
        return self._shown.entry(entry_id)

    def streams(self, prefix: str = "") -> tuple[str, ...]:
        """Return the names of all streams that start with `prefix`."""
        return self._shown.streams(prefix)

    def subscribe(self, listener: Callable[[tuple[Entry, ...]], None]) -> Callable[[], None]:
        """Call `listener` after every commit; see `Journal`."""
        return self._store.subscribe(listener)

    def close(self) -> None:
        """Let go of the journal."""
        self._store.close()

    def _check(self) -> None:
        """Follow the chain; where it does not hold, show what is left of the journal."""
        try:
            report = verify(self._where)
            if report.ok:
                return
            remains = remains_of(self._where)
        except FillwrightError:
            _LOG.exception("The chain of the journal could not be followed to its end.")
            return
        if remains is None:
            looked_at = LookOnly(self._store, "This journal is damaged: nothing is kept in it.")
            words, self._shown = looked_at.words, looked_at
        else:
            words, self._shown = remains.words, remains
            if not remains.is_explained:
                words = (words[0], report.because, *words[1:])
        with self._telling:
            self.words = words
            tell = self._tell
        if tell is not None:
            tell(self.words)
