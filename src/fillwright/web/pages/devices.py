"""Other devices at this bench: the code that lets one in, and those that are in."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from fillwright.web.forms import given
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Visit, go_to, route

__all__ = ["ROUTES"]


def _show(visit: Visit) -> Response:
    """Draw code, addresses and devices; on the bench machine only."""
    pairing = visit.bench.pairing
    if not visit.is_near or pairing is None:
        words = "The code stands on the screen of the bench machine, and nowhere else."
        if pairing is None:
            words = "This bench answers to its own machine only."
        return plain_page(visit, status=403, headline="Not on this device.", words=words)
    return render(
        visit,
        "devices.html",
        code=pairing.code,
        devices=pairing.devices,
        is_remembered=pairing.is_remembered,
        addresses=visit.bench.addresses,
    )


def _forget(visit: Visit) -> Response:
    """Let a device in no more."""
    if visit.bench.pairing is not None and visit.is_near:
        visit.bench.pairing.forget(given(visit.form, "key"))
    return go_to("/devices")


ROUTES: list[Route] = [
    route("/devices", _show),
    route("/devices/forget", _forget, method="POST"),
]
