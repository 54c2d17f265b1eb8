"""When the weighing scale is to be zeroed and checked again, in mid-run."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from fillwright.jobs.desk import Desk
from fillwright.jobs.words import plain
from fillwright.records.entries import ScaleLineKept
from fillwright.records.fold import JobState

__all__ = ["check_ask"]

_USUAL_MIN: Final = ScaleLineKept(port="").check_every_min


def check_ask(desk: Desk, state: JobState) -> str:
    """Return the order to zero and check the scale, or nothing while it is not due.

    Parameters
    ----------
    desk : Desk
        The clock, and how often the site asks.
    state : JobState
        The job; asked only while its run goes on.

    Returns
    -------
    str
        One or two sentences. A clock that was set back asks too, for nothing tells how long
        ago the last check was.
    """
    if state.run is None or state.run.finished is not None or state.released is not None:
        return ""
    line = desk.book.site().scale_line
    every_min = _USUAL_MIN if line is None else line.check_every_min
    weight = (
        f"Zero the bare pan, then weigh the {plain(state.known.scale.check_weight_g)} g weight."
    )
    if not state.checks:
        return f"The scale was not checked yet in this job. {weight}"
    at, last = state.checks[-1]
    if not last.passed:
        return f"The last check failed. {weight}"
    gone = desk.clock.now() - at
    if every_min and not timedelta(0) <= gone < timedelta(minutes=every_min):
        return f"Check of the scale is due, the last was at {at.astimezone():%H:%M}. {weight}"
    return ""
