"""Bench settings: light, keys, signatures, band, rule set; and the switches of the demo."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, StoreFull
from fillwright.jobs.catalogue import change_settings
from fillwright.web.forms import figure, given, is_ticked
from fillwright.web.render import plain_page, render
from fillwright.web.visit import LIGHTS, Visit, go_to, keep_light, route, way_back
from fillwright.wiring import DemoBench

__all__ = ["ROUTES"]

_SWITCHES: Final[dict[str, Callable[[DemoBench], None]]] = {
    "creep-on": lambda demo: demo.creep(is_on=True),
    "creep-off": lambda demo: demo.creep(is_on=False),
    "unplug": lambda demo: demo.unplug(),
    "plug-in": lambda demo: demo.plug_in(),
}


def _show(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw the settings."""
    return render(
        visit,
        "settings.html",
        status=422 if error else 200,
        settings=visit.desk.book.site().settings,
        rule_sets=tuple(visit.desk.rule_sets.values()),
        machines=tuple(visit.desk.book.site().machines),
        error=error,
    )


def _press(visit: Visit) -> Response:
    """Keep the settings; the light is kept on this device, the rest for the site."""
    form = visit.form
    try:
        settings = replace(
            visit.desk.book.site().settings,
            maker=given(form, "maker")[:80],
            rules=given(form, "rules"),
            signatures=2 if given(form, "signatures") == "2" else 1,
            band_pct=figure(form, "band_pct", "The band", above=0, most=10),
            keys_on=is_ticked(form, "keys_on"),
        )
        change_settings(visit.desk, settings, visit.press())
    except BadInput as error:
        return _show(visit, error=error)
    except StoreFull as error:
        return _show(visit, error=BadInput(str(error), field="store", code="not-available"))
    response = go_to("/settings")
    light = given(form, "light")
    if light in LIGHTS:
        keep_light(response, light)
    return response


def _light(visit: Visit) -> Response:
    """Keep another light on this device and go back."""
    response = go_to(way_back(visit))
    light = given(visit.form, "light")
    if light in LIGHTS:
        keep_light(response, light)
    return response


def _switch(visit: Visit) -> Response:
    """Throw a switch of the demo bench."""
    demo = visit.bench.demo
    name = given(visit.form, "switch")
    if demo is None or name not in _SWITCHES:
        return plain_page(
            visit, status=404, headline="No such switch.", words="Only the demo bench has them."
        )
    _SWITCHES[name](demo)
    return go_to(way_back(visit))


ROUTES: list[Route] = [
    route("/settings", _show),
    route("/settings", _press, method="POST"),
    route("/light", _light, method="POST"),
    route("/demo", _switch, method="POST"),
]
