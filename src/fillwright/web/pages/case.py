"""Cases beside the jobs: a search on a machine without a job, and cases that owners send."""

from __future__ import annotations

from collections.abc import Callable
from typing import IO, Any
from urllib.parse import quote

from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.fault.case_photos import shown_photos
from fillwright.jobs.field import case as fieldcase
from fillwright.jobs.field import case_sent as casesent
from fillwright.jobs.field import register as field
from fillwright.records.answer_file import ANSWER_FORM, answer_from_bytes, answer_to_bytes
from fillwright.records.case_file import MOST_BYTES, MOST_WITH_PHOTOS, case_to_bytes
from fillwright.records.fieldfold import CaseState
from fillwright.web.forms import given, is_ticked
from fillwright.web.numbers import count_of
from fillwright.web.printed import paper_size
from fillwright.web.render import plain_page, render
from fillwright.web.upload import file_route
from fillwright.web.visit import Visit, go_to, route

__all__ = ["ROUTES"]

_BENCH = "bench:"


def _list(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw the list of cases, with the way to take one in."""
    cases = field.cases_of_field(visit.desk)
    return render(
        visit,
        "cases.html",
        status=422 if error else 200,
        open_cases=[case for case in cases if case.is_open],
        closed=[case for case in reversed(cases) if not case.is_open][:30],
        title=fieldcase.title,
        machines=_register_picks(visit),
        most_kb=MOST_BYTES // 1000,
        most_mb=MOST_WITH_PHOTOS // 1_000_000,
        error=error,
    )


def _register_picks(visit: Visit) -> list[tuple[str, str]]:
    """Return the machines of the register to pick from."""
    found = field.register(visit.desk).machines.items()
    return [(str(number), f"{number}: {machine.name}") for number, machine in found]


def _take(visit: Visit, data: bytes, name: str) -> Response:
    """Take in what was sent: a case is kept and opened, an answer is shown."""
    try:
        if ANSWER_FORM.encode() in data[:MOST_BYTES]:
            return _answered(visit, data)
        machine = count_of(given(visit.form, "machine")) or 0
        number = casesent.receive(visit.desk, data, name, machine, visit.press())
    except BadInput as error:
        return _list(visit, error=error)
    except (Conflict, StoreFull) as error:
        return _list(visit, error=BadInput(str(error), field="store", code="not-available"))
    return go_to(f"/case/{number}")


def _answered(visit: Visit, data: bytes) -> Response:
    """Show an answer that a technician sent, and the way to the check that it names."""
    sent = answer_from_bytes(data)
    book = visit.desk.faults.book
    home = ""
    if visit.desk.book.job(sent.job) is not None:
        home = f"/job/{quote(sent.job, safe='')}/fault"
    elif count_of(sent.job.removeprefix("case ")) in {
        case.number for case in field.cases_of_field(visit.desk) if case.begun is not None
    }:
        home = f"/case/{count_of(sent.job.removeprefix('case '))}"
    return render(
        visit,
        "caseanswer.html",
        sent=sent,
        check=book.checks.get(sent.check),
        repair=book.repairs.get(sent.repair),
        home=home,
    )


def _file(visit: Visit, stream: IO[bytes], name: str) -> Response:
    """Take in a file that was chosen; more than its most is never read."""
    data = stream.read(MOST_WITH_PHOTOS + 1)
    if not data:
        message = "Choose the case file first; it ends in .json."
        return _list(visit, error=BadInput(message, field="file", given="", code="missing"))
    return _take(visit, data, name)


def _paste(visit: Visit) -> Response:
    """Take in the text of a file that was pasted."""
    text = visit.form.get("text", "")
    return _take(visit, text.encode("utf-8", errors="surrogatepass"), "pasted")


def _new(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Ask which machine, and what is seen."""
    desk = visit.desk
    bench = [(f"{_BENCH}{name}", f"{name}, of this bench") for name in desk.book.site().machines]
    return render(
        visit,
        "fault.html",
        status=422 if error else 200,
        whose=None,
        home="/fault",
        named="a machine without a job",
        book=visit.desk.faults.book,
        cautions=fieldcase.cautions(None),
        picked="",
        picks=[("", "Pick one"), *_register_picks(visit), *bench],
        picked_machine=visit.query.get("machine", ""),
        back="/case",
        last=None,
        error=error,
    )


def _begin(visit: Visit) -> Response:
    """Begin a search without a job."""
    form = visit.form
    picked = given(form, "machine")
    try:
        number = fieldcase.begin(
            visit.desk,
            fieldcase.Begun(
                machine=0 if picked.startswith(_BENCH) else count_of(picked) or 0,
                bench_machine=picked.removeprefix(_BENCH),
                sign=given(form, "sign"),
                findings=_seen(visit),
                is_flammable=is_ticked(form, "is_flammable"),
            ),
            visit.press(),
        )
    except BadInput as error:
        return _new(visit, error=error)
    except (Conflict, StoreFull) as error:
        return _new(visit, error=BadInput(str(error), field="store", code="not-available"))
    return go_to(f"/case/{number}")


def _seen(visit: Visit) -> tuple[str, ...]:
    """Return the findings that were ticked."""
    return tuple(n.removeprefix("seen_") for n in visit.form if n.startswith("seen_"))


def _case(visit: Visit) -> CaseState:
    """Return the case in the address."""
    return field.case_of(visit.desk, count_of(visit.params.get("case", "")) or 0)


def _show(visit: Visit, *, error: BadInput | None = None, status: int = 200) -> Response:
    """Draw a case: one's own search as the Fault page does, one that was sent with its answer."""
    try:
        case = _case(visit)
    except BadInput as problem:
        return plain_page(visit, status=404, headline="No such case.", words=problem.message)
    asked = visit.query.get("check", visit.form.get("asked", ""))
    walks = "walk" in visit.query or visit.form.get("asked") == "walk"
    look = fieldcase.look(visit.desk, case, asked=asked, walks=walks)
    shared: dict[str, Any] = {
        "status": status,
        "whose": case,
        "home": f"/case/{case.number}",
        "named": f"{fieldcase.title(case)}, case {case.number}",
        "book": visit.desk.faults.book,
        "cautions": fieldcase.cautions(case),
        "back": "/case",
        "look": look,
        "error": error,
    }
    if case.begun is None or not case.is_open or look is None:
        answer = case.sent is not None and bool(case.replies)
        return render(
            visit,
            "case.html",
            case=case,
            done=fieldcase.done(visit.desk, case),
            machine=field.register(visit.desk).machines.get(case.machine),
            asked=asked,
            answer=_answer_words(visit, case.number) if answer else "",
            photos=() if case.sent is None else shown_photos(visit.desk, case.sent),
            **shared,
        )
    if "again" in visit.query:
        return render(visit, "fault.html", picked="", last=case.search, **shared)
    return render(
        visit, "faultstep.html", asked="walk" if "walk" in visit.query else asked, **shared
    )


def _again(visit: Visit, number: int) -> None:
    """Go on with another sign."""
    sign = given(visit.form, "sign")
    fieldcase.sign_again(visit.desk, number, sign, _seen(visit), visit.press())


def _answer(visit: Visit, number: int) -> None:
    """Keep the answer to a check or a repair."""
    form = visit.form
    key, said = given(form, "key"), given(form, "said")
    case = _case(visit)
    look = fieldcase.look(visit.desk, case, asked=key)
    if case.begun is not None and look is not None and said not in {"cannot", "not-possible"}:
        for place in range(1, len(look.step.needs) + 1):
            if not form.get(f"need_{place}"):
                message = "Look first, then tick each line above the step."
                raise BadInput(message, field="tick", given="", allowed="ticked", code="missing")
    if key in visit.desk.faults.book.repairs:
        fieldcase.tried(visit.desk, number, key, said, visit.press())
    else:
        finding = given(form, "finding")
        fieldcase.answer(visit.desk, number, key, finding, said, visit.press())


def _walk(visit: Visit, number: int) -> None:
    """Keep a walk round the machine."""
    checks = [name for name in given(visit.form, "checks").split(",") if name]
    seen = [name for name in checks if visit.form.get(f"wrong_{name}")]
    fieldcase.walked(visit.desk, number, checks, seen, visit.press())


def _close(visit: Visit, number: int) -> None:
    """Hand over, or leave the search."""
    outcome, words = given(visit.form, "outcome"), visit.form.get("words", "")
    fieldcase.close(visit.desk, number, outcome, words, visit.press())


def _reply(visit: Visit, number: int) -> None:
    """Keep the answer to the owner."""
    asked, words = given(visit.form, "do"), given(visit.form, "words")
    casesent.reply(visit.desk, number, asked, words, visit.press())


def _end(visit: Visit, number: int) -> None:
    """Close a case that was sent."""
    came_to, words = given(visit.form, "came_to"), given(visit.form, "how")
    casesent.end(visit.desk, number, came_to, words, visit.press())


def _press(visit: Visit, what: Callable[[Visit, int], None]) -> Response:
    """Do what a button says and show the case again, or say why not."""
    number = count_of(visit.params.get("case", "")) or 0
    try:
        what(visit, number)
    except BadInput as error:
        return _show(visit, error=error, status=422)
    except (Conflict, StoreFull) as error:
        told = BadInput(str(error), field="store", code="not-available")
        return _show(visit, error=told, status=507 if isinstance(error, StoreFull) else 409)
    return go_to(f"/case/{number}")


def _gives(
    make: Callable[[Visit, int], bytes | str], kind: str, name: str
) -> Callable[[Visit], Response]:
    """Return what answers with a paper or a file of a case."""

    def answering(visit: Visit) -> Response:
        number = count_of(visit.params.get("case", "")) or 0
        try:
            body = make(visit, number)
        except BadInput as error:
            return plain_page(visit, status=404, headline="Not there yet.", words=error.message)
        if isinstance(body, str):
            return PlainTextResponse(body)
        way = "inline" if kind == "application/pdf" else "attachment"
        headers = {"content-disposition": f'{way}; filename="{name.format(number)}"'}
        return Response(body, media_type=kind, headers=headers)

    return answering


def _sheet(visit: Visit, number: int) -> bytes:
    """Return the call sheet of a case."""
    from fillwright.report import pdf  # noqa: PLC0415  the printer is loaded when it is used

    sheet = casesent.sheet(visit.desk, number)
    return pdf.print_sheet(sheet, paper=paper_size(visit), way=visit.way)


def _case_json(visit: Visit, number: int) -> bytes:
    """Return a case as a file."""
    return case_to_bytes(casesent.as_sent(visit.desk, field.case_of(visit.desk, number)))


def _answer_json(visit: Visit, number: int) -> bytes:
    """Return the answer as a file."""
    return answer_to_bytes(casesent.answer_file(visit.desk, number))


def _answer_words(visit: Visit, number: int) -> str:
    """Return the answer as text."""
    answer = casesent.answer_file(visit.desk, number)
    return casesent.answer_text(answer, visit.desk.faults.book)


def _posts(path: str, what: Callable[[Visit, int], None]) -> Route:
    """Return the route of one button."""
    return route(path, lambda visit: _press(visit, what), method="POST", needs_person=True)


ROUTES: list[Route] = [
    route("/fault", _new, needs_person=True),
    route("/fault", _begin, method="POST", needs_person=True),
    route("/case", _list, needs_person=True),
    route("/case", _paste, method="POST", needs_person=True),
    file_route("/case/file", _file),
    route("/case/{case}", _show, needs_person=True),
    _posts("/case/{case}", _again),
    _posts("/case/{case}/answer", _answer),
    _posts("/case/{case}/walk", _walk),
    _posts("/case/{case}/close", _close),
    _posts("/case/{case}/reply", _reply),
    _posts("/case/{case}/end", _end),
    route("/case/{case}/sheet.pdf", _gives(_sheet, "application/pdf", "call-sheet-case-{}.pdf")),
    route("/case/{case}/case.json", _gives(_case_json, "application/json", "case-{}.json")),
    route("/case/{case}/answer.json", _gives(_answer_json, "application/json", "answer-{}.json")),
    route("/case/{case}/answer.txt", _gives(_answer_words, "text/plain", "answer-{}.txt")),
]
