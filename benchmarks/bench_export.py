"""Measure a workbook of 100,000 weighings against openpyxl's own loop over the same rows.

Run as ``python benchmarks/bench_export.py``; both sides take turns in one run.
"""

from __future__ import annotations

import io
import statistics
import time
from decimal import Decimal

import openpyxl

from fillwright.jobs.files.tables import WEIGHED
from fillwright.records.table import Table
from fillwright.report.spreadsheet import write_csv, write_workbook

ROWS = 100_000
TURNS = 3


def row(i: int) -> tuple[str | int | Decimal | None, ...]:
    """Return one weighing as the table has it."""
    net = Decimal(29_620 + (i * 7919) % 13 - 6) / 100
    at = f"2031-03-05T08:{i // 60 % 60:02d}:{i % 60:02d}.000Z"
    told = ("0417", at, "CET", "AB", "bench 1", "NE-0417", "dose", net + Decimal("26.40"), "g")
    rest = ("gross", Decimal("26.40"), net, 12 * i, 12 * i, Decimal("51.15"), "on", "", "")
    return (*told, *rest, "scale", "", "", None, f"01a22606-4561-7706-acf0-{i:012x}")


def bare(rows: list[tuple[str | int | Decimal | None, ...]]) -> None:
    """Write the rows as the library's manual shows it."""
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("weighings")
    sheet.append(WEIGHED)
    for one in rows:
        sheet.append(one)
    book.save(io.BytesIO())


def _table() -> Table:
    """Return the rows as a table."""
    return Table(name="weighings", headers=WEIGHED, rows=rows)


if __name__ == "__main__":
    rows = [row(i) for i in range(ROWS)]
    times: dict[str, list[float]] = {"ours": [], "bare": [], "csv": []}
    for _ in range(TURNS):
        for name, write in (
            ("ours", lambda: write_workbook(_table(), io.BytesIO())),
            ("bare", lambda: bare(rows)),
            ("csv", lambda: write_csv(_table(), io.BytesIO())),
        ):
            begun = time.perf_counter()
            write()
            times[name].append(time.perf_counter() - begun)

    ours, theirs, csv = (statistics.median(times[name]) for name in ("ours", "bare", "csv"))
    print(f"workbook of {ROWS:,} weighings: {ours:.2f} s")
    print(f"openpyxl's own write-only loop: {theirs:.2f} s, ratio {ours / theirs:.2f}")
    print(f"the same as CSV: {csv:.2f} s")
