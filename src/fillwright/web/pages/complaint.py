"""Complaints: what the record says of a container, and the complaint kept, answered, closed."""

from __future__ import annotations

from typing import Final
from urllib.parse import parse_qsl, urlencode

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.trace import complaints
from fillwright.jobs.trace.complaint import Told, complaint
from fillwright.jobs.trace.complaint_facts import ABOUT, About
from fillwright.jobs.trace.complaint_look import (
    FINDINGS,
    complaint_of,
    complaint_words,
    complaints_on_record,
)
from fillwright.jobs.trace.complaint_which import near_lots
from fillwright.records.localtime import local
from fillwright.records.nearest import plain_code
from fillwright.web.forms import figure_or_none, given, whole_or_none
from fillwright.web.numbers import count_of
from fillwright.web.printed import printed
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Form, Visit, go_to, route

__all__ = ["ROUTES"]

_OF_WHICH: Final = ("container", "tray", "place")
_OF_CONTAINER: Final = (*_OF_WHICH, "found_g")


def _look_up(visit: Visit) -> Response:
    """Draw what the record says of a container."""
    return _drawn(visit, visit.query)


def _drawn(
    visit: Visit, asked: Form, *, error: BadInput | None = None, is_another: bool = False
) -> Response:
    """Draw the fields, and what the record says where a code is there.

    `is_another` tells that one was to be kept which nobody had looked up.
    """
    sheet = None
    if given(asked, "code"):
        try:
            sheet = complaint(visit.desk, _told(asked))
        except BadInput as refused:
            error = error or refused
    if is_another and sheet is not None:
        message = (
            "You changed which one it is, so nothing was kept. Read what the record says of this "
            "one, then keep it."
        )
        error = BadInput(message, field="store", code="inconsistent")
    return render(
        visit,
        "onejar.html",
        status=422 if error else 200,
        sheet=sheet,
        error=error,
        of_container=_OF_CONTAINER,
        asked=dict(asked),
        near=_near(visit, asked) if error and error.field == "code" else (),
        address=_address(asked),
        abouts=tuple(ABOUT.items()),
        today=local(visit.desk.clock.now(), visit.desk.clock.zone()).date().isoformat(),
    )


def _take(visit: Visit) -> Response:
    """Keep a complaint, or look another container up."""
    form = visit.form
    telling = complaints.Telling(
        words=given(form, "told_words"),
        told_on=given(form, "told_on"),
        customer=given(form, "customer"),
    )
    if given(form, "look"):
        # What was typed of the customer's words stands on the page and in no address.
        is_told = telling.words or telling.customer
        return _drawn(visit, form) if is_told else go_to(f"/complaint?{_address(form)}")
    if "shown" in form and _which(form) != _which(dict(parse_qsl(given(form, "shown")))):
        return _drawn(visit, form, is_another=True)
    try:
        number = complaints.take(visit.desk, _told(form), telling, visit.press())
    except BadInput as error:
        return _drawn(visit, form, error=error)
    except (Conflict, StoreFull) as error:
        return _drawn(visit, form, error=_not_kept(error))
    return go_to(f"/complaint/{number}")


def _near(visit: Visit, asked: Form) -> list[tuple[str, str]]:
    """Return the nearest lot codes, each with the address that looks it up."""
    near = near_lots(visit.desk, given(asked, "code"))
    return [(code, f"/complaint?{_address({**asked, 'code': code})}") for code in near]


def _address(form: Form) -> str:
    """Return what was typed about the container as it stands in an address."""
    asked = {name: given(form, name) for name in ("code", "about", *_OF_CONTAINER)}
    return urlencode({name: typed for name, typed in asked.items() if typed})


def _which(form: Form) -> tuple[str, ...]:
    """Return which container of which lot was typed."""
    return (plain_code(given(form, "code")), *(given(form, name) for name in _OF_WHICH))


