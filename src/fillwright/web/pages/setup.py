"""Set up: one step in hand at a time, the others in a list."""

from __future__ import annotations

from collections.abc import Mapping

from fillwright.errors import BadInput
from fillwright.jobs import setup
from fillwright.jobs.setupsteps import AIR_OUT
from fillwright.records.charts import VolumeScale
from fillwright.records.entries import Purpose
from fillwright.records.fold import JobState
from fillwright.web.forms import given
from fillwright.web.stage import StagePage, routes_of, take_weight
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _figures(visit: Visit, state: JobState, seen: setup.SetupLook) -> Mapping[str, object]:
    """Return the volume scale at the step that turns the wheel, and what is weighed now."""
    _ = visit
    weighs = _weighed(seen)
    if seen.now is None or seen.now.key != "setting":
        return {"scale": None, "weighed": weighs}
    machine = state.known.machine
    scale = VolumeScale(
        now_marks=state.setting_marks,
        set_marks=seen.start_marks,
        step_marks=machine.step_marks,
        last_mark=machine.last_mark,
    )
    return {"scale": scale, "weighed": weighs}


def _weighed(seen: setup.SetupLook) -> Purpose:
    """Return what a weight sent from the page would be."""
    return "purge" if seen.now is not None and seen.now.key == AIR_OUT else "tare"


def _weigh(visit: Visit, state: JobState) -> None:
    """Keep an empty, or one of the first shots after the flush."""
    take_weight(visit, _weighed(setup.look(visit.desk, state)))


def _key(visit: Visit, state: JobState) -> str:
    """Return the step that the page asked about."""
    key = given(visit.form, "step")
    now = setup.look(visit.desk, state).now
    if not key or now is None or key != now.key:
        message = "That step is done already. This is the next one."
        raise BadInput(message, field="step", given=key, code="inconsistent")
    return key


def _done(visit: Visit, state: JobState) -> None:
    """Keep the step in hand as done."""
    key = _key(visit, state)
    reading = given(visit.form, "reading")
    setup.done(visit.desk, state.number, key, reading, visit.press())


def _cannot(visit: Visit, state: JobState) -> None:
    """Keep that the step in hand cannot be done."""
    now = setup.look(visit.desk, state).now
    key = now.key if now is not None else ""
    setup.cannot(visit.desk, state.number, key, given(visit.form, "reason"), visit.press())


PAGE = StagePage(
    key="setup",
    template="setup.html",
    look=lambda visit, state: setup.look(visit.desk, state),
    figures=_figures,  # type: ignore[arg-type]  # its own look
    commands={"done": _done, "cannot": _cannot, "weigh": _weigh},
    weighs="tare",
    remembers_ticks=False,
)
ROUTES = routes_of(PAGE)
