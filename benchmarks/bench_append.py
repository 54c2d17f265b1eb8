"""Measure the journal against the bare driver on the same disk, taking turns.

Run as ``python benchmarks/bench_append.py [FOLDER]``; the folder decides which disk is measured.
The bare driver inserts the same thirteen columns into a table with the same keys and commits.
"""

from __future__ import annotations

import gc
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from fillwright.records.codec import GENESIS, draft, payload_to_json, stamp
from fillwright.records.entries import Draft, WeighingTaken
from fillwright.store.journal import open_journal
from fillwright.store.verify import verify

TURNS = 800
MANY = 100_000
BATCH = 1000
TABLE = """
CREATE TABLE bare (seq INTEGER PRIMARY KEY, revision INTEGER, id TEXT UNIQUE, stream TEXT,
kind TEXT, version INTEGER, at TEXT, zone TEXT, person TEXT, bench TEXT, payload TEXT,
previous_hash TEXT, hash TEXT, UNIQUE (stream, revision)) STRICT
"""


def weighing(number: int) -> Draft:
    """Return an invented weighing."""
    payload = WeighingTaken(
        purpose="dose",
        value="285.88",
        unit="g",
        basis="gross",
        tare_g=Decimal("35.10"),
        net_g=Decimal("250.78"),
        container=number,
        filled_to=number + 2,
        setting_marks=Decimal("62.5"),
        state="on",
        source="scale",
    )
    at = datetime(2031, 3, 5, tzinfo=UTC) + timedelta(seconds=number)
    return draft(payload, stream="job/1", at=at, zone="Etc/UTC", person="Ada", bench="bench 1")


def row_of(number: int, one: Draft) -> tuple[object, ...]:
    """Return the row that the bare driver inserts, its texts already made."""
    return (
        number, number, one.id, one.stream, one.payload.kind, one.payload.version,
        stamp(one.at), one.zone, one.person, one.bench, payload_to_json(one.payload), GENESIS,
        GENESIS,
    )  # fmt: skip


def timed(work: Callable[[], object]) -> float:
    """Return how many milliseconds it took."""
    began = time.perf_counter()
    work()
    return (time.perf_counter() - began) * 1e3


def opened_bare(path: Path) -> sqlite3.Connection:
    """Return the bare driver's connection, flushing as the journal does."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute(TABLE)
    return connection


def appends(folder: Path) -> None:
    """Compare one append with one bare insert and commit."""
    bare = opened_bare(folder / "bare.sqlite3")
    marks = ",".join("?" * 13)
    theirs, ours = [], []
    with open_journal(folder / "journal.sqlite3") as journal:
        for number in range(1, TURNS + 1):
            one = weighing(number)
            row = row_of(number, one)

            def insert(row: tuple[object, ...] = row) -> None:
                bare.execute("BEGIN IMMEDIATE")
                bare.execute(f"INSERT INTO bare VALUES ({marks})", row)  # noqa: S608  our own marks
                bare.execute("COMMIT")

            theirs.append(timed(insert))
            ours.append(timed(lambda one=one: journal.append((one,))))
    bare.close()
    ratios = [our / their for our, their in zip(ours, theirs, strict=True)]
    extra = [our - their for our, their in zip(ours, theirs, strict=True)]
    print(f"append, {TURNS} turns: bare p50 {statistics.median(theirs):.3f} ms,", end=" ")
    print(f"journal p50 {statistics.median(ours):.3f} ms,", end=" ")
    print(f"p99 {statistics.quantiles(ours, n=100)[98]:.3f} ms")
    print(
        f"  ratio p50 {statistics.median(ratios):.2f}, extra p50 {statistics.median(extra):.3f} ms"
    )


def reads(folder: Path) -> None:
    """Compare reading a long stream as entries with fetching its rows."""
    path = folder / "long.sqlite3"
    with open_journal(path) as journal:
        for first in range(0, MANY, BATCH):
            journal.append([weighing(number) for number in range(first, first + BATCH)])
        bare = sqlite3.connect(path)
        fetch = "SELECT * FROM entries WHERE stream = 'job/1' AND revision > 0 ORDER BY revision"
        theirs, ours = [], []
        for _ in range(5):
            theirs.append(timed(lambda: bare.execute(fetch).fetchall()))
            gc.collect()
            ours.append(timed(lambda: [None for _ in journal.entries("job/1")]))
        bare.close()
    checked = timed(lambda: verify(path))
    ours_p50, theirs_p50 = statistics.median(ours), statistics.median(theirs)
    print(f"read {MANY}: fetchall {theirs_p50:.0f} ms, entries {ours_p50:.0f} ms,", end=" ")
    print(f"ratio {ours_p50 / theirs_p50:.1f}, {ours_p50 / MANY * 1e3:.1f} us an entry")
    print(f"verify {MANY}: {checked:.0f} ms, {checked / theirs_p50:.1f} times the fetchall")


def main() -> None:
    """Print both comparisons."""
    where = sys.argv[1] if sys.argv[1:] else None
    with tempfile.TemporaryDirectory(dir=where) as folder:
        appends(Path(folder))
        reads(Path(folder))


if __name__ == "__main__":
    main()
