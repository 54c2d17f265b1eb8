"""Measure taking a file of weights in against the driver's own ``executemany`` of its rows.

Run as ``python benchmarks/bench_import.py [ROWS]``; 100,000 when left out, in turns. The driver
reads the same file with the standard reader and inserts the same thirteen columns into a table
with the same keys; once with that reading, and once with the inserting alone. Ours is counted as
the look (every row read and checked), the keeping (ids, canonical JSON, hash chain, inserting,
the fold), and both; in seconds of the clock, and of the processor, which others on the machine
disturb less. The file holds 131 different weights, as a log of one job does.
"""

from __future__ import annotations

import csv
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TypeAlias

from bench_append import opened_bare

from fillwright.jobs.desk import Press
from fillwright.jobs.files.take_in import take_in
from fillwright.jobs.files.take_look import look_over
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.records.codec import GENESIS
from fillwright.records.filefields import guess
from fillwright.records.filerows import FileRows
from fillwright.wiring import maker, open_bench

Times: TypeAlias = tuple[float, float]

TURNS = 3
PRESS = Press(person="AB")
MARKS = ",".join("?" * 13)
PAYLOAD = (
    '{{"basis":"net","container":{jar},"file_id":"f","file_row":{row},"filled_to":null,'
    '"net_g":"{net}","purpose":"elsewhere","set_aside":"","setting_marks":null,"source":"file",'
    '"state":"on","tare_g":"0","unit":"g","value":"{net}","weighed_at":"{at}"}}'
)


def written(path: Path, rows: int) -> None:
    """Write an invented log of weights."""
    with path.open("w", encoding="utf-8") as file:
        file.write("when,jar,net (g)\n")
        for i in range(rows):
            day, clock = divmod(2 * i, 86_400)
            hour, minute, second = clock // 3600, clock // 60 % 60, clock % 60
            at = f"2031-03-{1 + day:02d} {hour:02d}:{minute:02d}:{second:02d}"
            file.write(f"{at},{i + 1},{296.2 + (i * 7919 % 131 - 65) / 100:.2f}\n")


def rows_of(path: Path) -> list[tuple[object, ...]]:
    """Return the rows that the driver inserts, read from the file."""
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.reader(file)
        next(reader)
        return [
            (
                place, place, f"{place:032x}", "job/1", "weighing taken", 2,
                "2031-03-05T08:00:00.000000Z", "UTC", "AB", "bench 1",
                PAYLOAD.format(jar=jar, row=place, net=net, at=at), GENESIS, GENESIS,
            )
            for place, (at, jar, net) in enumerate(reader, start=1)
        ]  # fmt: skip


def now() -> Times:
    """Return seconds of the clock and of the processor."""
    return time.perf_counter(), time.process_time()


def since(began: Times, ended: Times) -> Times:
    """Return how many seconds of each lie between."""
    return ended[0] - began[0], ended[1] - began[1]


def driver(path: Path, folder: Path, turn: int) -> tuple[Times, Times]:
    """Return seconds of reading and inserting, and of inserting alone."""
    began = now()
    rows = rows_of(path)
    read = now()
    bare = opened_bare(folder / f"bare-{turn}.sqlite3")
    bare.execute("BEGIN IMMEDIATE")
    bare.executemany(f"INSERT INTO bare VALUES ({MARKS})", rows)  # noqa: S608  our own marks
    bare.execute("COMMIT")
    ended = now()
    bare.close()
    return since(began, ended), since(read, ended)


def ours(path: Path, folder: Path, turn: int, told: Callable[[str], None]) -> tuple[Times, Times]:
    """Return seconds of the look, and of the keeping."""
    bench = open_bench(folder / f"ours-{turn}.sqlite3")
    desk = bench.desk
    facts = replace(maker.JOBS[0], number="0101")
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), PRESS)
    began = now()
    file = FileRows(path, name=path.name)
    with (looked := look_over(desk, file, guess(file, "weighings"), "0101")).spool:
        seen = now()
        done = take_in(desk, looked, PRESS)
    ended = now()
    told(f"kept {done.kept:,}, {looked.fact.refused} refused")
    bench.close()
    return since(began, seen), since(seen, ended)


def main() -> None:
    """Print the medians and their ratios."""
    count = int(sys.argv[1]) if sys.argv[1:] else 100_000
    turns = TURNS if count <= 100_000 else 1
    theirs, mine = [], []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "log.csv"
        written(path, count)
        for turn in range(turns):
            mine.append(ours(path, folder, turn, print))
            most_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            theirs.append(driver(path, folder, turn))
    print(f"{count:,} rows, {turns} turns, memory at most {most_mb:.0f} MB before the driver's")
    for kind, name in enumerate(("clock", "processor")):
        look, keep = (statistics.median(one[at][kind] for one in mine) for at in (0, 1))
        whole, alone = (statistics.median(one[at][kind] for one in theirs) for at in (0, 1))
        print(f"by the {name}:")
        print(f"  driver: {whole:.2f} s reading and inserting, {alone:.2f} s inserting alone")
        print(f"  ours: look {look:.2f} s, keep {keep:.2f} s")
        print(
            f"  look and keep to the driver's reading and inserting: {(look + keep) / whole:.1f}"
        )
        print(f"  keep to the driver's inserting alone: {keep / alone:.1f}")
        print(f"  look and keep to the driver's inserting alone: {(look + keep) / alone:.1f}")


if __name__ == "__main__":
    main()
