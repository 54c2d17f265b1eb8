"""A bench: the desk with its real journal, and the weighing scale if there is one."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Final

from fillwright.errors import BrokenChain
from fillwright.jobs.desk import Desk
from fillwright.knowledge.load import rule_sets
from fillwright.knowledge.procedures_load import profiles
from fillwright.records.book import Book
from fillwright.records.ports import Clock, Journal
from fillwright.store.journal import SqlJournal, open_journal
from fillwright.store.kept_states import StateFiles
from fillwright.store.photos import photos_of
from fillwright.store.remains import Remains, remains_of
from fillwright.wiring.benchzone import bench_zone
from fillwright.wiring.checked import Checked
from fillwright.wiring.intake import Intake
from fillwright.wiring.look_only import LookOnly
from fillwright.wiring.pairing import Pairing, pairing_file
from fillwright.wiring.practising import PracticeBench
from fillwright.wiring.scale_hub import ScaleHub
from fillwright.wiring.scale_link import ScaleLink
from fillwright.wiring.seats import Seats

if TYPE_CHECKING:
    from fillwright.wiring.demo import DemoBench

__all__ = ["Bench", "ScaleHub", "SystemClock", "desk_on", "open_bench"]

_WAITS_FOR_CHECK_S: Final = 0.5
"""So long a start waits for the chain: short journals are told at once, long ones go on."""


class SystemClock:
    """The machine's own clock."""

    def now(self) -> datetime:
        """Return the present time in UTC."""
        return datetime.now(UTC)

    def zone(self) -> str:
        """Return the machine's time zone by its name, or its offset from UTC as it is now."""
        return bench_zone(datetime.now().astimezone())


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
    intake : Intake
        Files that were sent and not yet taken in.
    demo : DemoBench or None
        The simulated machine and scale, in the demo.
    practice : PracticeBench or None
        Those of a real bench, for practice jobs alone.
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
    intake: Intake = field(default_factory=Intake)
    demo: DemoBench | None = None
    practice: PracticeBench | None = None
    addresses: tuple[str, ...] = ()
    store_words: str = ""

    def close(self) -> None:
        """Let go of scale, files and journal."""
        self.intake.close()
        if self.demo is not None:
            self.demo.stop()
        if self.practice is not None:
            self.practice.stop()
        if self.link is not None:
            self.link.stop()
        if isinstance(self.desk.journal, SqlJournal | LookOnly | Checked | Remains):
            self.desk.journal.close()

    def machine_of(self, number: str) -> DemoBench | None:
        """Return the simulated machine that serves a job: the demo's, or that of practice."""
        if self.demo is not None or self.practice is None:
            return self.demo
        return self.practice.machine_of(number)

    def scale_of(self, number: str) -> ScaleHub:
        """Return what hands on the weighing scale of a job; practice may have its own."""
        if self.demo is None and self.practice is not None and self.machine_of(number):
            return self.practice.scale
        return self.scale

    @property
    def simulated(self) -> DemoBench | None:
        """The simulated machine that is in use, of the demo or of practice."""
        if self.demo is not None or self.practice is None:
            return self.demo
        return self.practice.machine

    @property
    def notice(self) -> tuple[str, ...]:
        """Return why nothing is kept and what is lost; nothing where all is well."""
        journal = self.desk.journal
        return journal.words if isinstance(journal, LookOnly | Checked | Remains) else ()


def _beside(where: str | Path, name: str) -> Path | None:
    """Return the place beside a store for what is the site's own: profiles, fault data."""
    return None if "://" in str(where) else Path(where).parent / name


def desk_on(where: str | Path, *, clock: Clock | None = None) -> Desk:
    """Return a desk on the journal at `where`, made if it is missing."""
    ticking = SystemClock() if clock is None else clock
    journal = open_journal(where, clock=ticking)
    return _desk(journal, Book(journal, StateFiles(where)), where, ticking)


def _desk(journal: Journal, book: Book, where: str | Path, clock: Clock) -> Desk:
    """Return a desk on a journal that is open."""
    return Desk(
        journal=journal,
        clock=clock,
        book=book,
        rule_sets=rule_sets(),
        profiles=profiles(_beside(where, "profiles")),
        faults_at=_beside(where, "faults.toml"),
        photos=photos_of(where),
        program=f"Fillwright {version('fillwright')}",
    )


def open_bench(
    where: str | Path,
    *,
    clock: Clock | None = None,
    looks_only: bool = False,
    checks: bool = False,
) -> Bench:
    """Open the bench whose journal is at `where`, with the weighing scale that it keeps.

    Parameters
    ----------
    where : str or Path
        As for `open_journal`.
    clock : Clock, optional
        The machine's own when left out.
    looks_only : bool
        Whether nothing is kept, and no scale joined.
    checks : bool
        Whether the chain is followed while the bench is in use.

    Returns
    -------
    Bench
        One that only shows what can be read, where the journal is damaged.

    Raises
    ------
    JournalError
        If the journal cannot be opened, and nothing of it can be shown either.
    """
    ticking = SystemClock() if clock is None else clock
    hub = ScaleHub()
    try:
        journal = open_journal(where, clock=ticking)
    except BrokenChain:
        remains = remains_of(str(where))
        if remains is None:
            raise
        desk = _desk(remains, Book(remains), where, ticking)
        return Bench(desk=desk, scale=hub, store_words=str(where))
    if looks_only:
        looked_at = LookOnly(journal)
        desk = _desk(looked_at, Book(looked_at), where, ticking)
        return Bench(desk=desk, scale=hub, store_words=str(where))
    used: SqlJournal | Checked = journal
    if checks:
        used = Checked(journal, where)
        used.start(wait_s=_WAITS_FOR_CHECK_S)
    desk = _desk(used, Book(used, StateFiles(where)), where, ticking)
    return Bench(
        desk=desk,
        scale=hub,
        link=ScaleLink(desk, hub),
        pairing=Pairing(pairing_file(where)),
        practice=PracticeBench(desk),
        store_words=str(where),
    )
