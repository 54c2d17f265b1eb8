"""Strip: the cautions and the gate, and strip, clean and rebuild step by step."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from fillwright.jobs.strip import acts as stripacts
from fillwright.jobs.strip import stage as strip
from fillwright.jobs.strip.acts import Evidence
from fillwright.jobs.strip.lot_fits import TICK
from fillwright.records.entries import SealSeen
from fillwright.records.fold import JobState
from fillwright.web.forms import choice, given, is_ticked
from fillwright.web.stage import Look, StagePage, routes_of
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]

_PORTS: Final = ("rear_recharge", "front_recharge", "rear_delivery", "front_delivery")
_LONGEST: Final = 200


def _look(visit: Visit, state: JobState) -> strip.StripLook:
    """Return the page with the step that this person has in hand."""
    wanted = given(visit.form, "step") or visit.query.get("step", "")
    return strip.look(visit.desk, state, person=visit.person, wanted=wanted)


def _figures(visit: Visit, state: JobState, seen: Look) -> Mapping[str, object]:
    """Return the profiles that may be picked, the films of the suction test, and the shelf."""
    _ = state, seen
    return {
        "profiles": tuple(visit.desk.profiles.by_name),
        "ports": stripacts.PORTS,
        "shelf": tuple(visit.desk.book.site().shelf.values()),
        "tick": TICK,
    }


def _stripped(visit: Visit, state: JobState) -> None:
    """Keep that the machine was stripped; the air was ticked off before."""
    missing = given(visit.form, "missing_piece")
    strip.stripped(visit.desk, state.number, visit.press(), air_is_off=True, missing_piece=missing)


def _begin(visit: Visit, state: JobState) -> None:
    """Begin a guided strip."""
    stripacts.begin(visit.desk, state.number, given(visit.form, "profile"), visit.press())


def _tick(visit: Visit, state: JobState) -> None:
    """Keep a step as done, with its evidence."""
    form = visit.form
    ports = tuple(given(form, place) for place in _PORTS)
    evidence = Evidence(
        reading=given(form, "reading")[:_LONGEST],
        photo=given(form, "photo")[:_LONGEST],
        air_is_off=is_ticked(form, "tick_1"),
        ports=(ports[0], ports[1], ports[2], ports[3]) if any(ports) else None,
    )
    stripacts.tick(visit.desk, state.number, given(form, "step"), evidence, visit.press())


def _seal(visit: Visit, state: JobState) -> str:
    """Keep how a seal looks; the step in hand stays in hand."""
    form = visit.form
    action = choice(form, "action", "what was done with it", ("kept", "replaced"))
    seen = SealSeen(
        job=state.number,
        machine=state.known.machine.name,
        product=state.known.product.name,
        position=given(form, "position"),
        material=given(form, "material")[:_LONGEST],
        size=given(form, "size")[:_LONGEST],
        state=choice(form, "state", "how it looks", ("good", "worn", "damaged", "piece-missing")),  # type: ignore[arg-type]
        action="kept" if action == "kept" else "replaced",
        reason=given(form, "reason"),  # type: ignore[arg-type]
        seal_lot=given(form, "seal_lot")[:_LONGEST],
    )
    stripacts.see_seal(
        visit.desk,
        state.number,
        seen,
        visit.press(),
        is_confirmed=is_ticked(form, "seal_lot_confirmed"),
    )
    return f"/job/{state.number}/strip?step={visit.form.get('step', '')}"


PAGE = StagePage(
    key="strip",
    template="strip.html",
    look=_look,
    figures=_figures,
    commands={"stripped": _stripped, "begin": _begin, "tick": _tick, "seal": _seal},
    remembers_ticks=False,
)
ROUTES = routes_of(PAGE)
