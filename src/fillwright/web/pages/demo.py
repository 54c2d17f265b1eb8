"""The demo bench: its switches, the faults of its machine, and what one sees and hears there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput
from fillwright.web.forms import given
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Visit, go_to, route, way_back
from fillwright.wiring import FAULT_WORDS, DemoBench, fault_named

__all__ = ["ROUTES"]

_SWITCHES: Final[dict[str, Callable[[DemoBench], None]]] = {
    "creep-on": lambda demo: demo.creep(is_on=True),
    "creep-off": lambda demo: demo.creep(is_on=False),
    "unplug": lambda demo: demo.unplug(),
    "plug-in": lambda demo: demo.plug_in(),
}
_SEVERITIES: Final = (
    ("0.3", "mild", "just to be found in twenty doses"),
    ("0.6", "plain", ""),
    ("0.9", "severe", ""),
)


def _show(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw what the machine of the demo does, and which fault it has."""
    demo = visit.bench.simulated
    if demo is None:
        return _no_demo(visit)
    now = demo.faults[0] if demo.faults else None
    return render(
        visit,
        "demo.html",
        status=422 if error else 200,
        kinds=tuple((kind.value, words) for kind, words in FAULT_WORDS.items()),
        severities=_SEVERITIES,
        kind_now="" if now is None else now.kind.value,
        severity_now="0.6" if now is None else f"{now.severity:g}",
        watch=demo.watch,
        seen=demo.seen,
        told=demo.told,
        error=error,
        back=way_back(visit),
    )


def _press(visit: Visit) -> Response:
    """Throw a switch of the demo bench, or set a fault."""
    demo = visit.bench.simulated
    name = given(visit.form, "switch")
    if demo is None:
        return _no_demo(visit)
    if name == "fault":
        return _set_fault(visit, demo)
    if name not in _SWITCHES:
        return _no_demo(visit)
    _SWITCHES[name](demo)
    return go_to(way_back(visit))


def _set_fault(visit: Visit, demo: DemoBench) -> Response:
    """Set the fault that was picked, or none."""
    kind = given(visit.form, "kind")
    try:
        picked = [fault_named(f"{kind}:{given(visit.form, 'severity')}")] if kind else []
    except BadInput as error:
        return _show(visit, error=error)
    demo.set_faults(picked)
    return go_to(way_back(visit))


def _no_demo(visit: Visit) -> Response:
    """Say that there is no such switch."""
    return plain_page(
        visit,
        status=404,
        headline="No such switch.",
        words="Only a simulated machine has them: of the demo, or of practice.",
    )


ROUTES: list[Route] = [
    route("/demo", _show),
    route("/demo", _press, method="POST"),
]