def _told(form: Form) -> Told:
    """Return what was typed about the container."""
    about = given(form, "about")
    kinds: dict[str, About] = {key: key for key in ABOUT}
    return Told(
        code=given(form, "code"),
        container=whole_or_none(form, "container", "The number"),
        tray=whole_or_none(form, "tray", "The tray"),
        place=whole_or_none(form, "place", "The place on the tray"),
        about=kinds.get(about, "short"),
        found_g=figure_or_none(form, "found_g", "What is left", above=0),
    )


def _list(visit: Visit) -> Response:
    """Draw the complaints on record, of one lot or of all."""
    desk, code = visit.desk, given(visit.query, "code")
    found = [
        one
        for one in complaints_on_record(desk)
        if not code or plain_code(one.taken.lot_code) == plain_code(code)
    ]
    words = {}
    for one in found:
        state = desk.book.job(one.taken.job)
        word = "container" if state is None else state.known.container.word
        words[one.number] = complaint_words(one, word)
    return render(visit, "complaints.html", rows=found, words=words, code=code)


def _show(visit: Visit, *, error: BadInput | None = None, what: str = "") -> Response:
    """Draw a complaint."""
    number = _number(visit)
    try:
        one = complaint_of(visit.desk, number)
        sheet = complaints.sheet_of(visit.desk, number)
    except BadInput as missing:
        return plain_page(visit, status=404, headline="No such complaint.", words=missing.message)
    return render(
        visit,
        "complaint.html",
        status=422 if error else 200,
        one=one,
        sheet=sheet,
        findings=tuple(FINDINGS.items()),
        found="" if one.answer is None else FINDINGS[one.answer.finding],
        error=error,
        what=what,
    )


def _press(visit: Visit) -> Response:
    """Answer a complaint, close it, or open it again."""
    desk, form, number, what = visit.desk, visit.form, _number(visit), visit.params["what"]
    try:
        match what:
            case "answer":
                finding, why = given(form, "finding"), given(form, "reason")
                complaints.answer(desk, number, finding, why, visit.press())
            case "close":
                complaints.close(desk, number, given(form, "done"), visit.press())
            case "reopen":
                complaints.reopen(desk, number, given(form, "reason"), visit.press())
            case _:
                words = "Open the complaint and go on from there."
                return plain_page(
                    visit, status=404, headline="There is no such page.", words=words
                )
    except BadInput as error:
        return _show(visit, error=error, what=what)
    except (Conflict, StoreFull) as error:
        return _show(visit, error=_not_kept(error), what=what)
    return go_to(f"/complaint/{number}")


def _not_kept(error: Exception) -> BadInput:
    """Return why nothing was kept, for the page."""
    return BadInput(str(error), field="store", code="not-available")


def _number(visit: Visit) -> int:
    """Return the number of the complaint in the address; 0 where it is none."""
    return count_of(visit.params.get("complaint", "")) or 0


def _looked_up_sheet(visit: Visit) -> Response:
    """Return the paper of a container that was looked up."""
    return printed(
        visit, lambda: complaint(visit.desk, _told(visit.query)), "complaint", status=422
    )


def _sheet(visit: Visit) -> Response:
    """Return the paper of a complaint on record."""
    number = _number(visit)
    return printed(
        visit,
        lambda: complaints.sheet_of(visit.desk, number),
        f"complaint-{number}",
        headline="No such complaint.",
        status=404,
    )


def _letter(visit: Visit) -> Response:
    """Return the letter of a complaint on record."""
    number = _number(visit)
    return printed(
        visit,
        lambda: complaints.letter_of(visit.desk, number),
        f"letter-{number}",
        headline="No such complaint.",
        status=404,
    )


ROUTES: list[Route] = [
    route("/complaint", _look_up),
    route("/complaint", _take, method="POST", needs_person=True),
    route("/complaint.pdf", _looked_up_sheet),
    route("/complaints", _list),
    route("/complaint/{complaint}", _show),
    route("/complaint/{complaint}/sheet.pdf", _sheet),
    route("/complaint/{complaint}/letter.pdf", _letter),
    route("/complaint/{complaint}/{what}", _press, method="POST", needs_person=True),
]
