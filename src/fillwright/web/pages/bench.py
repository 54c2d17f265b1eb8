"""Bench settings: light, keys, signatures, band, rule set."""

from __future__ import annotations

from dataclasses import replace

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, StoreFull
from fillwright.jobs.catalogue import change_settings
from fillwright.language import shown_tongues
from fillwright.web.forms import figure, given, is_ticked
from fillwright.web.render import render
from fillwright.web.visit import LIGHTS, Visit, go_to, keep_language, keep_light, route, way_back

__all__ = ["ROUTES"]


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
            language=_language(given(form, "language"), visit),
            units="us" if given(form, "units") == "us" else "metric",
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
    here = given(form, "language_here")
    if here == "bench" or here in _codes():
        keep_language(response, "" if here == "bench" else here)
    return response


def _codes() -> tuple[str, ...]:
    """Return the codes of the languages that people may choose."""
    return tuple(tongue.code for tongue in shown_tongues())


def _language(code: str, visit: Visit) -> str:
    """Return the language of the bench as it was picked; what is left out stays."""
    return code if code in _codes() else visit.desk.book.site().settings.language


def _light(visit: Visit) -> Response:
    """Keep another light on this device and go back."""
    response = go_to(way_back(visit))
    light = given(visit.form, "light")
    if light in LIGHTS:
        keep_light(response, light)
    return response


ROUTES: list[Route] = [
    route("/settings", _show),
    route("/settings", _press, method="POST"),
    route("/light", _light, method="POST"),
]
