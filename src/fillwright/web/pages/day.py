"""The day: the order of the open jobs, the cleaning between, what another order would cost."""

from __future__ import annotations

import contextlib
from collections import defaultdict
from typing import Final
from urllib.parse import urlencode

from starlette.responses import Response

from fillwright.errors import BadInput
from fillwright.jobs.day import order as day
from fillwright.web.forms import figure, given
from fillwright.web.render import render
from fillwright.web.visit import Form, Visit, go_to, route

__all__ = ["ROUTES"]

_LONGEST: Final = 60
_NOT_KEPT: Final = ("skip", "minutes", "due_min", "parts")
_FIELDS: Final = (*_NOT_KEPT, *day.ATTRIBUTES)


def _show(visit: Visit) -> Response:
    """Draw the order of the day; minutes and due times are not kept, words of products are."""
    error = None
    try:
        seen = day.look(visit.desk, _wishes(visit.query))
    except BadInput as problem:
        error = problem
        seen = day.look(visit.desk, day.DayWishes(typed={}))
    return render(
        visit,
        "day.html",
        status=422 if error else 200,
        look=seen,
        error=error,
        attributes=day.ATTRIBUTES,
        lateness=visit.query.get("lateness", "5"),
        apart=visit.query.get("apart", ""),
    )


def _wishes(form: Form) -> day.DayWishes:
    """Return what was typed for each job, as ``minutes-0104``."""
    typed: dict[str, dict[str, str]] = defaultdict(dict)
    for key, value in form.items():
        field, _, number = key.partition("-")
        if field in _FIELDS and number:
            typed[number][field] = value.strip()[:_LONGEST]
    weight = 5.0
    if given(form, "lateness"):
        weight = float(figure(form, "lateness", "What lateness counts", least=0, most=1000))
    return day.DayWishes(
        typed=typed, lateness_factor=weight, forbidden=_pairs(given(form, "apart"))
    )


def _pairs(text: str) -> tuple[tuple[str, str], ...]:
    """Return pairs of allergens that are never ordered, as ``nut > none, milk > none``.

    Raises
    ------
    BadInput
        If a pair has no sign between, or an end is empty.
    """
    found = []
    for part in text.split(",") if text else ():
        first, sign, then = (piece.strip() for piece in part.partition(">"))
        if not (first and sign and then):
            message = f"Write {part.strip()!r} as: nut > none. Commas part the pairs."
            raise BadInput(message, field="apart", given=part, code="type")
        found.append((first, then))
    return tuple(found)


def _order(visit: Visit) -> Response:
    """Keep what the cleaning after each product depends on, and order again."""
    # The page that is drawn next has the same figures, and says what is wrong with them.
    with contextlib.suppress(BadInput):
        day.keep_traits(visit.desk, _wishes(visit.form), visit.press())
    kept = {key: value for key, value in visit.form.items() if value and _is_wish(key)}
    return go_to(f"/day?{urlencode(kept)}" if kept else "/day")


def _is_wish(key: str) -> bool:
    """Return whether a field of the form is of the day's own; words of products are on record."""
    field, _, number = key.partition("-")
    return key in ("lateness", "apart") or (bool(number) and field in _NOT_KEPT)


ROUTES = [
    route("/day", _show, needs_person=True),
    route("/day", _order, method="POST", needs_person=True),
]
