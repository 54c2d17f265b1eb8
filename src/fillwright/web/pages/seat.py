"""Who weighs: a person takes the weighing over to the device at hand, or lets a program in."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from fillwright.web.forms import given
from fillwright.web.visit import Visit, go_to, route, way_back

__all__ = ["ROUTES"]


def _take(visit: Visit) -> Response:
    """Let this device weigh from now on."""
    if visit.device:
        visit.bench.seats.take(visit.number, visit.device, visit.person)
    return go_to(way_back(visit))


def _answer(visit: Visit) -> Response:
    """Let a program weigh beside this page, or send it off."""
    visit.bench.seats.answer(
        visit.number,
        visit.device,
        given(visit.form, "sender"),
        lets=given(visit.form, "lets") == "yes",
    )
    return go_to(way_back(visit))


ROUTES: list[Route] = [
    route("/job/{number}/seat", _take, method="POST", needs_person=True),
    route("/job/{number}/seat/program", _answer, method="POST", needs_person=True),
]
