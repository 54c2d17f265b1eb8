"""Trim: the turn face and the weigh face of one page."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from fillwright.jobs import trim
from fillwright.jobs.charts import volume_scale
from fillwright.records.charts import Wheel
from fillwright.records.fold import JobState
from fillwright.web.forms import figure, given
from fillwright.web.stage import StagePage, routes_of, take_weight
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _figures(visit: Visit, state: JobState, seen: trim.TrimLook) -> Mapping[str, object]:
    """Return the machine's own scale and the wheel."""
    _ = visit
    return {"scale": volume_scale(state, seen), "wheel": _wheel(state, seen)}


def _wheel(state: JobState, seen: trim.TrimLook) -> Wheel | None:
    """Return the turn of the wheel."""
    if seen.face != "turn" or seen.now_marks is None or seen.set_marks is None:
        return None
    change = seen.set_marks - seen.now_marks
    machine = state.known.machine
    return Wheel(
        size_turns=float(abs(change) / machine.marks_per_turn),
        is_clockwise=machine.clockwise_raises == (change > 0),
    )


def _moved(visit: Visit, state: JobState) -> None:
    """Keep where the wheel was set; the main button says that it is locked."""
    marks: Decimal = figure(visit.form, "setting", "The setting")
    trim.moved(visit.desk, state.number, marks, visit.press(), is_locked=True)


def _take(visit: Visit, state: JobState) -> None:
    """Take the setting as it is."""
    trim.take_as_is(visit.desk, state.number, given(visit.form, "reason"), visit.press())


def _again(visit: Visit, state: JobState) -> None:
    """Trim again."""
    trim.trim_again(visit.desk, state.number, given(visit.form, "reason"), visit.press())


def _spoilt(visit: Visit, state: JobState) -> None:
    """Keep a shot that is not used, with its reason."""
    _ = state
    take_weight(visit, "shot", set_aside=given(visit.form, "reason"))


PAGE = StagePage(
    key="trim",
    template="trim.html",
    look=lambda visit, state: trim.look(visit.desk, state),
    figures=_figures,  # type: ignore[arg-type]  # its own look
    commands={"moved": _moved, "take-as-is": _take, "again": _again, "spoilt": _spoilt},
    weighs="shot",
)
ROUTES = routes_of(PAGE)
