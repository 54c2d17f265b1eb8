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
    "machine": "howto/describe-a-machine",
    "machines": "howto/describe-a-machine",
    "edge": "explanation/budget-and-map",
    "map": "explanation/budget-and-map",
    "budget": "explanation/budget-and-map",
    "settings": "reference/settings",
    "data": "howto/take-data-in",
    "takein": "howto/take-data-in",
    "jobfile": "howto/send-a-job",
    "scale": "howto/connect-a-scale",
    "devices": "howto/two-people",
    "match": "howto/describe-a-product",
    "setup": "howto/set-up",
    "trim": "howto/trim-a-dose",
    "prove": "howto/prove-with-looks",
    "run": "howto/run-a-batch",
    "often": "howto/how-often-to-weigh",
    "held": "howto/settle-held-jars",
    "release": "howto/release-a-lot",
    "strip": "howto/strip-and-rebuild",
    "shelf": "howto/strip-and-rebuild",
    "day": "howto/keep-a-clean",
    "cleaning": "howto/keep-a-clean",
    "cost": "howto/what-a-jar-costs",
    "quote": "howto/what-a-jar-costs",
    "inspector": "howto/inspector-at-the-door",
    "fault": "howto/find-a-fault",
    "trace": "howto/trace-a-lot",
    "photo": "howto/run-a-batch",
    "complaint": "howto/trace-a-lot",
    "case": "howto/look-after-machines",
    "field": "howto/look-after-machines",
    "rights": "reference/settings",
    "demo": "howto/find-a-fault",
    "practice": "howto/practise",
    "enquiry": "howto/answer-an-enquiry",
    "trial": "howto/answer-an-enquiry",
}
"""The page of the manual that helps with a page of the program."""

_PICTURES: Final = {"png": "image/png", "svg": "image/svg+xml"}
_FIRST: Final = "README"


def _first(visit: Visit) -> Response:
    """Draw the first page of the manual."""
    return _drawn(visit, _FIRST)


def _help(visit: Visit) -> Response:
    """Lead to the page that helps with a page of the program."""
    # A page of many questions has a name for each, behind a hyphen.
    page = visit.params["page"].partition("-")[0]
    return go_to("/manual/" + HELP.get(page, HELP["jobs"]))


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
        page = find_page(name, lead=_lead, language=visit.way.language)
    except BadInput as error:
        return plain_page(visit, status=404, headline="No such page.", words=error.message)
    # The reader of the pages shows HTML instead of obeying it, and writes its own alone.
    body = Markup(page.html)  # noqa: S704
    return render(visit, "manual.html", page=page, body=body, shelves=shelves(visit.way.language))


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
