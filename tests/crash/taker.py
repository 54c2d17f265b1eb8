"""Takes a file of weights in and dies where it is told to, as a killed program does.

Run as ``taker.py STORE FILE POINT WHEN``: kills itself when POINT is passed for the WHEN-th time
while the weights are kept, four in each piece; says how many were new once all are kept.
"""

from __future__ import annotations

import os
import signal
import sys
from dataclasses import replace
from pathlib import Path

from fillwright.jobs.desk import Press
from fillwright.jobs.files import take_in, take_look
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.records.book import Book
from fillwright.records.filefields import guess
from fillwright.records.filerows import FileRows
from fillwright.store.journal import open_journal
from fillwright.wiring import maker
from fillwright.wiring.bench import desk_on

JOB = "0101"
PRESS = Press(person="AB")


def main(store: str, name: str, point: str, when: int) -> None:
    """Open the job where it is missing, look the file over, and keep it."""
    passed = 0
    is_keeping = False

    def at_point(here: str) -> None:
        nonlocal passed
        passed += is_keeping and here == point
        if is_keeping and here == point and passed == when:
            os.kill(os.getpid(), signal.SIGKILL)

    take_look.AT_ONCE, take_in._BATCH = 5, 4  # a short file goes in by pieces too
    with open_journal(store, at_point=at_point) as journal:
        made = desk_on(store)
        made.journal.close()
        desk = replace(made, journal=journal, book=Book(journal))
        if desk.book.job(JOB) is None:
            facts = replace(maker.JOBS[0], number=JOB)
            open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), PRESS)
        file = FileRows(Path(name), name="log.csv")
        with (looked := take_look.look_over(desk, file, guess(file, "weighings"), JOB)).spool:
            is_keeping = True
            print(take_in.take_in(desk, looked, PRESS).kept)  # noqa: T201  how it answers


if __name__ == "__main__":
    main(*sys.argv[1:4], int(sys.argv[4]))
