"""Run: the next weight, the wheel, what is held, and the row of containers in their trays."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from fillwright.jobs.charts import dose_chart
from fillwright.jobs.run import acts as runacts
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.every_jar import weigh_every_one
from fillwright.jobs.run.sign import RunSign, sign_of
from fillwright.jobs.run.watch import USUAL, WAYS
from fillwright.jobs.run.why import why_of_run
from fillwright.records.charts import DoseChart
from fillwright.records.fold import JobState
from fillwright.web.forms import figure, given, whole, whole_or_none
from fillwright.web.holding import hold
from fillwright.web.pages import runchanges
from fillwright.web.stage import StagePage, routes_of, take_weight
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]

_MOST_CHARTS: Final = 8
_CHARTS: Final[dict[str, DoseChart]] = {}
"""Dose charts by the hash of the last entry that they show."""


def _figures(visit: Visit, state: JobState, seen: run.RunLook) -> Mapping[str, object]:
    """Return the dose chart, what the weights look like, and what stands behind the orders."""
    if not seen.is_started:
        return {
            "doses": None,
            "sign": None,
            "why": None,
            "ways": WAYS,
            "usual": USUAL,
            "seen": "",
            **runchanges.figures_of(visit, state),
        }
    sign = None if seen.is_finished else sign_of(state)
    return {
        "doses": _doses(visit, state),
        "sign": sign,
        "why": None if seen.is_finished else why_of_run(state),
        "ways": (),
        "usual": USUAL,
        "seen": _seen(state, sign),
        **runchanges.figures_of(visit, state),
    }


def _doses(visit: Visit, state: JobState) -> DoseChart:
    """Return the dose chart, made once for all pages that show the same state."""
    chart = _CHARTS.get(state.last_hash)
    if chart is None:
        chart = _CHARTS[state.last_hash] = dose_chart(visit.desk, state)
        for old in list(_CHARTS)[:-_MOST_CHARTS]:
            _CHARTS.pop(old, None)
    return chart


def _weigh_all(visit: Visit, state: JobState) -> None:
    """Let every one of a small lot be weighed."""
    weigh_every_one(visit.desk, state.number, visit.press())


def _seen(state: JobState, sign: RunSign | None) -> str:
    """Return what is seen, as Fault has it; empty where nothing is."""
    pending = state.run.pending if state.run is not None else None
    if pending is not None and pending.outcome() == "jumps":
        return "jumps"
    return "" if sign is None else sign.sign


def _start(visit: Visit, state: JobState) -> None:
    """Start the run."""
    reason = given(visit.form, "reason")
    watch = given(visit.form, "watch") or USUAL
    lots = runchanges.told_at_start(visit, state)
    press = visit.press()
    run.start(visit.desk, state.number, press, without_proof=reason, watch=watch, lots=lots)


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
    # What is seen now: a stop for a fault begins the watch anew.
    seen = _seen(state, sign_of(state)) if reason == "fault" else ""
    run.pause(
        visit.desk,
        state.number,
        reason,  # type: ignore[arg-type]  # refused there when it is none of the three
        visit.press(),
        note=given(visit.form, "note"),
        filled_to=whole_or_none(visit.form, "last_filled", "The last one filled"),
    )
    if reason == "fault":
        sign = f"&sign={seen}" if seen else ""
        return f"/job/{state.number}/fault?back=/job/{state.number}/run{sign}"
    return None


def _check_scale(visit: Visit, state: JobState) -> None:
    """Keep a check of the weighing scale."""
    reading = figure(visit.form, "reading", "What the scale shows")
    runacts.check_scale(visit.desk, state.number, reading, visit.press())


def _hopper(visit: Visit, state: JobState) -> None:
    """Keep how high the product stands in the hopper."""
    level = figure(visit.form, "level", "The level in the hopper")
    runacts.read_hopper(visit.desk, state.number, level, visit.press())


def _strike(visit: Visit, state: JobState) -> None:
    """Strike the weight of a container out."""
    number = whole(visit.form, "struck", "The number", least=1)
    reason = given(visit.form, "reason")
    runacts.strike(visit.desk, state.number, number, reason, visit.press())


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
        "check-scale": _check_scale,
        "hopper": _hopper,
        "strike": _strike,
        "weigh-all": _weigh_all,
        "hold": hold,
        **runchanges.COMMANDS,
    },
    weighs="dose",
)
ROUTES = [*runchanges.ROUTES, *routes_of(PAGE)]
