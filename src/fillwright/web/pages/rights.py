"""Who may turn, settle and release: the list by name."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, StoreFull
from fillwright.jobs.people.allowed import RIGHTS, may, rows
from fillwright.jobs.people.allowing import allow
from fillwright.records.entries import PersonAllowed
from fillwright.web.forms import is_ticked
from fillwright.web.render import render
from fillwright.web.visit import Visit, go_to, route

__all__ = ["ROUTES"]


def _show(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw the list."""
    site = visit.desk.book.site()
    found = rows(site)
    return render(
        visit,
        "rights.html",
        status=422 if error else 200,
        rows=found,
        rights=RIGHTS,
        free=[words for right, words in RIGHTS.items() if _is_free(found, right)],
        may_change=may(site, visit.person, "releases"),
        error=error,
    )


def _is_free(found: tuple[object, ...], right: str) -> bool:
    """Return True where nobody is named for something."""
    return not any(getattr(getattr(row, "allowed", None), right, False) for row in found)


def _press(visit: Visit) -> Response:
    """Keep the list."""
    form = visit.form
    wanted = [
        PersonAllowed(
            initials=initials,
            turns=is_ticked(form, f"turns_{initials}"),
            settles=is_ticked(form, f"settles_{initials}"),
            releases=is_ticked(form, f"releases_{initials}"),
        )
        for initials in visit.desk.book.site().people
    ]
    try:
        allow(visit.desk, wanted, visit.press())
    except BadInput as error:
        return _show(visit, error=error)
    except StoreFull as error:
        return _show(visit, error=BadInput(str(error), field="store", code="not-available"))
    return go_to("/people/allowed")


ROUTES: list[Route] = [
    route("/people/allowed", _show, needs_person=True),
    route("/people/allowed", _press, method="POST", needs_person=True),
]
