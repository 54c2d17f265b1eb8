"""Practice: the course with its eight tasks, practice jobs, and the complaint to answer."""

from __future__ import annotations

from typing import Final
from urllib.parse import quote

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.desk import find_job
from fillwright.jobs.people import practice
from fillwright.jobs.people.course import TASKS, course_of, practised
from fillwright.jobs.people.course_paper import course_sheet
from fillwright.jobs.people.ways import Way, ways_of
from fillwright.jobs.traveller import STAGE_WORDS, next_act, stage_now
from fillwright.records.book import is_practice
from fillwright.records.fold import JobState
from fillwright.web.forms import given, is_ticked, whole
from fillwright.web.printed import printed
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Visit, go_to, route

__all__ = ["ROUTES"]

_NEAREST: Final = 16


def _show(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw the course as it stands for the person at work, and the practice jobs."""
    desk = visit.desk
    jobs = practised(desk)
    looks = course_of(jobs, visit.person)
    next_task = next((look.task for look in looks if not look.is_passed), None)
    ways = ways_of(desk, jobs, TASKS)
    lines = []
    for job in reversed(jobs):
        with desk.book.lock:
            lines.append(
                (
                    job.state,
                    STAGE_WORDS[stage_now(job.state)],
                    next_act(desk, job.state).order,
                    practice.complaint_of(job.state) is not None,
                )
            )
    people = desk.book.site().people
    return render(
        visit,
        "practice.html",
        status=422 if error else 200,
        looks=looks,
        passed=sum(look.is_passed for look in looks),
        next_task=next_task,
        ways={key: _address(way) for key, way in ways.items()},
        next_way=None if next_task is None else ways.get(next_task.key),
        lines=lines[:20],
        others=[
            (person, sum(look.is_passed for look in course_of(jobs, initials)))
            for initials, person in people.items()
            if initials != visit.person
        ],
        tasks=len(TASKS),
        patterns=practice.patterns(desk),
        is_simulated=visit.bench.demo is not None,
        can_simulate=visit.bench.practice is not None,
        error=error,
    )


def _address(way: Way) -> str:
    """Return the address of the page where a task is done next."""
    job = quote(way.job, safe="")
    return f"/practice/{job}/complaint" if way.page == "complaint" else f"/job/{job}/{way.page}"


def _open(visit: Visit) -> Response:
    """Open a practice job."""
    bench = visit.bench
    has_machine = bench.demo is not None or bench.practice is not None
    wants_water = bench.demo is None and given(visit.form, "on") == "water"
    on: practice.On = "simulated" if has_machine and not wants_water else "water"
    try:
        number = practice.open_practice(visit.desk, given(visit.form, "like"), on, visit.press())
    except BadInput as error:
        return _show(visit, error=error)
    except (Conflict, StoreFull) as error:
        return _show(visit, error=BadInput(str(error), field="store", code="not-available"))
    return go_to(f"/job/{number}")


def _complaint(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw the complaint of a practised run, with what is on record beside it."""
    number = visit.number
    try:
        with visit.desk.book.lock:
            state = find_job(visit.desk, number)
            asked = practice.complaint_of(state) if is_practice(number) else None
    except BadInput as problem:
        return plain_page(visit, status=404, headline="No such job.", words=problem.message)
    if asked is None:
        words = "Practise a run first: three containers weighed are enough."
        return plain_page(visit, status=404, headline="No complaint yet.", words=words)
    return render(
        visit,
        "practicecomplaint.html",
        status=422 if error else 200,
        state=state,
        asked=asked,
        rows=_rows(state, asked.container),
        weighed=len(_weighed(state)),
        tried=_tried(visit, state),
        error=error,
    )


def _rows(state: JobState, container: int) -> list[tuple[int, str, str]]:
    """Return the weights nearest to a container: number, net, and how it was judged then."""
    found = sorted(_weighed(state), key=lambda row: abs(row[0] - container))[:_NEAREST]
    return sorted(found)


def _weighed(state: JobState) -> list[tuple[int, str, str]]:
    """Return what was weighed in the run."""
    return [
        (one.fact.container, str(one.fact.net_g), one.fact.state)
        for one in state.weighings
        if one.counts and one.fact.purpose in ("proof", "dose") and one.fact.container
    ]


def _tried(visit: Visit, state: JobState) -> str:
    """Return how the person's latest answer came out; empty before any."""
    looks = course_of([one for one in practised(visit.desk) if one.state.number == state.number],
                      visit.person)  # fmt: skip
    latest = next(look.latest for look in looks if look.task.key == "complaint")
    if latest is None:
        return ""
    return "Right, as the record says." if latest.is_passed else f"Not yet. {latest.words}"


def _answer(visit: Visit) -> Response:
    """Keep the answer to the complaint."""
    form = visit.form
    try:
        practice.answer_complaint(
            visit.desk,
            visit.number,
            visit.press(),
            first=whole(form, "suspect_from", "The first suspect one", least=1),
            last=whole(form, "suspect_to", "The last suspect one", least=1),
            was_weighed=is_ticked(form, "was_weighed"),
            then=given(form, "then"),
        )
    except BadInput as error:
        return _complaint(visit, error=error)
    except (Conflict, StoreFull) as error:
        return _complaint(visit, error=BadInput(str(error), field="store", code="not-available"))
    return go_to(f"/practice/{quote(visit.number, safe='')}/complaint")


def _record(visit: Visit) -> Response:
    """Return the practice record of a person as a PDF; that of who is at work when left out."""
    person = visit.query.get("person", visit.person)
    return printed(
        visit,
        lambda: course_sheet(visit.desk, person),
        "practice-record",
        headline="No such name.",
        status=404,
    )


ROUTES: list[Route] = [
    route("/practice/record.pdf", _record, needs_person=True),
    route("/practice", _show, needs_person=True),
    route("/practice", _open, method="POST", needs_person=True),
    route("/practice/{number}/complaint", _complaint, needs_person=True),
    route("/practice/{number}/complaint", _answer, method="POST", needs_person=True),
]
