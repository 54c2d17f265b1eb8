"""A bench: the desk with its real journal, and the weighing scale if there is one."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from fillwright.jobs.desk import Desk
from fillwright.knowledge.load import rule_sets
from fillwright.records.book import Book
from fillwright.records.ports import Clock
from fillwright.scale.pan_events import ScaleEvent
from fillwright.store.journal import SqlJournal, open_journal
from fillwright.store.kept_states import StateFiles

if TYPE_CHECKING:
    from fillwright.wiring.demo import DemoBench

__all__ = ["Bench", "ScaleHub", "SystemClock", "desk_on", "open_bench"]


class SystemClock:
    """The machine's own clock."""

    def now(self) -> datetime:
        """Return the present time in UTC."""
        return datetime.now(UTC)

    def zone(self) -> str:
        """Return the name of the machine's time zone, as it calls it now."""
        return datetime.now().astimezone().tzname() or "UTC"


class ScaleHub:
    """Hands what the scale says to every page that listens; remembers the latest."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._latest: Mapping[str, str | None] = {}
        self._listeners: list[Callable[[Mapping[str, str | None]], None]] = []

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """All that a server or a command works with.

    Parameters
    ----------
    desk : Desk
        Journal, clock, states, rule sets.
    scale : ScaleHub or None
        What the weighing scale says, where one is joined.
    demo : DemoBench or None
        The simulated machine and scale, in the demo.
    store_words : str
        Where the journal is, for people.
    """

    desk: Desk
    scale: ScaleHub | None = None
    demo: DemoBench | None = None
    store_words: str = ""

    def close(self) -> None:
        """Let go of scale and journal."""
        if self.demo is not None:
            self.demo.stop()
        if isinstance(self.desk.journal, SqlJournal):
            self.desk.journal.close()


def desk_on(where: str | Path, *, clock: Clock | None = None) -> Desk:
    """Return a desk on the journal at `where`, made if it is missing."""
    ticking = SystemClock() if clock is None else clock
    journal = open_journal(where, clock=ticking)
    return Desk(
        journal=journal,
        clock=ticking,
        book=Book(journal, StateFiles(where)),
        rule_sets=rule_sets(),
        program=f"Fillwright {version('fillwright')}",
    )


def open_bench(where: str | Path, *, clock: Clock | None = None) -> Bench:
    """Open the bench whose journal is at `where`; weights are typed, or come by HTTP."""
    return Bench(desk=desk_on(where, clock=clock), store_words=str(where))
