"""How often to weigh: one in so many, from the spread, the price of a weighing and the risk."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import quote

from fillwright.errors import BadInput
from fillwright.jobs.run import how_often as howoften
from fillwright.records.fold import JobState
from fillwright.web.forms import figure_or_none, whole, whole_or_none
from fillwright.web.stage import StagePage, routes_of
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _costs(visit: Visit) -> howoften.Costs:
    """Return what was said of weighing and of jars at risk; what was not stays usual."""
    usual = howoften.Costs()
    weighing = figure_or_none(visit.query, "weighing", "What a weighing costs", above=0)
    between = whole_or_none(visit.query, "between", "How often it happens")
    return howoften.Costs(
        weighing_containers=usual.weighing_containers if weighing is None else weighing,
        between_containers=usual.between_containers if between is None else between,
        most_containers=whole_or_none(visit.query, "most", "What can be weighed again"),
    )


def _look(visit: Visit, state: JobState) -> howoften.OftenLook:
    """Return the plan; what cannot be is told beside its field, and the usual one shown."""
    try:
        return howoften.look(visit.desk, state, _costs(visit))
    except BadInput:
        return howoften.look(visit.desk, state)


def _figures(visit: Visit, state: JobState, seen: howoften.OftenLook) -> Mapping[str, object]:
    """Return what is wrong with what was typed."""
    _ = seen
    try:
        howoften.look(visit.desk, state, _costs(visit))
    except BadInput as error:
        field = "most" if error.field == "most_to_look_at" else error.field
        words = (
            "Weighing every one lets more than that pass before such a shift is found. Give a "
            "higher number."
            if field == "most" and error.code == "inconsistent"
            else error.message
        )
        return {"wrong": BadInput(words, field=field, given=error.given)}
    return {"wrong": None}


def _set(visit: Visit, state: JobState) -> str:
    """Weigh one in so many from now on, and go back to the run."""
    every = whole(visit.form, "every", "One in so many", least=1)
    howoften.weigh_one_in(visit.desk, state.number, every, visit.press())
    return f"/job/{quote(state.number)}/run"


PAGE = StagePage(
    key="often",
    template="often.html",
    look=_look,
    figures=_figures,  # type: ignore[arg-type]  # its own look
    commands={"set": _set},
)
ROUTES = routes_of(PAGE)
