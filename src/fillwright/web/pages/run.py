"""Run: the next weight, the wheel, what is held, and the row of containers in their trays."""

from __future__ import annotations

from collections.abc import Mapping

from fillwright.jobs import run
from fillwright.jobs.charts import dose_chart
from fillwright.records.fold import JobState
from fillwright.web.forms import figure, given, whole, whole_or_none
from fillwright.web.stage import StagePage, routes_of, take_weight
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _figures(visit: Visit, state: JobState, seen: run.RunLook) -> Mapping[str, object]:
    """Return the dose chart, once something is filled."""
    if not seen.is_started:
        return {"doses": None}
    return {"doses": dose_chart(visit.desk, state)}


def _start(visit: Visit, state: JobState) -> None:
    """Start the run."""
    reason = given(visit.form, "reason")
    run.start(visit.desk, state.number, visit.press(), without_proof=reason)


def _spoilt(visit: Visit, state: JobState) -> None:
    """Keep a weight that is set aside, with its reason."""
    _ = state
    take_weight(visit, "dose", set_aside=given(visit.form, "reason"))


def _adjust(visit: Visit, state: JobState) -> None:
    """Keep a turn of the wheel; the button says that it is locked."""
    form = visit.form
    if given(form, "instead"):
        form = {**form, "setting": form["instead"]}
    marks = figure(form, "setting", "The setting")
    run.adjust(visit.desk, state.number, marks, visit.press(), is_locked=True)


def _pause(visit: Visit, state: JobState) -> str | None:
    """Stop the run: pause, refill, or look for a fault."""
    reason = given(visit.form, "stop") or "pause"
    run.pause(
        visit.desk,
        state.number,
        reason,  # type: ignore[arg-type]  # refused there when it is none of the three
        visit.press(),
        note=given(visit.form, "note"),
        filled_to=whole_or_none(visit.form, "last_filled", "The last one filled"),
    )
    if reason == "fault":
        return f"/job/{state.number}/fault?back=/job/{state.number}/run"
    return None


def _finish(visit: Visit, state: JobState) -> None:
    """Finish the run."""
    filled = whole(visit.form, "filled", "The number of the last one", least=1)
    reason = given(visit.form, "reason")
    run.finish(visit.desk, state.number, filled, visit.press(), reason=reason)


PAGE = StagePage(
    key="run",
    template="run.html",
    look=lambda visit, state: run.look(visit.desk, state),
    figures=_figures,  # type: ignore[arg-type]  # its own look
    commands={
        "start-run": _start,
        "spoilt": _spoilt,
        "adjust": _adjust,
        "pause": _pause,
        "finish": _finish,
    },
    weighs="dose",
)
ROUTES = routes_of(PAGE)
