"""A bench served with a clock that a test moves: ``python week_bench.py STORE PORT CLOCK``.

The third word names a file with the seconds that the bench's clock is ahead of the machine's,
so that a test can let a week go by, or let the clock go back. No weighing scale is joined: every
weight is typed.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

from fillwright.web import create_app
from fillwright.wiring import Bench, serve
from fillwright.wiring.bench import desk_on


class MovedClock:
    """The machine's clock, so many seconds ahead as a file says."""

    def __init__(self, file: Path) -> None:
        self._file = file

    def now(self) -> datetime:
        """Return the moment at the bench."""
        ahead_s = float(self._file.read_text(encoding="ascii"))
        return datetime.now(UTC) + timedelta(seconds=ahead_s)

    def zone(self) -> str:
        """Return a zone."""
        return "Europe/Vienna"


def main(store: str, port: str, clock: str) -> None:
    """Serve until told to stop."""
    desk = desk_on(store, clock=MovedClock(Path(clock)))
    bench = Bench(desk=desk, store_words=store)
    serve(bench, create_app, port=int(port))


if __name__ == "__main__":
    main(*sys.argv[1:])
