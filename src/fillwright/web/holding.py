"""The question that holds containers by hand, on the Run page and on that of held ones."""

from __future__ import annotations

from fillwright.jobs.held.by_hand import hold_by_hand
from fillwright.jobs.held.words import BY_WEIGHT, reason_of
from fillwright.records.fold import JobState
from fillwright.web.forms import given, is_ticked, whole_or_none
from fillwright.web.visit import Visit

__all__ = ["hold"]


def hold(visit: Visit, state: JobState) -> None:
    """Hold what was named, with the reason that was typed or pressed."""
    form = visit.form
    reason = reason_of("held", given(form, "ready") or given(form, "reason"))
    hold_by_hand(
        visit.desk,
        state.number,
        reason,
        visit.press(),
        tray=given(form, "tray"),
        numbers=given(form, "numbers"),
        last_filled=whole_or_none(form, "last_filled", "The last one filled", least=0),
        weight_settles=reason == BY_WEIGHT or is_ticked(form, "weight_settles"),
    )
