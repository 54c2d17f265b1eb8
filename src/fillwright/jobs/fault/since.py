"""How many cycles ago a machine was rebuilt, and changed over: some faults come in with that."""

from __future__ import annotations

from datetime import datetime

from fillwright.jobs.desk import Desk
from fillwright.jobs.held.settle import PIECE
from fillwright.jobs.strip.life import jobs_on
from fillwright.jobs.strip.strokes import jobs_of, strokes_after, strokes_of
from fillwright.records.entities import Stage
from fillwright.records.fold import JobState

__all__ = ["cycles_since"]


def cycles_since(desk: Desk, state: JobState) -> dict[str, int]:
    """Return the cycles since the last rebuild and changeover of a job's machine.

    Parameters
    ----------
    desk : Desk
        Where the journal is.
    state : JobState
        The job at hand.

    Returns
    -------
    dict of str to int
        ``"rebuild"`` where a strip is on record, ``"changeover"`` where another product or
        other parts ran before; what the journal does not tell is left out. `strokes.COUNTED`
        says what is a cycle.
    """
    machine = state.known.machine.name
    jobs = jobs_on(desk, machine)
    found = {}
    rebuilt = _rebuilt_at(desk, machine, jobs)
    if rebuilt is not None:
        found["rebuild"] = strokes_of(desk, machine, jobs_of(desk, machine), rebuilt)
    before = [job for job in jobs if job.number != state.number and _opened(job) <= _opened(state)]
    if before and _runs(before[-1]) != _runs(state):
        found["changeover"] = strokes_after(state, None)
    return found


def _rebuilt_at(desk: Desk, machine: str, jobs: list[JobState]) -> datetime | None:
    """Return when the machine was last put together again, as far as the journal tells."""
    key = Stage.STRIP.value
    times = [
        job.step_times[key]
        for job in jobs
        if key in job.steps and not job.steps[key].reading.startswith(PIECE)
    ]
    times += [
        at
        for at, _, clean in desk.book.site().cleans
        if clean.machine == machine and clean.clean == "full-strip"
    ]
    return max(times, default=None)


def _runs(state: JobState) -> tuple[object, ...]:
    """Return what a changeover changes."""
    facts = state.known
    return facts.product.name, facts.cylinder, facts.nozzle


def _opened(state: JobState) -> datetime:
    """Return when a job was opened."""
    assert state.opened_at is not None  # noqa: S101  every job with facts was opened
    return state.opened_at
