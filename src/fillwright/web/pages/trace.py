"""Trace both ways: the page and the recall sheet."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput
from fillwright.jobs.trace.both_ways import NAMES, codes_on_record, near_codes, trace
from fillwright.web.forms import given
from fillwright.web.printed import printed
from fillwright.web.render import render
from fillwright.web.visit import Visit, route

__all__ = ["ROUTES"]

_SHOWN = 12


def _trace(visit: Visit) -> Response:
    """Draw what a code leads to; without one, the field and the latest codes."""
    code = given(visit.query, "code")
    found = error = None
    if code:
        try:
            found = trace(visit.desk, code)
        except BadInput as refused:
            error = refused
    near = near_codes(visit.desk, code) if error is not None else ()
    return render(
        visit,
        "trace.html",
        status=422 if error else 200,
        found=found,
        error=error,
        near=near,
        latest=() if code else codes_on_record(visit.desk)[::-1][:_SHOWN],
        names=NAMES,
    )


def _recall_sheet(visit: Visit) -> Response:
    """Return the recall sheet of a code."""
    return printed(
        visit, lambda: trace(visit.desk, given(visit.query, "code")), "recall-sheet", status=422
    )


ROUTES: list[Route] = [
    route("/trace", _trace),
    route("/trace.pdf", _recall_sheet),
]
