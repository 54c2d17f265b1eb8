"""A new job: pick what is kept or describe it, see the aim that is proposed, and open it."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.desk import find_job
from fillwright.jobs.match.flow_picture import flow_plot
from fillwright.jobs.match.product_flow import told_flow
from fillwright.jobs.opening import (
    Aim,
    change_facts,
    next_number,
    open_job,
    propose_aim,
    trays_for,
)
from fillwright.records.entities import JobFacts
from fillwright.web.facts import PARTS, form_of, read_facts
from fillwright.web.forms import given
from fillwright.web.pages.runchanges import tell_at_start
from fillwright.web.productfacts import choices_of_product
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Form, Visit, go_to, route

__all__ = ["ROUTES"]


def _show_new(visit: Visit) -> Response:
    """Draw the form of a new job, filled from the job that is repeated."""
    typed: Form = {}
    number = visit.query.get("repeat", "")
    if number:
        again = visit.desk.book.job(number)
        typed = {} if again is None else {**form_of(again.known), "lot_code": ""}
    return _draw(visit, typed)


def _show_facts(visit: Visit) -> Response:
    """Draw the form of a job that is there, with its facts."""
    state = visit.desk.book.job(visit.number)
    if state is None:
        return plain_page(
            visit,
            status=404,
            headline="No such job.",
            words=f"There is no job {visit.number}. Open the job list to see the numbers.",
        )
    return _draw(visit, form_of(state.known), number=visit.number)


def _press_new(visit: Visit) -> Response:
    """Propose the aim first; open the job when it has been seen."""
    desk = visit.desk
    try:
        number = next_number(desk)
        facts = read_facts(desk, visit.form, number)
        if given(visit.form, "what") != "open" or not given(visit.form, "aim_g"):
            return _draw(visit, visit.form, aim=propose_aim(desk, facts), proposed=facts)
        open_job(desk, facts, visit.press())
        tell_at_start(visit, number)
        _keep_all(visit, facts)
    except BadInput as error:
        return _draw(visit, visit.form, error=error, status=422)
    except (Conflict, StoreFull) as error:
        told = BadInput(str(error), field="store", code="not-available")
        status = 507 if isinstance(error, StoreFull) else 409
        return _draw(visit, visit.form, error=told, status=status)
    return go_to(f"/job/{number}/match")


def _press_facts(visit: Visit) -> Response:
    """Change the facts of a job."""
    desk = visit.desk
    try:
        old = find_job(desk, visit.number).known
        facts = read_facts(desk, visit.form, visit.number)
        change_facts(desk, visit.number, facts, given(visit.form, "reason"), visit.press())
        if facts.product != old.product:
            _keep_all(visit, facts)
    except BadInput as error:
        return _draw(visit, visit.form, number=visit.number, error=error, status=422)
    except (Conflict, StoreFull) as error:
        told = BadInput(str(error), field="store", code="not-available")
        status = 507 if isinstance(error, StoreFull) else 409
        return _draw(visit, visit.form, number=visit.number, error=told, status=status)
    return go_to(f"/job/{visit.number}/match")


def _keep_all(visit: Visit, facts: JobFacts) -> None:
    """Keep what was described for next time."""
    for thing in (facts.product, facts.container, facts.machine, facts.scale):
        keep_thing(visit.desk, thing, visit.press())


def _draw(
    visit: Visit,
    typed: Form,
    *,
    number: str = "",
    aim: Aim | None = None,
    proposed: JobFacts | None = None,
    error: BadInput | None = None,
    status: int = 200,
) -> Response:
    """Draw the form with what was typed."""
    site = visit.desk.book.site()
    state = visit.desk.book.job(number) if number else None
    shown = proposed or (state.known if state is not None and error is None else None)
    product = None if shown is None else shown.product
    filled = dict(typed)
    if aim is not None and not filled.get("aim_g"):
        filled["aim_g"] = f"{aim.aim_g:f}"
    return render(
        visit,
        "newjob.html",
        status=status,
        state=state,
        typed=filled,
        error=error,
        number=number,
        aim=aim,
        proposed=proposed,
        site=site,
        rule_sets=tuple(visit.desk.rule_sets.values()),
        lists=choices_of_product(),
        told=None if product is None else told_flow(product),
        plot=None if product is None else flow_plot(product),
        parts=range(1, PARTS + 1),
        tray_size=trays_for(420),
    )


ROUTES: list[Route] = [
    route("/jobs/new", _show_new, needs_person=True),
    route("/jobs/new", _press_new, method="POST", needs_person=True),
    route("/job/{number}/facts", _show_facts, needs_person=True),
    route("/job/{number}/facts", _press_facts, method="POST", needs_person=True),
]
