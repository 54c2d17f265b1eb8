"""Hands what the scale says to every page that listens."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping

from fillwright.scale.pan_events import ScaleEvent

__all__ = ["ScaleHub"]


class ScaleHub:
    """Hands what the scale says to every page that listens; remembers the latest."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._latest: Mapping[str, str | None] = {}
        self._is_joined = False
        self._listeners: list[Callable[[Mapping[str, str | None]], None]] = []

    @property
    def is_joined(self) -> bool:
        """True while a weighing scale is joined, whether it sends or not."""
        return self._is_joined

    def join(self) -> None:
        """Say that a scale is joined."""
        self._is_joined = True

    def leave(self) -> None:
        """Say that no scale is joined any more."""
        with self._lock:
            self._is_joined = False
            self._latest = {}

    def hear(self, event: ScaleEvent) -> None:
        """Take an event from the line; called from the line's thread."""
        said = event.as_dict()
        with self._lock:
            self._latest = said
            listeners = tuple(self._listeners)
        for listener in listeners:
            listener(said)

    def forget(self) -> None:
        """Forget what stood on the pan: it has been kept or taken off."""
        with self._lock:
            self._latest = {"event": "pan-empty"}

    def latest(self) -> Mapping[str, str | None]:
        """Return what the scale said last; empty before it said anything."""
        with self._lock:
            return self._latest

    def subscribe(
        self, listener: Callable[[Mapping[str, str | None]], None]
    ) -> Callable[[], None]:
        """Call `listener` with every event; return a function that stops it."""
        with self._lock:
            self._listeners.append(listener)

        def stop() -> None:
            with self._lock:
                if listener in self._listeners:
                    self._listeners.remove(listener)

        return stop
