"""What every stage page has in common: look, press, and an answer where something is wrong."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Protocol

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, FillwrightError, StoreFull
from fillwright.jobs.act import Act
from fillwright.jobs.desk import find_job
from fillwright.jobs.run.weigh import undo, weigh
from fillwright.records.capture import Capture
from fillwright.records.codec import new_id
from fillwright.records.entries import Purpose
from fillwright.records.fold import JobState
from fillwright.web.forms import figure, given, is_ticked, whole_or_none
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Form, Visit, go_to, route

__all__ = ["Command", "Look", "StagePage", "routes_of", "take_weight"]


class Look(Protocol):
    """What a page shows; each stage has its own, all have the act."""

    @property
    def act(self) -> Act:
        """Return the order of the page."""
        ...


Command = Callable[[Visit, JobState], str | None]
"""Does what a button says; returns the address to go to, or None for the page itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StagePage:
    """One page of a job.

    Parameters
    ----------
    key : str
        Last part of its address.
    template : str
        How it is drawn.
    look : callable
        What it shows, from `jobs`.
    figures : callable
        Charts and figures drawn beside what `jobs` says.
    commands : mapping of str to Command
        What its buttons do.
    weighs : str
        Purpose of a weight that lands here; empty where none is weighed.
    remembers_ticks : bool
        True where a caution is ticked once a shift, False where it is asked each time.
    """

    key: str
    template: str
    look: Callable[[Visit, JobState], Look]
    figures: Callable[[Visit, JobState, Look], Mapping[str, object]] = lambda *_: {}
    commands: Mapping[str, Command] = field(default_factory=dict)
    weighs: Purpose | None = None
    remembers_ticks: bool = True


def routes_of(page: StagePage) -> list[Route]:
    """Return the two addresses of a page: to look, and to press."""
    base = f"/job/{{number}}/{page.key}"
    return [
        route(base, lambda visit: _show(page, visit), needs_person=True),
        route(
            base + "/{what}", lambda visit: _press(page, visit), method="POST", needs_person=True
        ),
    ]


def take_weight(visit: Visit, purpose: Purpose, *, set_aside: str = "") -> None:
    """Keep the weight that was sent from a page.

    Raises
    ------
    BadInput
        If it is no weight, or cannot be one of this job.
    """
    form: Form = visit.form
    if set_aside and not given(form, "weight"):
        # What was spilled before it could be weighed is kept all the same, as nothing.
        form = {**form, "weight": "0"}
    source = given(form, "source")
    capture = Capture(
        weighing_id=given(form, "weighing_id") or new_id(visit.desk.clock.now()),
        value=figure(form, "weight", "The weight"),
        unit=given(form, "unit") or "g",
        container=whole_or_none(form, "container", "The number on the scale"),
        filled_to=whole_or_none(form, "filled_to", "The last one filled"),
        set_aside=set_aside,
        source=source if source in ("scale", "keys", "simulated") else "typed",  # type: ignore[arg-type]
    )
    # Two people may weigh at once and both weights are kept: only other presses are refused.
    press = visit.press()
    weigh(visit.desk, visit.number, capture, type(press)(person=press.person), purpose=purpose)


def _show(
    page: StagePage, visit: Visit, *, status: int = 200, error: BadInput | None = None
) -> Response:
    """Draw the page as the job stands."""
    try:
        with visit.desk.book.lock:
            state = find_job(visit.desk, visit.number)
            seen = page.look(visit, state)
            machine = visit.bench.machine_of(state.number)
            if visit.bench.link is not None and machine is None:
                visit.bench.link.fit(state.known)
            if machine is not None and error is None:
                machine.expect(state, seen.act)
            return render(
                visit,
                page.template,
                status=status,
                state=state,
                error=error,
                look=seen,
                act=seen.act,
                asked=_asked(visit, seen.act) if error else "",
                base=f"/job/{visit.number}/{page.key}",
                fresh_id=new_id(visit.desk.clock.now()),
                weighs=page.weighs,
                tare=_tare(state),
                ticked=_tick_key(page, visit, seen.act) in visit.ticks,
                **page.figures(visit, state, seen),
            )
    except BadInput as problem:
        if problem.field != "job":
            raise
        words = f"{problem.message}"
        return plain_page(visit, status=404, headline="No such job.", words=words)


def _tare(state: JobState) -> Decimal | None:
    """Return the average empty that is taken off a gross reading, where it is known."""
    if state.known.tare_way != "mean":
        return None
    return state.tare.tare_g if state.tare is not None else state.known.container.tare_g


def _press(page: StagePage, visit: Visit) -> Response:
    """Do what a button says, and go on; or show the page again with what is wrong."""
    what = visit.params.get("what", "")
    try:
        with visit.desk.book.lock:
            state = find_job(visit.desk, visit.number)
            _ask_for_ticks(page, visit, state, what)
            address = _do(page, visit, state, what)
    except BadInput as error:
        return _show(page, visit, status=422, error=error)
    except (Conflict, StoreFull) as error:
        status = 507 if isinstance(error, StoreFull) else 409
        return _show(page, visit, status=status, error=_in_words(error, what))
    return go_to(address or f"/job/{visit.number}/{page.key}")


def _do(page: StagePage, visit: Visit, state: JobState, what: str) -> str | None:
    """Do what a button says; return where to go, or None for the page itself."""
    command = page.commands.get(what)
    if command is not None:
        return command(visit, state)
    if what == "weigh" and page.weighs is not None:
        take_weight(visit, page.weighs)
    elif what == "undo":
        undo(visit.desk, visit.number, visit.press())
    else:
        message = f"There is no button {what!r} on this page. Open it again."
        raise BadInput(message, field="what", given=what, code="choice")
    return None


def _asked(visit: Visit, act: Act) -> str:
    """Return which of the other buttons was pressed, so that its question stays open."""
    pressed = visit.params.get("what", "")
    return "" if pressed in (act.what, "weigh", "undo") else pressed


def _in_words(error: FillwrightError, what: str) -> BadInput:
    """Return a refusal of the journal as the page says it."""
    if isinstance(error, StoreFull):
        subject = "The weight" if what in ("weigh", "spoilt") else "This"
        message = f"{subject} was not kept: {error}"
        return BadInput(message, field="store", code="not-available")
    return BadInput(str(error), field="job-moved", code="inconsistent")


def _tick_key(page: StagePage, visit: Visit, act: Act) -> tuple[str, str, str, str]:
    """Return what a tick is remembered by: job, page, person, and the very words."""
    words = "|".join(caution.words for caution in act.cautions if caution.must_tick)
    return (visit.number, page.key, visit.person, words)


def _ask_for_ticks(page: StagePage, visit: Visit, state: JobState, what: str) -> None:
    """Refuse the main button until every caution that asks for it is ticked."""
    act = page.look(visit, state).act
    wanted = [caution for caution in act.cautions if caution.must_tick]
    key = _tick_key(page, visit, act)
    if not wanted or what != act.what or key in visit.ticks:
        return
    bare = [
        caution
        for place, caution in enumerate(wanted, start=1)
        if not is_ticked(visit.form, f"tick_{place}")
    ]
    if bare:
        message = f"Look first, then tick: {bare[0].words}"
        raise BadInput(message, field="tick", allowed="a tick", code="missing")
    if page.remembers_ticks:
        visit.ticks.add(key)
