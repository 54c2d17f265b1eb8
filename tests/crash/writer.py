"""Writes numbered weighings and dies where it is told to, as a killed program does.

Run as ``writer.py STORE FIRST LAST POINT WHEN``: appends weighings FIRST to LAST one by one and
says each number on its own line once it is acknowledged; kills itself when POINT is passed for
the WHEN-th time. Without arguments it reads such lines, runs each in a fork of itself (so that all
is imported once) and answers with the signal that ended it and the numbers acknowledged.
"""

from __future__ import annotations

import json
import os
import signal
import sys
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from fillwright.records.codec import draft
from fillwright.records.entries import Draft, WeighingTaken
from fillwright.store.journal import open_journal


def weighing(number: int) -> Draft:
    """Return weighing number n, with an id of its own that a retry repeats."""
    payload = WeighingTaken(
        purpose="dose",
        value="285.88",
        unit="g",
        basis="gross",
        tare_g=Decimal("35.10"),
        net_g=Decimal("250.78"),
        container=number,
    )
    return draft(
        payload,
        stream="job/1",
        at=datetime(2031, 3, 5, tzinfo=UTC) + timedelta(seconds=number),
        zone="Etc/UTC",
        person="Ada",
        bench="bench 1",
        entry_id=f"weighing-{number:06d}",
    )


def main(store: str, first: int, last: int, point: str, when: int) -> None:
    """Write, and die at the point."""
    passed = 0

    def at_point(name: str) -> None:
        nonlocal passed
        passed += name == point
        if name == point and passed == when:
            os.kill(os.getpid(), signal.SIGKILL)

    with open_journal(store, at_point=at_point) as journal:
        for number in range(first, last + 1):
            journal.append([weighing(number)])
            print(number, flush=True)  # noqa: T201  this is how it acknowledges


def serve() -> None:
    """Run one fork for each line of the input."""
    for line in sys.stdin:
        read, write = os.pipe()
        child = os.fork()
        if child == 0:
            os.dup2(write, 1)
            begin(json.loads(line))
            os._exit(0)
        os.close(write)
        with os.fdopen(read) as said:
            acknowledged = [int(number) for number in said]
        _, status = os.waitpid(child, 0)
        answer = {"signal": os.WTERMSIG(status), "acknowledged": acknowledged}
        print(json.dumps(answer), flush=True)  # noqa: T201  this is how it answers


def begin(given: list[str]) -> None:
    """Write as the five arguments say."""
    store, first, last, point, when = given
    main(store, int(first), int(last), point, int(when))


if __name__ == "__main__":
    if sys.argv[1:]:
        begin(sys.argv[1:])
    else:
        serve()
