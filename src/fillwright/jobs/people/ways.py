"""Where a task of the practice course is done next: which practice job, and which of its pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fillwright.jobs.desk import Desk
from fillwright.jobs.people.course import Practised, Task
from fillwright.jobs.people.practice import complaint_of
from fillwright.jobs.traveller import next_act
from fillwright.records.entities import Stage
from fillwright.records.fold import JobState

__all__ = ["Way", "ways_of"]

_ORDER: Final = tuple(Stage)
_LAST: Final = {
    "trim": Stage.TRIM,
    "prove": Stage.PROVE,
    "hold": Stage.RUN,
    "lock": Stage.RELEASE,
    "settle": Stage.RUN,
    "release": Stage.RELEASE,
    "rebuild": Stage.STRIP,
    "complaint": Stage.RUN,
}
"""The last stage of a job in which its task can still be done."""
_FIRST: Final = {
    "trim": Stage.TRIM,
    "prove": Stage.PROVE,
    "hold": Stage.RUN,
    "lock": Stage.MATCH,
    "settle": Stage.RELEASE,
    "release": Stage.RELEASE,
    "rebuild": Stage.STRIP,
    "complaint": Stage.RELEASE,
}
"""The stage from which the page of the task has something to do; before it the job goes on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A page of a practice job; `is_there` where the task itself is done on it."""

    job: str
    page: str
    is_there: bool


def ways_of(desk: Desk, jobs: Sequence[Practised], tasks: Sequence[Task]) -> dict[str, Way]:
    """Return where each task is done next, by its key; a task without one wants a new job."""
    stages = [(job.state, next_act(desk, job.state).stage) for job in reversed(jobs)]
    found = {}
    for task in tasks:
        ways = (_way(task, state, stage) for state, stage in stages)
        way = next((one for one in ways if one is not None), None)
        if way is not None:
            found[task.key] = way
    return found


def _way(task: Task, state: JobState, stage: Stage) -> Way | None:
    """Return the way to a task in one job; None where that job is past it."""
    at = _ORDER.index(stage)
    can_now = {
        "settle": bool(state.open_spans) and state.released is None,
        "complaint": complaint_of(state) is not None,
        "rebuild": stage is Stage.STRIP and Stage.STRIP.value not in state.steps,
    }.get(task.key, at >= _ORDER.index(_FIRST[task.key]))
    if can_now and (task.key in ("settle", "complaint") or at <= _ORDER.index(_LAST[task.key])):
        return Way(job=state.number, page=task.page, is_there=True)
    if at < _ORDER.index(_FIRST[task.key]) and at <= _ORDER.index(_LAST[task.key]):
        return Way(job=state.number, page=stage.value, is_there=False)
    return None
