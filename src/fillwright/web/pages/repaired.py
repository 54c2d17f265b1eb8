"""A machine that was repaired or changed: kept on its page, so that old figures are guesses."""

from __future__ import annotations

from urllib.parse import quote

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, StoreFull
from fillwright.jobs.machines.change import keep_change
from fillwright.web.forms import given
from fillwright.web.render import plain_page
from fillwright.web.visit import Visit, go_to, route

__all__ = ["ROUTES"]


def _changed(visit: Visit) -> Response:
    """Keep what happened to a machine."""
    form = visit.form
    name = given(form, "machine")
    try:
        keep_change(visit.desk, name, given(form, "change"), given(form, "note"), visit.press())
    except BadInput as error:
        return plain_page(visit, status=422, headline="Nothing was kept.", words=error.message)
    except StoreFull as error:
        return plain_page(visit, status=507, headline="Nothing was kept.", words=str(error))
    return go_to(f"/machines?name={quote(name)}")


ROUTES: list[Route] = [route("/machines/changed", _changed, method="POST", needs_person=True)]
