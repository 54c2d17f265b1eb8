"""The job list: open jobs first, then those that can be repeated."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.responses import Response
from starlette.routing import Route

from fillwright.jobs.act import Act
from fillwright.jobs.traveller import STAGE_WORDS, next_act, stage_now
from fillwright.records.entities import JobFacts
from fillwright.records.fold import JobState
from fillwright.web.render import render
from fillwright.web.visit import Visit, route

__all__ = ["ROUTES"]

_MOST_CLOSED = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """One job of the list."""

    number: str
    facts: JobFacts
    stage: str
    key: str
    act: Act
    changed: object


def _show(visit: Visit) -> Response:
    """Draw the list."""
    desk = visit.desk
    open_jobs: list[_Line] = []
    closed: list[_Line] = []
    for number in reversed(desk.book.numbers()):
        if len(closed) >= _MOST_CLOSED:
            break
        with desk.book.lock:
            state = desk.book.job(number)
            if state is not None:
                done = state.released is not None and "strip" in state.steps
                (closed if done else open_jobs).append(_line(visit, state))
    return render(visit, "jobs.html", open_jobs=open_jobs, closed=closed)


def _line(visit: Visit, state: JobState) -> _Line:
    """Return a job as the list shows it."""
    stage = stage_now(visit.desk, state)
    return _Line(
        number=state.number,
        facts=state.known,
        stage=STAGE_WORDS[stage],
        key=stage.value,
        act=next_act(visit.desk, state),
        changed=state.changed_at,
    )


ROUTES: list[Route] = [route("/", _show)]
