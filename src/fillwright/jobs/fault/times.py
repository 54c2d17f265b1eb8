"""How long the steps of a search took, from when each was put on record."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from fillwright.knowledge.faults_types import FaultBook
from fillwright.records.faultcase import FaultCase

__all__ = ["minutes_taken"]

_S_PER_MIN: Final = 60.0
_LONGEST: Final = 4.0
"""A step that took longer than so many times what was expected was interrupted."""
_SHORTEST: Final = 0.1
"""One that was answered sooner was known before it was asked."""


def minutes_taken(book: FaultBook, case: FaultCase) -> dict[str, float]:
    """Return the minutes that checks and repairs of a search took.

    Parameters
    ----------
    book : FaultBook
        What each step is expected to take.
    case : FaultCase
        The search with the times of its entries.

    Returns
    -------
    dict of str to float
        Minutes by check or repair, from the entry before to its own last answer. Left out are
        looks of one walk, steps made more than once, and times that are no time of work.
    """
    steps: list[tuple[str, datetime]] = []
    entries = [(at, fact.check) for at, fact in case.answers if fact.was_possible]
    entries += [(at, fact.repair) for at, fact in case.repairs if fact.outcome != "not-possible"]
    together = {at for at, _ in entries if len({name for when, name in entries if when == at}) > 1}
    # An entry of every kind ends the time of the one before, whether or not it counts itself.
    for at, name in sorted(entries, key=lambda entry: entry[0]):
        if steps and steps[-1][0] == name and at not in together:
            steps[-1] = (name, at)
        else:
            steps.append((name, at))
    pauses = [at for at, fact in case.answers if not fact.was_possible]
    pauses += [at for at, fact in case.repairs if fact.outcome == "not-possible"]
    taken: dict[str, float] = {}
    before = case.at
    for name, at in steps:
        began = max([before, *(when for when in pauses if when <= at)])
        minutes = (at - began).total_seconds() / _S_PER_MIN
        before = at
        step = book.checks.get(name) or book.repairs.get(name)
        if step is None or at in together or [key for key, _ in steps].count(name) > 1:
            continue
        if _SHORTEST * step.minutes <= minutes <= _LONGEST * step.minutes:
            taken[name] = minutes
    return taken
