"""Prove: a number of shots fixed before the first, and one verdict after the last."""

from __future__ import annotations

from collections.abc import Mapping

from fillwright.jobs.charts import proof_chart
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.prove.kept import begin_check
from fillwright.jobs.prove.why import plot_of
from fillwright.jobs.run import stage as run
from fillwright.jobs.trim import stage as trim
from fillwright.records.charts import RankedBar, RankedBars
from fillwright.records.fold import JobState
from fillwright.web.forms import given
from fillwright.web.pages import runchanges
from fillwright.web.stage import StagePage, routes_of, take_weight
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _figures(visit: Visit, state: JobState, seen: prove.ProveLook) -> Mapping[str, object]:
    """Return the shots against the claim once the verdict is there, and the weight kept last."""
    last = next((w for w in reversed(state.proof_shots) if not w.struck), None)
    chart = None if seen.verdict is None else proof_chart(state)
    plot = None if state.proof is None or seen.kept_from else plot_of(state, state.proof)
    return {
        "proof": chart,
        "last": last,
        "budget": _budget(seen),
        "plot": plot,
        **runchanges.figures_of(visit, state),
    }


def _budget(seen: prove.ProveLook) -> RankedBars | None:
    """Return where the error comes from, the biggest part first."""
    if not seen.parts:
        return None
    bars = tuple(
        RankedBar(
            name=f"{place}. {part.name}", size_share=part.size_g, words=f"{part.size_g:.2g} g"
        )
        for place, part in enumerate(seen.parts, start=1)
    )
    return RankedBars(title="Where the error comes from", bars=bars)


def _begin(visit: Visit, state: JobState) -> None:
    """Fix the number of shots."""
    prove.begin(visit.desk, state.number, visit.press())


def _begin_check(visit: Visit, state: JobState) -> None:
    """Fix five shots against the kept proof."""
    begin_check(visit.desk, state.number, visit.press())


def _begin_looks(visit: Visit, state: JobState) -> None:
    """Fix looks at which the run may end."""
    prove.begin(visit.desk, state.number, visit.press(), looks=True)


def _again(visit: Visit, state: JobState) -> None:
    """Plan a new proving run."""
    prove.again(visit.desk, state.number, visit.press())


def _start_run(visit: Visit, state: JobState) -> str:
    """Start the run, with a reason where the claim is not proved."""
    reason = given(visit.form, "reason")
    run.start(visit.desk, state.number, visit.press(), without_proof=reason)
    return f"/job/{state.number}/run"


def _trim_again(visit: Visit, state: JobState) -> str:
    """Open the trim again."""
    trim.trim_again(visit.desk, state.number, given(visit.form, "reason"), visit.press())
    return f"/job/{state.number}/trim"


def _spoilt(visit: Visit, state: JobState) -> None:
    """Keep a shot that is set aside, with its reason."""
    _ = state
    take_weight(visit, "proof", set_aside=given(visit.form, "reason"))


PAGE = StagePage(
    key="prove",
    template="prove.html",
    look=lambda visit, state: prove.look(visit.desk, state),
    figures=_figures,  # type: ignore[arg-type]  # its own look
    commands={
        "begin": _begin,
        "begin-check": _begin_check,
        "begin-looks": _begin_looks,
        "again": _again,
        "start-run": _start_run,
        "trim-again": _trim_again,
        "spoilt": _spoilt,
        **runchanges.IN_PROVE,
    },
    weighs="proof",
)
ROUTES = routes_of(PAGE)
