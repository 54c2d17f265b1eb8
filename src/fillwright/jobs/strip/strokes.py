"""Strokes that a machine has made, as far as the journal tells: what wears its seals."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Final

from fillwright.jobs.desk import Desk
from fillwright.jobs.field.register import register
from fillwright.records.fold import JobState

__all__ = ["COUNTED", "jobs_of", "strokes_after", "strokes_of", "trial_strokes"]

COUNTED: Final = (
    "Counted: containers filled, weighed purges, trim, proof and test shots, timed strokes, and "
    "trial fills on machines of this bench. Not counted: strokes that nobody weighed or timed, "
    "as flushing, cleaning, dry strokes and suction tests."
)
"""What is counted and what is not, in words."""


def jobs_of(desk: Desk, machine: str) -> list[JobState]:
    """Return the jobs of a machine, oldest first, whether or not they filled anything."""
    found = []
    for number in desk.book.numbers():
        state = desk.book.job(number)
        if state is not None and state.facts is not None and state.known.machine.name == machine:
            found.append(state)
    return found


def strokes_of(desk: Desk, machine: str, jobs: Iterable[JobState], since: datetime | None) -> int:
    """Return the strokes of a machine after a moment; all that are known where it is None."""
    return sum(strokes_after(job, since) for job in jobs) + trial_strokes(desk, machine, since)


def trial_strokes(desk: Desk, machine: str, since: datetime | None) -> int:
    """Return the strokes of trial fills on a machine of the bench after a moment."""
    return sum(
        len(trial.nets_g)
        for at, _, trial in register(desk).trials.values()
        if not trial.machine and trial.machine_name == machine and (since is None or at > since)
    )


def strokes_after(state: JobState, since: datetime | None) -> int:
    """Return the strokes of a job after a moment; a job of one side of it is not gone through.

    A weight that was struck out as mistyped is no stroke; one set aside as spoilt is.
    """
    start = state.start
    if since is None or (state.opened_at is not None and state.opened_at > since):
        loose = sum(not one.struck for one in start.loose)
        return loose + sum(count for _, count in start.timed_strokes) + state.filled_to
    late = sum(one.at > since and not one.struck for one in start.loose)
    late += sum(count for at, count in start.timed_strokes if at > since)
    told = [filled for at, filled in start.filled_by if at <= since]
    goes_on = len(state.weighings) and state.weighings[-1].at > since
    if not goes_on and len(told) == len(start.filled_by):
        return late
    told += [
        max(w.fact.container, w.fact.filled_to or 0)
        for w in state.weighings
        if w.fact.container is not None and w.fact.purpose in ("proof", "dose") and w.at <= since
    ]
    return late + max(0, state.filled_to - max(told, default=0))
