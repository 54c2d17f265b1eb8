"""A case that was sent: opened beside one's own jobs, looked at, kept nowhere."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput
from fillwright.jobs.faultcase import done_lines, look_into
from fillwright.knowledge.faults_load import fault_book
from fillwright.records.case_file import case_from_bytes
from fillwright.web.render import render
from fillwright.web.visit import Visit, route

__all__ = ["ROUTES"]


def _show(visit: Visit) -> Response:
    """Ask for the text of a case file."""
    return render(visit, "case.html", sent=None, look=None, done=(), text="")


def _open(visit: Visit) -> Response:
    """Show what was sent and what comes next."""
    text = visit.form.get("text", "")
    try:
        sent = case_from_bytes(text.encode("utf-8"))
    except BadInput as error:
        return render(
            visit, "case.html", status=422, sent=None, look=None, done=(), text="", error=error
        )
    return render(
        visit,
        "case.html",
        sent=sent,
        look=look_into(sent, asked=visit.form.get("check", "")),
        done=done_lines(fault_book(), sent.searched()),
        text=text,
    )


ROUTES: list[Route] = [
    route("/case", _show, needs_person=True),
    route("/case", _open, method="POST", needs_person=True),
]
