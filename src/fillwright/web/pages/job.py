"""The whole job: the next order, the traveller's seven rows, and the facts."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from fillwright.jobs.desk import find_job
from fillwright.jobs.limits import limits_of
from fillwright.jobs.traveller import stage_now, traveller
from fillwright.records.fold import JobState
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Visit, route

__all__ = ["ROUTES"]


def _show(visit: Visit) -> Response:
    """Draw the whole job."""
    desk = visit.desk
    with desk.book.lock:
        if desk.book.job(visit.number) is None:
            return plain_page(
                visit,
                status=404,
                headline="No such job.",
                words=f"There is no job {visit.number}. Open the job list to see the numbers.",
            )
        state = find_job(desk, visit.number)
        card = traveller(desk, state)
        return render(
            visit,
            "job.html",
            state=state,
            card=card,
            act=card.act,
            limits=limits_of(state.known, desk.rule_sets),
            carry_on=_carry_on(state),
        )


def _carry_on(state: JobState) -> str:
    """Return the address where the next act is done."""
    finished = state.run is not None and state.run.finished is not None
    if finished and state.open_spans:
        return f"/job/{state.number}/held"
    return f"/job/{state.number}/{stage_now(state).value}"


ROUTES: list[Route] = [route("/job/{number}", _show, needs_person=True)]
