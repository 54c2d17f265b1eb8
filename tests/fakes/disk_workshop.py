"""The workshop on a journal that is on disk."""

from __future__ import annotations

from tests.fakes.workshop import Workshop, job

from fillwright.jobs.opening import open_job
from fillwright.records.codec import new_id


class DiskWorkshop(Workshop):
    """The workshop on the desk of a bench; nothing is copied there.

    Parameters
    ----------
    bench : Bench
        With a journal on disk.
    clock : optional
        Where it is one that the test moves.
    """

    def __init__(self, bench, clock=None):
        super().__init__()
        self.desk, self.journal = bench.desk, bench.desk.journal
        self.clock = clock or self.clock

    def _reach(self, stage, reach):
        """Go on to a stage, each time anew."""
        _ = stage
        reach()
        return self

    def next_id(self):
        """Return an id that was not used before."""
        return new_id(self.desk.clock.now())

    def open(self, number, **facts):
        """Open another job and go on with it."""
        open_job(self.desk, job(number=number, **facts), self.press)
        self.number = number
        return self
