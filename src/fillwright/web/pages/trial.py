"""Trial fills: a few shots with water or product on a machine, kept and printed."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.field import register as field
from fillwright.jobs.field import trial_fill as trialfill
from fillwright.records.entries import TrialFilled
from fillwright.web.forms import choice, figure_or_none, given
from fillwright.web.numbers import count_of, number_of
from fillwright.web.printed import printed
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Visit, go_to, route

__all__ = ["ROUTES"]

_BENCH: Final = "bench:"
_LONGEST: Final = 400


def _list(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw the trial fills, with the form for another."""
    desk = visit.desk
    state = field.register(desk)
    machines = [(str(n), f"{n}: {one.name}") for n, one in state.machines.items()]
    machines += [
        (f"{_BENCH}{name}", f"{name}, of this bench") for name in desk.book.site().machines
    ]
    return render(
        visit,
        "trials.html",
        status=422 if error else 200,
        rows=sorted(state.trials.items(), reverse=True)[:30],
        machines=[("", "Pick one"), *machines],
        enquiries=[
            (str(n), f"{n}: {one.product.name}") for n, (_, _, one) in state.enquiries.items()
        ],
        machine_now=visit.query.get("machine", ""),
        enquiry_now=visit.query.get("enquiry", ""),
        most=trialfill.MOST_SHOTS,
        error=error,
    )


def _weights(typed: str) -> tuple[Decimal, ...]:
    """Return weights that were typed one after the other."""
    found = []
    for one in typed.replace(";", " ").split()[:200]:
        number = number_of(one.replace(",", "."))
        if number is None:
            message = f"{one[:20]!r} is no weight. Type figures, blanks between: 250.1 249.8."
            raise BadInput(message, field="nets", given=one[:20], allowed="figures", code="type")
        found.append(number)
    return tuple(found)


def _keep(visit: Visit) -> Response:
    """Keep a trial fill."""
    form = visit.form
    picked = given(form, "machine")
    try:
        fact = TrialFilled(
            trial=0,
            machine=0 if picked.startswith(_BENCH) else count_of(picked) or 0,
            machine_name=picked.removeprefix(_BENCH),
            filled_with=choice(form, "filled_with", "water or product", ("water", "product")),  # type: ignore[arg-type]  # one of the two
            product=given(form, "product")[:_LONGEST],
            fitted=given(form, "fitted")[:_LONGEST],
            setting=given(form, "setting")[:_LONGEST],
            asked_g=figure_or_none(form, "asked_g", "What was asked for", above=0),
            nets_g=_weights(given(form, "nets")),
            enquiry=count_of(given(form, "enquiry")) or 0,
            note=" ".join(given(form, "note").split())[:_LONGEST],
        )
        number = trialfill.keep_trial(visit.desk, fact, visit.press())
    except BadInput as error:
        return _list(visit, error=error)
    except (Conflict, StoreFull) as error:
        return _list(visit, error=BadInput(str(error), field="store", code="not-available"))
    return go_to(f"/trial/{number}")


def _show(visit: Visit) -> Response:
    """Draw a trial fill."""
    number = count_of(visit.params.get("trial", "")) or 0
    try:
        sheet = trialfill.trial_sheet(visit.desk, number)
    except BadInput as error:
        return plain_page(visit, status=404, headline="No such trial fill.", words=error.message)
    return render(visit, "trial.html", number=number, sheet=sheet)


def _sheet(visit: Visit) -> Response:
    """Return the record of a trial fill as a PDF."""
    number = count_of(visit.params.get("trial", "")) or 0
    return printed(
        visit,
        lambda: trialfill.trial_sheet(visit.desk, number),
        f"trial-{number}",
        headline="No such trial fill.",
        status=404,
    )


ROUTES: list[Route] = [
    route("/trial", _list, needs_person=True),
    route("/trial", _keep, method="POST", needs_person=True),
    route("/trial/{trial}", _show, needs_person=True),
    route("/trial/{trial}/sheet.pdf", _sheet),
]
