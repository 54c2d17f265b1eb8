"""Enquiries: what somebody wants to fill, held against every machine; the sheet of questions."""

from __future__ import annotations

from typing import Final

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.field import enquiry
from fillwright.jobs.field import register as field
from fillwright.records.entities import Container
from fillwright.records.entries import EnquiryTaken
from fillwright.web.forms import figure, figure_or_none, given, text
from fillwright.web.numbers import count_of
from fillwright.web.printed import printed
from fillwright.web.productfacts import choices_of_product, new_product, with_measured
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Visit, go_to, route

__all__ = ["ROUTES"]

_LONGEST: Final = 400


def _list(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw the enquiries, with the form for another."""
    lists = choices_of_product()
    measured = {str(name) for name in lists["measured"]}  # type: ignore[attr-defined]  # a tuple
    is_open = error is not None and error.field in measured
    return render(
        visit,
        "enquiries.html",
        status=422 if error else 200,
        rows=sorted(field.register(visit.desk).enquiries.items(), reverse=True)[:30],
        lists=lists,
        is_open=is_open or any(visit.form.get(name) for name in measured),
        error=error,
    )


def _take(visit: Visit) -> Response:
    """Keep an enquiry."""
    form = visit.form
    try:
        container = Container(
            name=text(form, "container_name", "What it goes into"),
            brim_ml=figure(form, "brim_ml", "What it holds to the brim", above=0),
            mouth_mm=figure(form, "mouth_mm", "The mouth", above=0, most=500),
        )
        taken = EnquiryTaken(
            enquiry=0,
            who=given(form, "who")[:_LONGEST],
            product=with_measured(form, new_product(form)),
            container=container,
            dose_ml=figure(form, "dose_ml", "The dose", above=0),
            rate_per_min=figure_or_none(form, "rate_per_min", "How many a minute", above=0),
            note=" ".join(given(form, "note").split())[:_LONGEST],
        )
        number = enquiry.take_enquiry(visit.desk, taken, visit.press())
    except BadInput as error:
        return _list(visit, error=error)
    except (Conflict, StoreFull) as error:
        return _list(visit, error=BadInput(str(error), field="store", code="not-available"))
    return go_to(f"/enquiry/{number}")


def _show(visit: Visit) -> Response:
    """Draw an enquiry with the machines, best first."""
    number = count_of(visit.params.get("enquiry", "")) or 0
    try:
        seen = enquiry.look(visit.desk, number)
    except BadInput as error:
        return plain_page(visit, status=404, headline="No such enquiry.", words=error.message)
    return render(visit, "enquiry.html", number=number, look=seen)


def _sheet(visit: Visit) -> Response:
    """Return the enquiry sheet as a PDF."""
    number = count_of(visit.params.get("enquiry", "")) or 0
    return printed(
        visit,
        lambda: enquiry.enquiry_sheet(visit.desk, number),
        f"enquiry-{number}",
        headline="No such enquiry.",
        status=404,
    )


ROUTES: list[Route] = [
    route("/enquiry", _list, needs_person=True),
    route("/enquiry", _take, method="POST", needs_person=True),
    route("/enquiry/{enquiry}", _show, needs_person=True),
    route("/enquiry/{enquiry}/sheet.pdf", _sheet),
]
