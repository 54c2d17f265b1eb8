"""The day: the order of the open jobs, the cleaning between, what another order would cost."""

from __future__ import annotations

from collections import defaultdict
from typing import Final

from starlette.responses import Response

from fillwright.errors import BadInput
from fillwright.jobs import day
from fillwright.web.forms import figure, given
from fillwright.web.render import render
from fillwright.web.visit import Visit, route

__all__ = ["ROUTES"]

_LONGEST: Final = 60
_FIELDS: Final = ("skip", "minutes", "due_min", *day.ATTRIBUTES)


def _show(visit: Visit) -> Response:
    """Draw the order of the day; nothing is kept of what is typed here."""
    error = None
    try:
        seen = day.look(visit.desk, _wishes(visit))
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


def _wishes(visit: Visit) -> day.DayWishes:
    """Return what was typed for each job, as ``minutes-0104``."""
    typed: dict[str, dict[str, str]] = defaultdict(dict)
    for key, value in visit.query.items():
        field, _, number = key.partition("-")
        if field in _FIELDS and number:
            typed[number][field] = value.strip()[:_LONGEST]
    weight = 5.0
    if given(visit.query, "lateness"):
        weight = float(figure(visit.query, "lateness", "What lateness counts", least=0, most=1000))
    return day.DayWishes(
        typed=typed, lateness_factor=weight, forbidden=_pairs(given(visit.query, "apart"))
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


ROUTES = [route("/day", _show, needs_person=True)]
