"""An inspector at the door: everything he asks for on one page, and a rehearsal of his sample."""

from __future__ import annotations

import secrets
from decimal import Decimal
from typing import Final

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput
from fillwright.jobs.release.inspection import CALIBRATE_EVERY, inspector_sheet
from fillwright.jobs.release.rehearsal import Typed
from fillwright.records.sheets_inspector import InspectorSheet
from fillwright.web.forms import figure, given, whole
from fillwright.web.numbers import number_of
from fillwright.web.render import render
from fillwright.web.visit import Form, Visit, route

__all__ = ["ROUTES", "sheet_of"]

_MOST: Final = 2_000
_SEEDS: Final = 1_000_000
_HEAVIEST_G: Final = 1_000_000


def _show(visit: Visit) -> Response:
    """Draw the page; a weight that was typed is carried on in the address and kept nowhere."""
    query, error = visit.query, None
    taken = given(query, "taken")
    seed = _seed(query)
    if given(query, "weight"):
        try:
            weight = figure(query, "weight", "The weight", least=0, most=_HEAVIEST_G)
            taken = f"{taken} {weight:f}".strip()
        except BadInput as problem:
            error = problem
    sheet = None
    try:
        sheet = _made(visit, seed, taken)
    except BadInput as problem:
        error = error or problem
    return render(
        visit,
        "inspector.html",
        status=422 if error else 200,
        sheet=sheet,
        seed=seed,
        taken=taken,
        job=given(query, "job"),
        every=CALIBRATE_EVERY,
        error=error,
        typed=query,
    )


def sheet_of(visit: Visit) -> InspectorSheet:
    """Return the sheet for the printer, with the seed and the weights of the address.

    Raises
    ------
    BadInput
        If there is no job of the number in the address.
    """
    return _made(visit, _seed(visit.query), given(visit.query, "taken"))


def _made(visit: Visit, seed: int, taken: str) -> InspectorSheet:
    """Return the sheet."""
    typed = Typed(shown_g=_weights(taken))
    return inspector_sheet(visit.desk, seed=seed, typed=typed, number=given(visit.query, "job"))


def _weights(taken: str) -> tuple[Decimal, ...]:
    """Return the weights that were typed before; what is no number is left out."""
    found = (number_of(word) for word in taken.split()[:_MOST])
    return tuple(weight for weight in found if weight is not None and weight.is_finite())


def _seed(query: Form) -> int:
    """Return the seed of the draw: the one in the address, else a new one."""
    try:
        return whole(query, "seed", "The seed", most=_SEEDS)
    except BadInput:
        return secrets.randbelow(_SEEDS)


ROUTES: list[Route] = [route("/inspector", _show, needs_person=True)]
