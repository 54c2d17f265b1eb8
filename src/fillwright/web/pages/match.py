"""Match: do product, dose and container suit this machine, and with which parts."""

from __future__ import annotations

from collections.abc import Mapping

from fillwright.jobs.charts import cylinder_lanes
from fillwright.jobs.match import stage as match
from fillwright.records.fold import JobState
from fillwright.web.stage import StagePage, routes_of
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _figures(visit: Visit, state: JobState, seen: match.MatchLook) -> Mapping[str, object]:
    """Return the cylinders against the dose."""
    _ = (visit, state)
    return {"lanes": cylinder_lanes(seen)}


def _take(visit: Visit, state: JobState) -> str:
    """Take the parts and go on."""
    match.take(visit.desk, state.number, visit.press())
    return f"/job/{state.number}/setup"


PAGE = StagePage(
    key="match",
    template="match.html",
    look=lambda visit, state: match.look(visit.desk, state),
    figures=_figures,  # type: ignore[arg-type]  # its own look
    commands={"take": _take},
)
ROUTES = routes_of(PAGE)
