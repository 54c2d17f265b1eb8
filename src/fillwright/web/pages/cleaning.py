"""Cleaning: which clean the next job asks for, and the record of what was done."""

from __future__ import annotations

from typing import Final
from urllib.parse import urlencode

from starlette.responses import Response

from fillwright.errors import BadInput, StoreFull
from fillwright.jobs.day import cleaning
from fillwright.records.entries import CleanDone
from fillwright.web.forms import figure_or_none, given
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Form, Visit, go_to, route

__all__ = ["ROUTES"]

_LONGEST: Final = 120


def _show(visit: Visit) -> Response:
    """Draw what is to be cleaned, and what is on record."""
    return _drawn(visit, visit.query, None)


def _drawn(visit: Visit, asked: Form, error: BadInput | None) -> Response:
    """Draw the page for the machine that is asked for, else for the first."""
    names = list(visit.desk.book.site().machines)
    if not names:
        return plain_page(
            visit, status=404, headline="No machine yet.", words="Open a job on one first."
        )
    try:
        seen = cleaning.look(
            visit.desk, given(asked, "machine") or names[0], next_job=given(asked, "before_job")
        )
    except BadInput as problem:
        error = error or problem
        seen = cleaning.look(visit.desk, names[0])
    return render(
        visit,
        "cleaning.html",
        status=422 if error else 200,
        look=seen,
        error=error,
        typed=visit.form,
        cleans=cleaning.CLEANS,
        residues=cleaning.RESIDUES,
    )


def _keep(visit: Visit) -> Response:
    """Keep a clean."""
    form = visit.form
    try:
        fact = CleanDone(
            machine=given(form, "machine"),
            after_job="",
            after_product="",
            before_job=given(form, "before_job"),
            clean=given(form, "clean"),  # type: ignore[arg-type]  # refused where it is none
            wanted="",
            agent=given(form, "agent")[:_LONGEST],
            agent_batch=given(form, "agent_batch")[:_LONGEST],
            residue=given(form, "residue"),  # type: ignore[arg-type]  # refused where it is none
            reading=given(form, "reading")[:_LONGEST],
            discarded_l=figure_or_none(form, "discarded_l", "What was discarded", above=0),
            next_due_on=given(form, "next_due_on"),
            because=given(form, "because").rstrip(".")[:_LONGEST],
        )
        kept = cleaning.keep_clean(visit.desk, fact, visit.press())
    except BadInput as error:
        return _drawn(visit, form, error)
    except StoreFull as error:
        return _drawn(visit, form, BadInput(str(error), field="store", code="not-available"))
    return go_to(f"/cleaning?{urlencode({'machine': kept.machine})}")


ROUTES = [
    route("/cleaning", _show, needs_person=True),
    route("/cleaning", _keep, method="POST", needs_person=True),
]
