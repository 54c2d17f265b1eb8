"""Noise, floods, a clock set back, a store that cannot be written: told and counted, no loss."""

from __future__ import annotations

import os
import random
import sqlite3
import threading
import tracemalloc
import tty
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from fillwright.errors import StoreFull
from fillwright.jobs.desk import Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import weigh
from fillwright.records.capture import Capture
from fillwright.records.codec import new_id
from fillwright.scale.capture import PanReader
from fillwright.scale.pan_events import Settled
from fillwright.scale.ports import open_line
from fillwright.scale.watching import ScaleWatch
from fillwright.store.verify import verify
from fillwright.wiring import maker, open_bench
from fillwright.wiring.bench import desk_on

JOB = "0101"
PATIENCE_S = 30.0
PRESS = Press(person="AB")


class MovedClock:
    """A clock that a test sets."""

    def __init__(self):
        self.moment = datetime(2031, 3, 5, 8, tzinfo=UTC)

    def now(self):
        """Return the moment."""
        return self.moment

    def zone(self):
        """Return a zone."""
        return "UTC"


def running(desk):
    """Open a job and start its run; return what a jar at the aim shows."""
    facts = replace(maker.JOBS[0], number=JOB, lot_code="NE-0101", weigh_every=1)
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), PRESS)
    match.take(desk, JOB, PRESS)
    run.start(desk, JOB, PRESS, without_proof="a test")
    known = desk.book.job(JOB).known
    return (known.aim_g + known.container.tare_g).quantize(Decimal("0.1"))


def taken(desk, value):
    """Keep a weight."""
    capture = Capture(weighing_id=new_id(desk.clock.now()), value=value, source="scale")
    return weigh(desk, JOB, capture, PRESS, purpose="dose")


def test_a_flood_of_rubbish_is_counted_and_costs_no_memory():
    """Lines at full speed, most of them noise: the good ones are read, nothing grows."""
    ours, theirs = os.openpty()
    tty.setraw(theirs)
    chance = random.Random(1)  # noqa: S311  noise
    done = threading.Event()
    settled = []

    def told(event):
        if isinstance(event, Settled):
            settled.append(str(event.value))
            done.set()

    watch = ScaleWatch(lambda: open_line(os.ttyname(theirs)), PanReader(MovedClock()), told)
    watch.start()
    noise = b"".join(chance.randbytes(20) + b"\r\n" for _ in range(500))
    for _ in range(4):
        os.write(ours, noise)
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    for _ in range(60):
        os.write(ours, noise)
    os.write(ours, b"\r\n" + b"gross +268.2 g steady\r\n" * 3)
    assert done.wait(PATIENCE_S)
    grown = tracemalloc.get_traced_memory()[0] - before
    tracemalloc.stop()
    watch.stop()
    for end in (ours, theirs):
        os.close(end)

    assert settled == ["268.2"]
    assert watch.bad_count > 20_000
    assert watch.bytes_seen > 600_000
    assert len(watch.last_bad) == 20
    assert grown < 500_000


def test_a_clock_set_back_an_hour_changes_neither_order_nor_chain(tmp_path):
    """Weights after it stand behind those before it, the next jar is right, the chain whole."""
    clock = MovedClock()
    desk = desk_on(tmp_path / "bench.sqlite", clock=clock)
    shown = running(desk)
    taken(desk, shown)
    clock.moment -= timedelta(hours=1)
    taken(desk, shown + Decimal("0.1"))
    again = desk_on(tmp_path / "bench.sqlite", clock=clock)
    kept = taken(again, shown - Decimal("0.1"))

    assert [w.fact.container for w in kept.state.weighings] == [1, 2, 3]
    desk.journal.close()
    again.journal.close()
    assert verify(tmp_path / "bench.sqlite").ok


def test_a_full_disk_refuses_a_weight_and_takes_it_once_there_is_room(tmp_path):
    """The weight is refused in words, what was kept stays, and the same jar is kept later."""
    store = tmp_path / "bench.sqlite"
    desk = desk_on(store)
    shown = running(desk)
    taken(desk, shown)
    writer = desk.journal._writer
    (pages,) = writer.execute("PRAGMA page_count").fetchone()
    writer.execute(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(StoreFull, match="not kept"):
        [taken(desk, shown) for _ in range(60)]
    before = len(desk.book.job(JOB).weighings)

    if desk.journal._writer is writer:
        writer.execute("PRAGMA max_page_count = 1000000")
    taken(desk, shown)

    assert len(desk.book.job(JOB).weighings) == before + 1
    desk.journal.close()
    assert verify(store).ok


def test_a_journal_that_is_only_looked_at_keeps_nothing(tmp_path):
    """It can be read to its end; every entry is refused in words."""
    store = tmp_path / "bench.sqlite"
    desk = desk_on(store)
    shown = running(desk)
    desk.journal.close()
    with closing(open_bench(store, looks_only=True)) as bench:
        with pytest.raises(StoreFull, match="open to look at only"):
            taken(bench.desk, shown)
        assert bench.desk.book.numbers() == (JOB,)
        assert bench.desk.book.job(JOB).run is not None
    with closing(sqlite3.connect(store)) as file:
        (count,) = file.execute("SELECT count(*) FROM entries").fetchone()
    assert count == verify(store).checked
