"""The simulated machine and scale of a real bench: for practice jobs that are told to use them.

They have a line of their own, so the real weighing scale stays joined for every other job, and
no weight of theirs can reach one. They are set up when the first such job is looked at.
"""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from fillwright.jobs.desk import Desk
from fillwright.jobs.people.practice import is_simulated
from fillwright.wiring.scale_hub import ScaleHub

if TYPE_CHECKING:
    from fillwright.wiring.demo import DemoBench

__all__ = ["PracticeBench"]


class PracticeBench:
    """Stands ready beside a real bench; costs nothing until somebody practises.

    Parameters
    ----------
    desk : Desk
        Where the jobs are.
    """

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._lock = threading.Lock()
        self._machine: DemoBench | None = None
        self._is_over = False
        self.scale = ScaleHub()

    @property
    def machine(self) -> DemoBench | None:
        """The simulated machine, where somebody has practised on it since the start."""
        return self._machine

    def machine_of(self, number: str) -> DemoBench | None:
        """Return the simulated machine for a practice job that is told to use it, else None."""
        if not is_simulated(self._desk, number):
            return None
        from fillwright.wiring.demo import DemoBench  # noqa: PLC0415  it imports the bench

        with self._lock:
            if self._machine is None and not self._is_over:
                self._machine = DemoBench(self._desk, self.scale)
                self._machine.start()
            return self._machine

    def stop(self) -> None:
        """Stop weighing, for good."""
        with self._lock:
            self._is_over = True
            if self._machine is not None:
                self._machine.stop()
