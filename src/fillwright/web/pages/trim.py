"""Trim: the turn face and the weigh face of one page."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from fillwright.jobs.charts import volume_scale
from fillwright.jobs.trim import stage as trim
from fillwright.jobs.trim.history import start_words
from fillwright.records.charts import Wheel
from fillwright.records.fold import JobState
from fillwright.web.forms import figure, given
from fillwright.web.stage import StagePage, routes_of, take_weight
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _figures(visit: Visit, state: JobState, seen: trim.TrimLook) -> Mapping[str, object]:
    """Return the machine's own scale and the wheel."""
    return {
        "scale": volume_scale(state, seen),
        "wheel": _wheel(state, seen),
        "start_words": start_words(visit.desk, state.known) if seen.face != "end" else "",
    }


def _wheel(state: JobState, seen: trim.TrimLook) -> Wheel | None:
    """Return the turn of the wheel."""
    if seen.face != "turn" or seen.now_marks is None or seen.set_marks is None:
        return None
    change = seen.set_marks - seen.now_marks
    if change == 0:
        # Down past the setting and back up to the same number: the steps say it better.
        return None
    machine = state.known.machine
    return Wheel(
        size_turns=float(abs(change) / machine.marks_per_turn),
        is_clockwise=machine.clockwise_raises == (change > 0),
    )


def _moved(visit: Visit, state: JobState) -> None:
    """Keep where the wheel was set; the main button says that it is locked."""
    marks: Decimal = figure(visit.form, "setting", "The setting")
    trim.moved(visit.desk, state.number, marks, visit.press(), is_locked=True)


def _moved_from_above(visit: Visit, state: JobState) -> None:
    """Keep that the wheel came down to where the page said, to learn its play."""
    marks: Decimal = figure(visit.form, "instead", "The setting")
    trim.moved_from_above(visit.desk, state.number, marks, visit.press())


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
    commands={
        "moved": _moved,
        "from-above": _moved_from_above,
        "take-as-is": _take,
        "again": _again,
        "spoilt": _spoilt,
    },
    weighs="shot",
)
ROUTES = routes_of(PAGE)
