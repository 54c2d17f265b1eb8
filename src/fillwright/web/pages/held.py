"""Held containers: weigh, scrap, or release with a reason; Release waits for it."""

from __future__ import annotations

from fillwright.jobs import settle
from fillwright.records.fold import JobState
from fillwright.records.spans import Span
from fillwright.web.forms import given, whole
from fillwright.web.stage import StagePage, routes_of
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _settle(visit: Visit, state: JobState, outcome: str) -> None:
    """Settle held containers without weighing them."""
    first = whole(visit.form, "first", "The first", least=1)
    last = whole(visit.form, "last", "The last", least=1)
    settle.settle(
        visit.desk,
        state.number,
        Span(first, last),
        outcome,  # type: ignore[arg-type]  # one of the two words below
        given(visit.form, "reason"),
        visit.press(),
    )


PAGE = StagePage(
    key="held",
    template="held.html",
    look=lambda visit, state: settle.look(visit.desk, state),
    commands={
        "scrapped": lambda visit, state: _settle(visit, state, "scrapped"),
        "released-with-reason": lambda visit, state: _settle(visit, state, "released-with-reason"),
    },
    weighs="held",
)
ROUTES = routes_of(PAGE)
