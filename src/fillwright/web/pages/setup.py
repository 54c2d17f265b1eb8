"""Set up: one step in hand at a time, the others in a list."""

from __future__ import annotations

from collections.abc import Mapping

from fillwright.errors import BadInput
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.setup.starting import start_look
from fillwright.jobs.setup.steps import AIR_OUT, STROKES_STEP
from fillwright.jobs.setup.stroke_times import StrokeReading
from fillwright.records.charts import VolumeScale
from fillwright.records.entries import Purpose
from fillwright.records.fold import JobState
from fillwright.web.forms import figure_or_none, given
from fillwright.web.stage import StagePage, routes_of, take_weight
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _figures(visit: Visit, state: JobState, seen: setup.SetupLook) -> Mapping[str, object]:
    """Return the volume scale at the step that turns the wheel, and what is weighed now."""
    shown = {
        "weighed": _weighed(seen),
        "start": start_look(visit.desk, state, seen.start_marks),
        "times_strokes": seen.now is not None and seen.now.key == STROKES_STEP,
        "scale": None,
    }
    if seen.now is None or seen.now.key != "setting":
        return shown
    machine = state.known.machine
    scale = VolumeScale(
        now_marks=state.setting_marks,
        set_marks=seen.start_marks,
        step_marks=machine.step_marks,
        last_mark=machine.last_mark,
    )
    return {**shown, "scale": scale}


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
    strokes = _strokes(visit) if key == STROKES_STEP else None
    setup.done(visit.desk, state.number, key, reading, visit.press(), strokes=strokes)


def _strokes(visit: Visit) -> StrokeReading:
    """Return what else was read of the strokes."""
    form = visit.form
    return StrokeReading(
        fill_s=figure_or_none(form, "fill_s", "One fill", above=0),
        recharge_s=figure_or_none(form, "recharge_s", "One recharge", above=0),
        fill_turns=figure_or_none(form, "fill_turns", "The fill control", above=0),
        recharge_turns=figure_or_none(form, "recharge_turns", "The recharge control", above=0),
    )


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
