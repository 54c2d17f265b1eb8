"""A bench: the desk with its real journal, and the weighing scale if there is one."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from fillwright.jobs.desk import Desk
from fillwright.knowledge.load import rule_sets
from fillwright.knowledge.procedures_load import profiles
from fillwright.records.book import Book
from fillwright.records.ports import Clock
from fillwright.store.journal import SqlJournal, open_journal
from fillwright.store.kept_states import StateFiles
from fillwright.wiring.look_only import LookOnly
from fillwright.wiring.pairing import Pairing, pairing_file
from fillwright.wiring.scale_hub import ScaleHub
from fillwright.wiring.scale_link import ScaleLink
from fillwright.wiring.seats import Seats

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """All that a server or a command works with.

    Parameters
    ----------
    desk : Desk
        Journal, clock, states, rule sets.
    scale : ScaleHub
        What the weighing scale says, where one is joined.
    link : ScaleLink or None
        The line to a real weighing scale; none in the demo.
    pairing : Pairing or None
        Which other devices may come; None lets none come.
    seats : Seats
        Who weighs for which job.
    demo : DemoBench or None
        The simulated machine and scale, in the demo.
    addresses : tuple of str
        Where other devices find the pages, once the server listens beyond this machine.
    store_words : str
        Where the journal is, for people.
    """

    desk: Desk
    scale: ScaleHub = field(default_factory=ScaleHub)
    link: ScaleLink | None = None
    pairing: Pairing | None = None
    seats: Seats = field(default_factory=Seats)
    demo: DemoBench | None = None
    addresses: tuple[str, ...] = ()
    store_words: str = ""

    def close(self) -> None:
        """Let go of scale and journal."""
        if self.demo is not None:
            self.demo.stop()
        if self.link is not None:
            self.link.stop()
        if isinstance(self.desk.journal, SqlJournal | LookOnly):
            self.desk.journal.close()


def _profiles_beside(where: str | Path) -> Path | None:
    """Return the folder beside a store for machine profiles of the site's own."""
    return None if "://" in str(where) else Path(where).parent / "profiles"


def desk_on(where: str | Path, *, clock: Clock | None = None) -> Desk:
    """Return a desk on the journal at `where`, made if it is missing."""
    ticking = SystemClock() if clock is None else clock
    journal = open_journal(where, clock=ticking)
    return Desk(
        journal=journal,
        clock=ticking,
        book=Book(journal, StateFiles(where)),
        rule_sets=rule_sets(),
        profiles=profiles(_profiles_beside(where)),
        program=f"Fillwright {version('fillwright')}",
    )


def open_bench(
    where: str | Path, *, clock: Clock | None = None, looks_only: bool = False
) -> Bench:
    """Open the bench whose journal is at `where`, with the weighing scale that it keeps.

    With `looks_only` nothing is kept, and no scale is joined.
    """
    desk, hub = desk_on(where, clock=clock), ScaleHub()
    if looks_only and isinstance(desk.journal, SqlJournal):
        looked_at = LookOnly(desk.journal)
        desk = replace(desk, journal=looked_at, book=Book(looked_at))
        return Bench(desk=desk, scale=hub, store_words=str(where))
    return Bench(
        desk=desk,
        scale=hub,
        link=ScaleLink(desk, hub),
        pairing=Pairing(pairing_file(where)),
        store_words=str(where),
    )
