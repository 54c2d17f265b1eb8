"""A lot under the sampling plan: every container is weighed, by one key, and why."""

from __future__ import annotations

from dataclasses import replace

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job
from fillwright.jobs.opening import change_facts
from fillwright.jobs.release.markets import small_lot_words
from fillwright.records.fold import JobState

__all__ = ["small_words", "weigh_every_one"]


def small_words(desk: Desk, state: JobState) -> str:
    """Return why every one of a small lot should be weighed; empty where that is so already."""
    facts = state.known
    is_over = state.run is not None and state.run.finished is not None
    return "" if facts.weigh_every == 1 or is_over else small_lot_words(desk, facts)


def weigh_every_one(desk: Desk, number: str, press: Press) -> None:
    """Let every container of a small lot be weighed in the run.

    Raises
    ------
    BadInput
        If the lot has a sampling plan, every one is weighed already, or the run is over.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        words = small_words(desk, state)
        if not words:
            message = "This lot has a plan, or every one of it is weighed already."
            raise BadInput(message, field="weigh_every", code="inconsistent")
        facts = replace(state.known, weigh_every=1)
        change_facts(desk, number, facts, words, press)
