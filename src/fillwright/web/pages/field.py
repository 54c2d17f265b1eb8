"""Machines in the field: the register, each machine with its seals, visits and open cases."""

from __future__ import annotations

from typing import Final

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.field import case as fieldcase
from fillwright.jobs.field import register as field
from fillwright.records.entries import FieldMachineKept, FieldVisited
from fillwright.records.localtime import local
from fillwright.web.forms import given, is_ticked
from fillwright.web.numbers import count_of
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Visit, go_to, route

__all__ = ["ROUTES"]

_LONGEST: Final = 400


def _list(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw the register, with the form for another machine."""
    lines = field.lines(visit.desk)
    return render(
        visit,
        "field.html",
        status=422 if error else 200,
        lines=[line for line in lines if not line.machine.line.is_retired],
        retired=[line for line in lines if line.machine.line.is_retired],
        profiles=tuple(visit.desk.book.site().machines),
        error=error,
    )


def _line(visit: Visit, number: int) -> FieldMachineKept:
    """Return the line of a machine as it was typed."""
    form = visit.form
    return FieldMachineKept(
        machine=number,
        serial=given(form, "serial")[:_LONGEST],
        owner=given(form, "owner")[:_LONGEST],
        configuration=" ".join(given(form, "configuration").split())[:_LONGEST],
        profile=given(form, "profile"),
        seals=field.seals_from(given(form, "seals")),
        is_retired=is_ticked(form, "is_retired"),
    )


def _add(visit: Visit) -> Response:
    """Put a machine on the register."""
    try:
        number = field.keep_machine(visit.desk, _line(visit, 0), visit.press())
    except BadInput as error:
        return _list(visit, error=error)
    except (Conflict, StoreFull) as error:
        return _list(visit, error=BadInput(str(error), field="store", code="not-available"))
    return go_to(f"/field/{number}")


def _number(visit: Visit) -> int:
    """Return the number in the address."""
    return count_of(visit.params.get("machine", "")) or 0


def _show(visit: Visit, *, error: BadInput | None = None, asked: str = "") -> Response:
    """Draw one machine."""
    desk, number = visit.desk, _number(visit)
    state = field.register(desk)
    if number not in state.machines:
        words = f"There is no machine {number} on the register. Pick one from the list."
        return plain_page(visit, status=404, headline="No such machine.", words=words)
    machine = state.machines[number]
    cases = [case for case in field.cases_of_field(desk) if case.machine == number]
    trials = [one for one in state.trials.values() if one[2].machine == number]
    return render(
        visit,
        "fieldmachine.html",
        status=422 if error else 200,
        number=number,
        machine=machine,
        seals_typed=field.seals_in_lines(machine.seals),
        open_cases=[case for case in cases if case.is_open],
        closed=[case for case in cases if not case.is_open],
        trials=trials,
        title=fieldcase.title,
        profiles=tuple(desk.book.site().machines),
        today=local(desk.clock.now(), desk.clock.zone()).date().isoformat(),
        is_described=machine.line.profile in desk.book.site().machines,
        error=error,
        asked=asked,
    )


def _change(visit: Visit) -> Response:
    """Change the line of a machine."""
    try:
        field.keep_machine(visit.desk, _line(visit, _number(visit)), visit.press())
    except BadInput as error:
        return _show(visit, error=error, asked="line")
    except (Conflict, StoreFull) as error:
        told = BadInput(str(error), field="store", code="not-available")
        return _show(visit, error=told, asked="line")
    return go_to(f"/field/{_number(visit)}")


def _visit(visit: Visit) -> Response:
    """Keep a visit."""
    form = visit.form
    try:
        fact = FieldVisited(
            machine=_number(visit),
            visited_on=given(form, "visited_on"),
            done=" ".join(given(form, "done").split())[:_LONGEST],
            seals=field.seals_from(given(form, "put_in"), "put_in"),
            next_on=given(form, "next_on"),
        )
        field.visit(visit.desk, fact, visit.press())
    except BadInput as error:
        return _show(visit, error=error, asked="visit")
    except (Conflict, StoreFull) as error:
        told = BadInput(str(error), field="store", code="not-available")
        return _show(visit, error=told, asked="visit")
    return go_to(f"/field/{_number(visit)}")


def _strike(visit: Visit) -> Response:
    """Strike a visit out."""
    number, form = _number(visit), visit.form
    try:
        field.strike_visit(
            visit.desk, number, given(form, "entry"), given(form, "reason")[:200], visit.press()
        )
    except BadInput as error:
        return _show(visit, error=error, asked="strike")
    except (Conflict, StoreFull) as error:
        told = BadInput(str(error), field="store", code="not-available")
        return _show(visit, error=told, asked="strike")
    return go_to(f"/field/{number}")


ROUTES: list[Route] = [
    route("/field", _list, needs_person=True),
    route("/field", _add, method="POST", needs_person=True),
    route("/field/{machine}", _show, needs_person=True),
    route("/field/{machine}", _change, method="POST", needs_person=True),
    route("/field/{machine}/visit", _visit, method="POST", needs_person=True),
    route("/field/{machine}/strike", _strike, method="POST", needs_person=True),
]
