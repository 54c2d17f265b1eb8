"""Measure the way of a reading: bytes to lines, last byte to committed entry, a burst of weights.

Run as ``python benchmarks/bench_scale.py [FOLDER]``; the folder decides which disk is measured.
Each figure is a ratio against a named alternative in the same run, taking turns.
"""

from __future__ import annotations

import os
import random
import sqlite3
import statistics
import sys
import tempfile
import threading
import time
import tty
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

from fillwright.jobs.desk import Desk, Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import weigh
from fillwright.records.codec import draft, payload_to_json
from fillwright.records.entries import WeighingTaken
from fillwright.scale.capture import PanReader, Sending
from fillwright.scale.form_file import form_from_toml
from fillwright.scale.lines import DEFAULT, Form, LineReader
from fillwright.scale.pan_events import ScaleEvent, Settled
from fillwright.scale.ports import open_line
from fillwright.scale.watching import ScaleWatch
from fillwright.store.journal import open_journal
from fillwright.wiring import maker
from fillwright.wiring.bench import desk_on

LINES = 200_000
PIECE = 4096
READINGS = 300
BURST = 1000
JOB = "0101"
SHAPED = """
[[line]]
shape = "gross {value} {unit} {rest}"
[words]
still = ["STEADY"]
moving = ["MOVING"]
"""
TABLE = (
    "CREATE TABLE IF NOT EXISTS bare (seq INTEGER PRIMARY KEY, revision INTEGER, id TEXT UNIQUE, "
    "stream TEXT, kind TEXT, version INTEGER, at TEXT, zone TEXT, person TEXT, bench TEXT, "
    "payload TEXT, previous_hash TEXT, hash TEXT, UNIQUE (stream, revision)) STRICT"
)
INSERT = "INSERT INTO bare VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"


def lines() -> None:
    """Parse a stream of lines, each another weight, against cutting it into lines."""
    chance = random.Random(1)  # noqa: S311  invented weights
    data = b"".join(
        b"gross %+9.2f g %s\r\n"
        % (chance.uniform(-5, 3000), chance.choice([b"steady", b"moving"]))
        for _ in range(LINES)
    )
    forms: dict[str, Form] = {"plain words": DEFAULT, "learnt shape": form_from_toml(SHAPED)}
    for name, form in forms.items():
        ratios = []
        for _ in range(5):
            began = time.perf_counter()
            data.splitlines()
            bare_s = time.perf_counter() - began
            reader = LineReader(form)
            began = time.perf_counter()
            count = sum(
                len(reader.feed(data[at : at + PIECE])) for at in range(0, len(data), PIECE)
            )
            ratios.append((time.perf_counter() - began) / bare_s)
            assert count == LINES
        print(f"lines, {name}: {statistics.median(ratios):.0f} times bytes.splitlines (most 40)")


def desk_of(folder: Path) -> Desk:
    """Return a desk with a run that waits for weights."""
    desk = desk_on(folder / "bench.sqlite")
    facts = replace(maker.JOBS[0], number=JOB, lot_code="NE-0101", lot_size=5000, weigh_every=1)
    press = Press(person="AB")
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), press)
    match.take(desk, JOB, press)
    run.start(desk, JOB, press, without_proof="a benchmark")
    return desk


def bare_row(seq: int, text: str) -> tuple[object, ...]:
    """Return a row of the same thirteen columns."""
    mark = f"{seq:064d}"
    at = "2031-03-05T08:00:04.250000Z"
    return (seq, seq, mark, "job/1", "weighing taken", 1, at, "UTC", "AB", "b", text, mark, mark)


def payload() -> str:
    """Return the payload of an invented weighing."""
    fact = WeighingTaken(
        purpose="dose",
        value="337.2",
        unit="g",
        basis="gross",
        tare_g=Decimal("31.19"),
        net_g=Decimal("306.01"),
        container=1,
        state="on",
        source="scale",
    )
    return payload_to_json(fact)


