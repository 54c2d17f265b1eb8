"""The demo in the terminal: one invented job from Match to a released batch, with its papers."""

from __future__ import annotations

import csv
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, replace
from io import StringIO
from pathlib import Path

import numpy as np

from fillwright.jobs.catalogue import change_settings, list_person
from fillwright.jobs.desk import Desk, Press, find_job
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.papers import batch_record, job_card
from fillwright.jobs.traveller import STAGE_WORDS
from fillwright.language import PLAIN, Way, way_of
from fillwright.language.kept import keep_of, named_of
from fillwright.records.fold import JobState
from fillwright.report.pdf import print_sheet
from fillwright.wiring import maker
from fillwright.wiring.bench import open_bench
from fillwright.wiring.player import play
from fillwright.wiring.standing import bench_for

__all__ = ["Played", "demo_headless"]

_NUMBER = "0001"


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """What the terminal demo left: the verdict in words and where the papers are."""

    headline: str
    because: str
    weights: int
    pdf: Path
    card: Path
    csv: Path
    journal: Path


def demo_headless(
    folder: Path,
    *,
    progress: Callable[[str, str, int], None] | None = None,
    seed: int = 7,
    way: Way = PLAIN,
) -> Played:
    """Play the demo job without a page.

    Parameters
    ----------
    folder : Path
        Where journal, papers and CSV are left; made if it is missing.
    progress : callable, optional
        Told the stage, the order and the number of weights kept, before each act.
    seed : int
        Seed of the simulated bench and of the draw.
    way : Way
        Language and measures of the papers.

    Returns
    -------
    Played
        The outcome and the papers.
    """
    folder.mkdir(parents=True, exist_ok=True)
    where = folder / "demo-journal.sqlite3"
    for companion in ("", "-wal", "-shm"):
        where.with_name(where.name + companion).unlink(missing_ok=True)
    pdf, card = folder / "batch-record.pdf", folder / "job-card.pdf"
    table = folder / "weights.csv"
    # Closed at the end, so that the journal is one file that can be carried away.
    with closing(open_bench(where)) as bench:
        state = _play(bench.desk, progress, seed)
        site = bench.desk.book.site()
        named = way_of(site, language=way.language, measures=way.measures)
        for path, sheet in (
            (pdf, batch_record(bench.desk, state)),
            (card, job_card(bench.desk, state)),
        ):
            keep = keep_of([*named_of(site), sheet])
            _write(path, print_sheet(sheet, way=replace(named, keep=keep)))
        _write(table, _csv_of(state).encode("utf-8"))
    lot = state.lot
    closed = state.released
    released = closed is not None and closed.outcome == "released"
    count = closed.containers if closed is not None else 0
    return Played(
        headline=f"Released {count}." if released else "Not released.",
        because="" if lot is None else lot.because,
        weights=len(state.weighings),
        pdf=pdf,
        card=card,
        csv=table,
        journal=where,
    )


def _play(desk: Desk, progress: Callable[[str, str, int], None] | None, seed: int) -> JobState:
    """Open the invented job and play it to its release."""
    person = maker.PEOPLE[0]
    press = Press(person=person.initials)
    change_settings(desk, maker.SETTINGS, press)
    list_person(desk, person, press)
    facts = replace(maker.JOBS[0], number=_NUMBER, lot_code=f"NE-{_NUMBER}")
    facts = replace(facts, aim_g=propose_aim(desk, facts).aim_g)
    open_job(desk, facts, press)
    chance = np.random.Generator(np.random.PCG64(seed))
    bench = bench_for(desk, find_job(desk, _NUMBER), chance, time.monotonic)
    return play(
        desk,
        _NUMBER,
        bench,
        person,
        until=lambda s: s.released is not None,
        seed=seed,
        told=None
        if progress is None
        else lambda s, act: progress(STAGE_WORDS[act.stage], act.order, len(s.weighings)),
    )


def _csv_of(state: JobState) -> str:
    """Return every weight of a job as CSV, units in the header, decimals exact."""
    sheet = StringIO()
    table = csv.writer(sheet)
    table.writerow(
        [
            "time",
            "purpose",
            "number",
            "shown",
            "unit",
            "tare (g)",
            "net (g)",
            "state",
            "person",
            "struck out",
        ]
    )
    for w in state.weighings:
        table.writerow(
            [
                w.at.isoformat(timespec="milliseconds"),
                w.fact.purpose,
                w.fact.container or "",
                w.fact.value,
                w.fact.unit,
                str(w.fact.tare_g),
                str(w.fact.net_g),
                w.fact.state,
                w.person,
                w.struck or w.fact.set_aside,
            ]
        )
    return sheet.getvalue()


def _write(path: Path, data: bytes) -> None:
    """Write a file whole or not at all."""
    part = path.with_name(path.name + ".part")
    part.write_bytes(data)
    part.replace(path)
