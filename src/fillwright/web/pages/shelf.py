"""The shelf: seal life by place, spares, and shelf dates."""

from __future__ import annotations

from starlette.responses import Response

from fillwright.errors import BadInput, StoreFull
from fillwright.jobs.strip import shelf
from fillwright.records.entries import SealsShelved
from fillwright.web.forms import figure, given, whole
from fillwright.web.render import render
from fillwright.web.visit import Form, Visit, go_to, route

__all__ = ["ROUTES", "wishes_of"]

_MOST_CYCLES = 100_000_000
_LONGEST = 60


def _show(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw the shelf."""
    try:
        wishes = wishes_of(visit.query)
    except BadInput as problem:
        wishes, error = shelf.ShelfWishes(), problem
    return render(
        visit,
        "shelf.html",
        status=422 if error else 200,
        look=shelf.look(visit.desk, wishes),
        error=error,
    )


def wishes_of(query: Form) -> shelf.ShelfWishes:
    """Return what the advice is reckoned with.

    Raises
    ------
    BadInput
        If a figure cannot be read.
    """
    usual = shelf.ShelfWishes()

    def cycles(field: str, name: str, otherwise: int) -> int:
        if not given(query, field):
            return otherwise
        return whole(query, field, name, least=0, most=_MOST_CYCLES)

    ratio, service = usual.failure_cost_ratio, usual.service_share
    if given(query, "ratio"):
        ratio = float(figure(query, "ratio", "What a failure costs", above=0, most=10_000))
    if given(query, "service"):
        most, above = figure(query, "service", "The chance", above=0, most=100), 0
        service = min(float(most) / 100, 0.9999) if most > above else service
    return shelf.ShelfWishes(
        next_job_cycles=cycles("next_job", "The next job", usual.next_job_cycles),
        next_strip_cycles=cycles("next_strip", "The next strip", usual.next_strip_cycles),
        lead_cycles=cycles("lead", "The lead time", usual.lead_cycles),
        failure_cost_ratio=ratio,
        service_share=service,
    )


def _shelve(visit: Visit) -> Response:
    """Put a lot of seals on the shelf."""
    form = visit.form
    try:
        lot = SealsShelved(
            seal_lot=given(form, "seal_lot")[:_LONGEST],
            material=given(form, "material"),
            size=given(form, "size")[:_LONGEST],
            pieces=whole(form, "pieces", "How many", most=1_000_000),
            cured_on=given(form, "cured_on"),
            certificate=given(form, "certificate")[:200],
        )
        shelf.shelve(visit.desk, lot, visit.press())
    except BadInput as error:
        return _show(visit, error=error)
    except StoreFull as error:
        return _show(visit, error=BadInput(str(error), field="store", code="not-available"))
    return go_to("/shelf")


ROUTES = [
    route("/shelf", _show, needs_person=True),
    route("/shelf", _shelve, method="POST", needs_person=True),
]