def byte_to_entry(folder: Path) -> None:
    """Send one line down a pseudo-terminal and wait until its weight is committed."""
    desk = desk_of(folder)
    bare = sqlite3.connect(folder / "bare.sqlite", isolation_level=None)
    bare.execute("PRAGMA journal_mode = WAL")
    bare.execute("PRAGMA synchronous = FULL")
    bare.execute(TABLE)
    ours, theirs = os.openpty()
    tty.setraw(theirs)
    facts = desk.book.job(JOB).known  # type: ignore[union-attr]
    shown = (facts.aim_g + (facts.container.tare_g or 0)).quantize(Decimal("0.1"))
    done = threading.Event()
    kept_at: list[float] = []
    desk.journal.subscribe(lambda _: kept_at.append(time.perf_counter()))

    def take(event: ScaleEvent) -> None:
        if isinstance(event, Settled):
            weigh(desk, JOB, event.capture(), Press(person="AB"), purpose="dose")
            done.set()

    pan = PanReader(desk.clock, sends=Sending.ON_KEY)
    watch = ScaleWatch(lambda: open_line(os.ttyname(theirs)), pan, take)
    watch.start()
    time.sleep(1.0)
    text = payload()
    took, took_bare, answered = [], [], []
    for seq in range(1, READINGS + 1):
        done.clear()
        kept_at.clear()
        line = b"gross %+.1f g\r\n" % (shown + Decimal(seq * 5 % 7 - 3) / 10)
        began = time.perf_counter()
        os.write(ours, line)
        assert done.wait(10)
        # The first entry is the weight itself; what it shows of the run may follow.
        took.append(kept_at[0] - began)
        answered.append(time.perf_counter() - began)
        began = time.perf_counter()
        bare.execute("BEGIN IMMEDIATE")
        bare.execute(INSERT, bare_row(seq, text))
        bare.execute("COMMIT")
        took_bare.append(time.perf_counter() - began)
    watch.stop()
    high, high_bare = (statistics.quantiles(one, n=100)[98] for one in (took, took_bare))
    mid, mid_bare = statistics.median(took), statistics.median(took_bare)
    print(
        f"last byte to committed entry: p99 {high * 1e3:.2f} ms, {high / high_bare:.1f} times a "
        f"bare commit (most 5); p50 {mid * 1e3:.2f} ms, {mid / mid_bare:.1f} times"
    )
    high, mid = statistics.quantiles(answered, n=100)[98], statistics.median(answered)
    print(f"  with the next act: p99 {high * 1e3:.2f} ms, p50 {mid * 1e3:.2f} ms")
    desk.journal.close()  # type: ignore[attr-defined]
    bare.close()


def burst(folder: Path) -> None:
    """Append 1,000 weighings in one transaction, against the driver's executemany and commit."""
    text = payload()
    ratios = []
    for turn in range(7):
        journal = open_journal(folder / f"burst-{turn}.sqlite")
        bare = sqlite3.connect(folder / f"burst-bare-{turn}.sqlite", isolation_level=None)
        bare.execute("PRAGMA journal_mode = WAL")
        bare.execute("PRAGMA synchronous = FULL")
        bare.execute(TABLE)
        fact = WeighingTaken(
            purpose="dose",
            value="337.2",
            unit="g",
            basis="gross",
            tare_g=Decimal("31.19"),
            net_g=Decimal("306.01"),
            state="on",
            source="file",
        )
        at = datetime(2031, 3, 5, tzinfo=UTC)
        drafts = [
            draft(
                replace(fact, container=n),
                stream="job/1",
                at=at,
                zone="UTC",
                person="AB",
                bench="b",
            )
            for n in range(1, BURST + 1)
        ]
        began = time.perf_counter()
        journal.append(drafts)
        ours_s = time.perf_counter() - began
        rows = [bare_row(seq, text) for seq in range(1, BURST + 1)]
        began = time.perf_counter()
        bare.execute("BEGIN IMMEDIATE")
        bare.executemany(INSERT, rows)
        bare.execute("COMMIT")
        ratios.append(ours_s / (time.perf_counter() - began))
        journal.close()
        bare.close()
    print(f"burst of {BURST}: {statistics.median(ratios):.1f} times executemany (most 3)")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory(dir=sys.argv[1] if sys.argv[1:] else None) as made:
        lines()
        byte_to_entry(Path(made))
        burst(Path(made))
