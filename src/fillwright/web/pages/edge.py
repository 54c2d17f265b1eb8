"""The edge of a full recharge: set, time, weigh, by turns; then what the shots say."""

from __future__ import annotations

from urllib.parse import quote

from fillwright.jobs.setup import recharge_edge as rechargeedge
from fillwright.records.fold import JobState
from fillwright.web.forms import figure
from fillwright.web.stage import StagePage, routes_of
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _look(visit: Visit, state: JobState) -> rechargeedge.EdgeLook:
    """Return what the page shows; `?again=1` begins anew."""
    return rechargeedge.look(visit.desk, state, anew=bool(visit.query.get("again")))


def _timed(visit: Visit, state: JobState) -> None:
    """Keep the recharge time that was set."""
    reading = figure(visit.form, "reading", "The recharge", above=0)
    rechargeedge.timed(visit.desk, state.number, reading, visit.press())


def _judge(visit: Visit, state: JobState) -> None:
    """Work out the edge."""
    rechargeedge.judge(visit.desk, state.number, visit.press())


def _again(visit: Visit, state: JobState) -> str:
    """Lead to the page that begins anew; nothing is thrown away."""
    _ = visit
    return f"/job/{quote(state.number)}/edge?again=1"


PAGE = StagePage(
    key="edge",
    template="edge.html",
    look=_look,
    commands={"timed": _timed, "judge": _judge, "again": _again},
    weighs="recharge",
)
ROUTES = routes_of(PAGE)
