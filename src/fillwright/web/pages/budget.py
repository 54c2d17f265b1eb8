"""The error budget of a dose: ranked bars, and what a narrower claim would take."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from fillwright.errors import BadInput
from fillwright.jobs.setup import dose_budget as dosebudget
from fillwright.records.charts import RankedBar, RankedBars
from fillwright.records.fold import JobState
from fillwright.web.forms import figure
from fillwright.web.stage import StagePage, routes_of
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _claim(visit: Visit) -> Decimal | None:
    """Return the claim that is asked about."""
    if not visit.query.get("claim"):
        return None
    return figure(visit.query, "claim", "The claim", above=0, most=100)


def _look(visit: Visit, state: JobState) -> dosebudget.BudgetLook:
    """Return the budget; a claim that cannot be is told beside its field."""
    try:
        claim = _claim(visit)
    except BadInput:
        claim = None
    return dosebudget.look(visit.desk, state, claim)


def _figures(visit: Visit, state: JobState, seen: dosebudget.BudgetLook) -> Mapping[str, object]:
    """Return the ranked bars, and what is wrong with the claim that was typed."""
    _ = state
    wrong = None
    try:
        _claim(visit)
    except BadInput as error:
        wrong = error
    bars = tuple(
        RankedBar(name=f"{place}. {row.name}", size_share=row.variance_share, words=row.words)
        for place, row in enumerate((r for r in seen.rows if r.variance_share > 0.0), start=1)
    )
    return {
        "bars": RankedBars(title="Where the spread of a dose comes from", bars=bars),
        "wrong_claim": wrong,
    }


PAGE = StagePage(
    key="budget",
    template="budget.html",
    look=_look,
    figures=_figures,  # type: ignore[arg-type]  # its own look
)
ROUTES = routes_of(PAGE)
