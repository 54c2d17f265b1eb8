"""The manual inside the program: every page of it, and the one that helps with a stage."""

from __future__ import annotations

from typing import Final

from markupsafe import Markup
from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput
from fillwright.manual import find_page, picture, shelves
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Visit, go_to, route

__all__ = ["HELP", "ROUTES"]

HELP: Final = {
    "jobs": "tutorial/first-job",
    "newjob": "tutorial/first-job",
    "job": "tutorial/first-job",
    "people": "howto/two-people",
    "settings": "reference/settings",
    "data": "reference/commands",
    "scale": "howto/connect-a-scale",
    "devices": "howto/two-people",
    "match": "tutorial/first-job",
    "setup": "tutorial/first-job",
    "trim": "explanation/from-below",
    "prove": "explanation/four-good-readings",
    "run": "tutorial/first-job",
    "held": "howto/settle-held-jars",
    "release": "explanation/what-the-law-tests",
    "strip": "howto/strip-and-rebuild",
    "shelf": "howto/strip-and-rebuild",
    "day": "howto/strip-and-rebuild",
    "fault": "tutorial/first-job",
}
"""The page of the manual that helps with a page of the program."""

_PICTURES: Final = {"png": "image/png", "svg": "image/svg+xml"}
_FIRST: Final = "README"


def _first(visit: Visit) -> Response:
    """Draw the first page of the manual."""
    return _drawn(visit, _FIRST)


def _help(visit: Visit) -> Response:
    """Lead to the page that helps with a page of the program."""
    return go_to("/manual/" + HELP.get(visit.params["page"], HELP["jobs"]))


def _page(visit: Visit) -> Response:
    """Draw a page of the manual, or return one of its pictures."""
    name = visit.params["name"]
    kind = _PICTURES.get(name.rpartition(".")[2])
    if kind is None:
        return _drawn(visit, name)
    try:
        return Response(picture(name), media_type=kind)
    except BadInput as error:
        return plain_page(visit, status=404, headline="No such picture.", words=error.message)


def _drawn(visit: Visit, name: str) -> Response:
    """Draw a page with the list of all pages beside it."""
    try:
        page = find_page(name, lead=_lead)
    except BadInput as error:
        return plain_page(visit, status=404, headline="No such page.", words=error.message)
    # The reader of the pages shows HTML instead of obeying it, and writes its own alone.
    return render(visit, "manual.html", page=page, body=Markup(page.html), shelves=shelves())  # noqa: S704


def _lead(name: str, target: str) -> str:
    """Return the address of a page or a picture of the manual."""
    _ = name
    target = target.removesuffix(".md")
    return "/manual" if target == _FIRST else f"/manual/{target}"


ROUTES: list[Route] = [
    route("/manual", _first),
    route("/help/{page}", _help),
    route("/manual/{name:path}", _page),
]
