"""Release: the sample, the lot test as rows, the signatures, and the papers."""

from __future__ import annotations

import secrets
from collections.abc import Mapping

from fillwright.jobs.charts import lot_chart
from fillwright.jobs.release import stage as release
from fillwright.jobs.release.keep_sample import keep_sample
from fillwright.records.entities import Person
from fillwright.records.fold import JobState
from fillwright.web.forms import given
from fillwright.web.stage import StagePage, routes_of
from fillwright.web.visit import Visit

__all__ = ["ROUTES"]


def _figures(visit: Visit, state: JobState, seen: release.ReleaseLook) -> Mapping[str, object]:
    """Return the sample against the limits once the lot is judged, and the last of it."""
    chart = None if seen.verdict is None else lot_chart(visit.desk, state)
    last = next(
        (w for w in reversed(state.weighings) if w.fact.purpose == "sample" and not w.struck), None
    )
    return {"lot": chart, "last": last}


def _draw(visit: Visit, state: JobState) -> None:
    """Draw the sample by chance."""
    release.draw(visit.desk, state.number, visit.press(), seed=secrets.randbits(48))


def _sign(visit: Visit, state: JobState) -> None:
    """Put a name to the lot."""
    initials = given(visit.form, "initials")
    known = visit.desk.book.site().people.get(initials)
    person = known or Person(initials=initials, name=given(visit.form, "name"))
    role = given(visit.form, "role")
    release.sign(
        visit.desk,
        state.number,
        "checked" if role == "checked" else "filled",
        person,
        visit.press(),
    )


def _release(visit: Visit, state: JobState) -> None:
    """Release the lot; what is kept of it is put aside first."""
    form, press = visit.form, visit.press()
    if given(form, "kept_place") or given(form, "kept_numbers"):
        numbers, place = given(form, "kept_numbers"), given(form, "kept_place")
        until = given(form, "kept_until")
        state = keep_sample(visit.desk, state.number, numbers, place, until, press)
        press = type(press)(person=press.person, seen=state.revision)
    release.release(visit.desk, state.number, press)


def _close(visit: Visit, state: JobState) -> None:
    """Close the lot without release."""
    release.close(visit.desk, state.number, given(visit.form, "reason"), visit.press())


PAGE = StagePage(
    key="release",
    template="release.html",
    look=lambda visit, state: release.look(visit.desk, state),
    figures=_figures,  # type: ignore[arg-type]  # its own look
    commands={"draw": _draw, "sign": _sign, "release": _release, "close": _close},
    weighs="sample",
)
ROUTES = routes_of(PAGE)
