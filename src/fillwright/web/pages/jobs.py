"""The job list: open jobs first, then those that can be repeated."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

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
    is_brought: bool


def _show(visit: Visit) -> Response:
    """Draw the list."""
    desk = visit.desk
    open_jobs: list[_Line] = []
    closed: list[_Line] = []
    cleaned = {fact.machine: at for at, _, fact in desk.book.site().cleans}
    filled_since: set[str] = set()
    for number in reversed(desk.book.numbers()):
        if len(closed) >= _MOST_CLOSED:
            break
        with desk.book.lock:
            state = desk.book.job(number)
            if state is not None:
                done = _is_done(state, cleaned, filled_since)
                (closed if done else open_jobs).append(_line(visit, state))
                if state.filled_to:
                    filled_since.add(state.known.machine.name)
    return render(visit, "jobs.html", open_jobs=open_jobs, closed=closed)


def _is_done(state: JobState, cleaned: dict[str, datetime], filled_since: set[str]) -> bool:
    """Tell whether nothing is left to do: released, and its machine stripped, cleaned or in use.

    The clean that follows a job is the machine's: one on record since the release, or another
    job that the machine filled since, leaves no strip waiting for this one.
    """
    if state.released is None:
        return False
    machine = state.known.machine.name
    if "strip" in state.steps or machine in filled_since:
        return True
    return (
        machine in cleaned and state.changed_at is not None and cleaned[machine] > state.changed_at
    )


def _line(visit: Visit, state: JobState) -> _Line:
    """Return a job as the list shows it."""
    stage = stage_now(state)
    return _Line(
        number=state.number,
        facts=state.known,
        stage=STAGE_WORDS[stage],
        key=stage.value,
        act=next_act(visit.desk, state),
        changed=state.changed_at,
        is_brought=state.files.brought is not None,
    )


ROUTES: list[Route] = [route("/", _show)]
