"""Fault: what can be seen, first looks that need no tool, and a note on record."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs import fault
from fillwright.jobs.desk import find_job
from fillwright.web.forms import given
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Visit, go_to, route

__all__ = ["ROUTES"]


def _show(visit: Visit, *, error: BadInput | None = None, status: int = 200) -> Response:
    """Draw the page."""
    desk = visit.desk
    with desk.book.lock:
        if desk.book.job(visit.number) is None:
            words = f"There is no job {visit.number}. Open the job list to see the numbers."
            return plain_page(visit, status=404, headline="No such job.", words=words)
        state = find_job(desk, visit.number)
        return render(
            visit,
            "fault.html",
            status=status,
            state=state,
            look=fault.look(state),
            picked=visit.query.get("sign", ""),
            back=_back(visit),
            error=error,
        )


def _press(visit: Visit) -> Response:
    """Keep the note and go back to the page where it began."""
    try:
        fault.note(
            visit.desk,
            visit.number,
            given(visit.form, "sign"),
            given(visit.form, "found"),
            visit.press(),
        )
    except BadInput as error:
        return _show(visit, error=error, status=422)
    except (Conflict, StoreFull) as error:
        told = BadInput(str(error), field="store", code="not-available")
        return _show(visit, error=told, status=507 if isinstance(error, StoreFull) else 409)
    return go_to(_back(visit))


def _back(visit: Visit) -> str:
    """Return the page where it began, in this job only."""
    home = f"/job/{visit.number}"
    back = visit.form.get("back") or visit.query.get("back", home)
    return back if back == home or back.startswith(home + "/") else home


ROUTES: list[Route] = [
    route("/job/{number}/fault", _show, needs_person=True),
    route("/job/{number}/fault", _press, method="POST", needs_person=True),
]
