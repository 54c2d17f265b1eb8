"""Held containers: settled by weight or by what is said of them; Release waits for it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from fillwright.jobs.desk import refuse_stale
from fillwright.jobs.held import acts as settleacts
from fillwright.jobs.held import settle
from fillwright.jobs.held.orders import cautions_of, due_held
from fillwright.jobs.held.pick import held_on
from fillwright.jobs.held.relabel import lot_code_for, relabel
from fillwright.jobs.held.take_back import strike_settling, take_back
from fillwright.jobs.held.words import REASONS, reason_of
from fillwright.records.fold import JobState
from fillwright.records.spans import Span
from fillwright.web.forms import figure, figure_or_none, given, whole, whole_or_none
from fillwright.web.holding import hold
from fillwright.web.stage import Command, Look, StagePage, routes_of
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _which(visit: Visit, state: JobState) -> tuple[Span, ...]:
    """Return the held containers that the tray, the place and the count name."""
    return held_on(
        state,
        given(visit.form, "tray"),
        whole_or_none(visit.form, "place", "The place"),
        whole_or_none(visit.form, "count", "How many"),
    )


def _told(what: str, act: Callable[[Visit, JobState, tuple[Span, ...], str], object]) -> Command:
    """Return a command that settles what was named, with the reason that was given."""

    def do(visit: Visit, state: JobState) -> None:
        # Before anything else: another tablet may have settled what this one names.
        refuse_stale(visit.desk, state, visit.press())
        spans = _which(visit, state)
        act(visit, state, spans, reason_of(what, given(visit.form, "reason")))

    return do


def _settle(visit: Visit, state: JobState, spans: tuple[Span, ...], why: str) -> object:
    """Scrap them, or release them with a reason."""
    outcome = visit.params["what"]
    return settle.settle(
        visit.desk,
        state.number,
        spans,
        outcome,  # type: ignore[arg-type]  # one of the two that lead here
        why,
        visit.press(),
    )


def _top_up(visit: Visit, state: JobState, spans: tuple[Span, ...], why: str) -> object:
    """Say that they were topped up."""
    return settleacts.top_up(visit.desk, state.number, spans, why, visit.press())


def _empty(visit: Visit, state: JobState, spans: tuple[Span, ...], why: str) -> object:
    """Say that they were emptied, and how much came out."""
    into = visit.params["what"]
    back_g = figure_or_none(visit.form, "back_g", "What went back")
    return settleacts.empty_back(
        visit.desk,
        state.number,
        spans,
        into,  # type: ignore[arg-type]  # one of the two that lead here
        why,
        visit.press(),
        back_g=back_g,
    )


def _relabel(visit: Visit, state: JobState, spans: tuple[Span, ...], why: str) -> object:
    """Give them another label."""
    return relabel(
        visit.desk,
        state.number,
        spans,
        figure(visit.form, "nominal", "The new label"),
        why,
        visit.press(),
        rules=given(visit.form, "rules"),
        lot_code=given(visit.form, "lot_code"),
    )


def _take_back(visit: Visit, state: JobState) -> None:
    """Take back the last thing that was done here."""
    take_back(visit.desk, state.number, visit.press())


def _strike(visit: Visit, state: JobState) -> None:
    """Strike out one row of what was settled."""
    row = whole(visit.form, "row", "The row", least=1)
    reason = given(visit.form, "reason")
    strike_settling(visit.desk, state.number, row, reason, visit.press())


def _figures(visit: Visit, state: JobState, look: Look) -> Mapping[str, object]:
    """Return the reasons that stand ready, and why product may not go back."""
    _ = look
    due = due_held(state)
    here = () if due is None else (Span(due, due),)
    return {
        "reasons": REASONS,
        "bars": {
            into: settleacts.why_not_back(visit.desk, state, here, into) if here else ""
            for into in ("hopper", "drum")
        },
        "can_hold": state.filled_to > 0 and state.released is None,
        "handling": cautions_of(state),
        "rule_names": tuple(visit.desk.rule_sets),
        "next_code": lot_code_for(state),
    }


PAGE = StagePage(
    key="held",
    template="held.html",
    look=lambda visit, state: settle.look(visit.desk, state),
    figures=_figures,
    commands={
        "topped-up": _told("topped-up", _top_up),
        "hopper": _told("hopper", _empty),
        "drum": _told("drum", _empty),
        "scrapped": _told("scrapped", _settle),
        "relabelled": _told("relabelled", _relabel),
        "released-with-reason": _told("released-with-reason", _settle),
        "hold": hold,
        "take-back": _take_back,
        "strike": _strike,
    },
    weighs="held",
)
ROUTES = routes_of(PAGE)
