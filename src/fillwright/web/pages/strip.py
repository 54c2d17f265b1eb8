"""Strip: the cautions, the gate, and the record that every seal is accounted for."""

from __future__ import annotations

from fillwright.jobs import strip
from fillwright.records.fold import JobState
from fillwright.web.forms import given
from fillwright.web.stage import StagePage, routes_of
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _stripped(visit: Visit, state: JobState) -> None:
    """Keep that the machine was stripped; the air was ticked off before."""
    missing = given(visit.form, "missing_piece")
    strip.stripped(visit.desk, state.number, visit.press(), air_is_off=True, missing_piece=missing)


PAGE = StagePage(
    key="strip",
    template="strip.html",
    look=lambda _, state: strip.look(state),
    commands={"stripped": _stripped},
    remembers_ticks=False,
)
ROUTES = routes_of(PAGE)
