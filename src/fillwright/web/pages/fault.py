"""Fault: what is seen, the next step, answers by one key, the call sheet and the case file."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.desk import find_job
from fillwright.jobs.fault import stage as fault
from fillwright.jobs.fault.case import call_sheet, case_file
from fillwright.jobs.fault.learn import cases_of, count_case, learned_of, use_records
from fillwright.jobs.fault.look import look_at, preset
from fillwright.records.case_file import case_to_bytes
from fillwright.web.forms import given
from fillwright.web.numbers import count_of
from fillwright.web.printed import printed
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Visit, go_to, route

__all__ = ["ROUTES"]


def _show(visit: Visit, *, error: BadInput | None = None, status: int = 200) -> Response:
    """Draw the page: the signs, or the next step of the open search."""
    desk = visit.desk
    with desk.book.lock:
        if desk.book.job(visit.number) is None:
            words = f"There is no job {visit.number}. Open the job list to see the numbers."
            return plain_page(visit, status=404, headline="No such job.", words=words)
        state = find_job(desk, visit.number)
        case = fault.open_case(state)
        asked = visit.query.get("check", visit.form.get("asked", ""))
        look = None
        if case is not None and "again" not in visit.query:
            walks = "walk" in visit.query or visit.form.get("asked") == "walk"
            look = look_at(desk, state, case, asked=asked, walks=walks)
        return render(
            visit,
            "fault.html" if look is None else "faultstep.html",
            status=status,
            state=state,
            whose=state,
            home=f"/job/{quote(visit.number, safe='')}/fault",
            named=f"{state.known.product.name}, job {state.number}",
            look=look,
            asked="walk" if "walk" in visit.query else asked,
            book=visit.desk.faults.book,
            cautions=fault.cautions(state),
            picked=preset(visit.desk.faults.book, state, visit.query.get("sign", "")),
            back=_back(visit),
            last=state.faults[-1] if state.faults else None,
            error=error,
        )


def _begin(visit: Visit) -> str | None:
    """Open a search, or keep a note alone."""
    sign = given(visit.form, "sign")
    found = visit.form.get("found", "")
    if found.strip():
        fault.note(visit.desk, visit.number, sign, found, visit.press())
        return _back(visit)
    more = [name.removeprefix("seen_") for name in visit.form if name.startswith("seen_")]
    fault.begin(visit.desk, visit.number, sign, more, visit.press())
    return None


def _need_ticks(visit: Visit, needs: int) -> None:
    """Refuse an answer to a step whose preconditions were not ticked on this very page."""
    for place in range(1, needs + 1):
        if not visit.form.get(f"need_{place}"):
            message = "Look first, then tick each line above the step."
            raise BadInput(message, field="tick", given="", allowed="ticked", code="missing")


def _answer(visit: Visit) -> str | None:
    """Keep the answer to a check or a repair."""
    desk, form = visit.desk, visit.form
    key, said = given(form, "key"), given(form, "said")
    state = find_job(desk, visit.number)
    case = fault.open_case(state)
    if case is not None and said not in {"cannot", "not-possible"}:
        look = look_at(desk, state, case, asked=key)
        _need_ticks(visit, len(look.step.needs))
    if key in visit.desk.faults.book.repairs:
        fault.tried(desk, visit.number, key, said, visit.press())
    else:
        fault.answer(desk, visit.number, key, given(form, "finding"), said, visit.press())
    return None


def _walk(visit: Visit) -> str | None:
    """Keep a walk round the machine."""
    checks = [name for name in given(visit.form, "checks").split(",") if name]
    seen = [name for name in checks if visit.form.get(f"wrong_{name}")]
    fault.walked(visit.desk, visit.number, checks, seen, visit.press())
    return None


def _close(visit: Visit) -> str | None:
    """Hand over, or leave the search."""
    outcome = given(visit.form, "outcome")
    fault.close(visit.desk, visit.number, outcome, visit.form.get("words", ""), visit.press())
    return None if outcome == "handed-over" else _back(visit)


def _press(visit: Visit, what: Callable[[Visit], str | None]) -> Response:
    """Do what a button says and show the page again, or say why not."""
    try:
        with visit.desk.book.lock:
            to = what(visit)
    except BadInput as error:
        if visit.desk.book.job(visit.number) is None:
            return _show(visit)
        return _show(visit, error=error, status=422)
    except (Conflict, StoreFull) as error:
        told = BadInput(str(error), field="store", code="not-available")
        return _show(visit, error=told, status=507 if isinstance(error, StoreFull) else 409)
    return go_to(to or f"/job/{visit.number}/fault?back={_back(visit)}")


def _back(visit: Visit) -> str:
    """Return the page where it began, in this job only."""
    home = f"/job/{visit.number}"
    back = visit.form.get("back") or visit.query.get("back", home)
    return back if back == home or back.startswith(home + "/") else home


def _sheet(visit: Visit) -> Response:
    """Return the call sheet as a PDF."""
    return printed(
        visit,
        lambda: call_sheet(visit.desk, visit.number),
        f"call-sheet-{visit.number}",
        headline="No call sheet yet.",
        status=404,
    )


def _case(visit: Visit) -> Response:
    """Return the case file."""
    try:
        sent = case_file(visit.desk, visit.number)
    except BadInput as error:
        return plain_page(visit, status=404, headline="No case yet.", words=error.message)
    headers = {"content-disposition": f'attachment; filename="case-{visit.number}.json"'}
    return Response(case_to_bytes(sent), media_type="application/json", headers=headers)


def _records(visit: Visit, *, error: BadInput | None = None, status: int = 200) -> Response:
    """Show what closed cases have taught, beside what was shipped."""
    book = visit.desk.faults.book
    cases = cases_of(visit.desk)
    learned = learned_of(book, cases)
    return render(
        visit,
        "faultrecords.html",
        status=status,
        book=book,
        cases=cases,
        learned=learned,
        uses=visit.desk.book.site().uses_fault_records,
        error=error,
    )


def _set_records(visit: Visit) -> Response:
    """Switch between learned and shipped figures, or leave a case out."""
    try:
        if "uses" in visit.form:
            use_records(visit.desk, visit.press(), uses=visit.form["uses"] == "yes")
        else:
            job, _, number = given(visit.form, "case").partition("/")
            counts = visit.form.get("counts") == "yes"
            case = count_of(number) or 0
            reason = visit.form.get("reason", "")
            press = visit.press()
            count_case(visit.desk, press, job=job, case=case, counts=counts, reason=reason)
    except BadInput as error:
        return _records(visit, error=error, status=422)
    return go_to("/faults")


def _posts(path: str, what: Callable[[Visit], str | None]) -> Route:
    """Return the route of one button."""
    return route(path, lambda visit: _press(visit, what), method="POST", needs_person=True)


ROUTES: list[Route] = [
    route("/job/{number}/fault", _show, needs_person=True),
    _posts("/job/{number}/fault", _begin),
    _posts("/job/{number}/fault/answer", _answer),
    _posts("/job/{number}/fault/walk", _walk),
    _posts("/job/{number}/fault/close", _close),
    route("/job/{number}/fault/sheet.pdf", _sheet),
    route("/job/{number}/fault/case.json", _case),
    route("/faults", _records, needs_person=True),
    route("/faults", _set_records, method="POST", needs_person=True),
]
