"""Tells those who listen what was stored, after the commit and in the order of commits."""

from __future__ import annotations

import logging
import threading
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from typing import Final, TypeAlias

from fillwright.records.entries import Entry

__all__ = ["Listener", "Listeners"]

Listener: TypeAlias = Callable[[tuple[Entry, ...]], None]

_log: Final = logging.getLogger(__name__)


class Listeners:
    """Those who listen, and what they have not been told yet."""

    def __init__(self) -> None:
        self._listeners: list[Listener] = []
        self._untold: deque[tuple[Entry, ...]] = deque()
        self._telling = threading.Lock()

    @property
    def are_there(self) -> bool:
        """Return True when anybody listens."""
        return bool(self._listeners)

    def add(self, listener: Listener) -> Callable[[], None]:
        """Take one more listener; return a function that stops it.

        Parameters
        ----------
        listener : callable
            Called with the new entries of one transaction.

        Returns
        -------
        callable
            Stops it; may be called twice.
        """
        self._listeners.append(listener)

        def stop() -> None:
            with suppress(ValueError):
                self._listeners.remove(listener)

        return stop

    def owe(self, news: tuple[Entry, ...]) -> None:
        """Put down what is to be told; whoever holds the write lock keeps the order.

        Parameters
        ----------
        news : tuple of Entry
            Committed together; nothing is put down when it is empty.
        """
        if news:
            self._untold.append(news)

    def tell(self) -> None:
        """Tell everything owed; while another thread does, it does this one's part too."""
        while self._untold and self._telling.acquire(blocking=False):
            try:
                while self._untold:
                    news = self._untold.popleft()
                    for listener in tuple(self._listeners):
                        _tell_one(listener, news)
            finally:
                self._telling.release()


def _tell_one(listener: Listener, news: tuple[Entry, ...]) -> None:
    """Hand new entries to one listener; they are stored, whatever it does with them."""
    try:
        listener(news)
    except Exception:  # noqa: BLE001  whatever it is, the append went well
        _log.exception("A listener failed on entry %d.", news[-1].seq)
