"""People: initials are picked once a shift; every entry carries them."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, StoreFull
from fillwright.jobs.catalogue import list_person
from fillwright.records.entities import Person
from fillwright.web.forms import given
from fillwright.web.render import render
from fillwright.web.visit import Visit, go_to, keep_person, route, way_back

__all__ = ["ROUTES"]


def _show(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw the list of names."""
    return render(
        visit,
        "people.html",
        status=422 if error else 200,
        people=tuple(visit.desk.book.site().people.values()),
        back=way_back(visit),
        error=error,
    )


def _press(visit: Visit) -> Response:
    """Pick initials, or list a new person and pick them."""
    initials = given(visit.form, "pick")
    try:
        if not initials:
            person = Person(initials=given(visit.form, "initials"), name=given(visit.form, "name"))
            list_person(visit.desk, person, visit.press())
            initials = person.initials
    except BadInput as error:
        return _show(visit, error=error)
    except StoreFull as error:
        return _show(visit, error=BadInput(str(error), field="initials", code="not-available"))
    if initials not in visit.desk.book.site().people:
        message = f"{initials} is not on the list. Add the name first."
        return _show(visit, error=BadInput(message, field="initials", code="choice"))
    response = go_to(way_back(visit))
    keep_person(response, initials)
    return response


ROUTES: list[Route] = [route("/people", _show), route("/people", _press, method="POST")]
