"""Data in: a file is chosen, its columns are said, the whole of it is looked over, then kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import IO, Final

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, FillwrightError
from fillwright.jobs.desk import Desk, Press
from fillwright.jobs.files import take_in as takein
from fillwright.jobs.files.take_look import Looked, look_over, purposes_for
from fillwright.jobs.files.take_things import LookedThings, keep_things, look_over_things
from fillwright.jobs.opening import next_number
from fillwright.records.figures import Mark
from fillwright.records.filefields import FIELDS, HOLDS, Choice, chosen_before, guess, unit_of
from fillwright.records.filerows import LONGEST_FILE, FileRows
from fillwright.records.filetimes import DateOrder
from fillwright.records.job_file import is_job_file
from fillwright.records.units import GRAMS_PER
from fillwright.web.forms import choice as one_of
from fillwright.web.forms import figure_or_none, given, whole
from fillwright.web.pages.jobfile import look_at_sent
from fillwright.web.render import plain_page, render
from fillwright.web.upload import file_route
from fillwright.web.visit import Visit, go_to, route
from fillwright.wiring.intake import SentFile

__all__ = ["ROUTES"]

_MARKS: Final = {"point": Mark.POINT, "comma": Mark.COMMA}
_SHOWN_ROWS: Final = 6
_SHOWN_CELL: Final = 40
_LAST_HEADING: Final = 10_000


def _ask(visit: Visit, *, error: BadInput | None = None, status: int = 422) -> Response:
    """Ask for a file."""
    return render(
        visit,
        "takein.html",
        status=status if error else 200,
        error=error,
        sent=None,
        most_mb=LONGEST_FILE // 1_000_000,
    )


def _send(visit: Visit, data: IO[bytes], name: str) -> Response:
    """Take a file that was sent, and look at its headings."""
    if not name:
        message = "Choose a file first."
        return _ask(visit, error=BadInput(message, field="file", code="missing"))
    try:
        holds = one_of(visit.form, "holds", "what the file holds", HOLDS)
        sent = visit.bench.intake.take(data, name=name, holds=holds)  # type: ignore[arg-type]
        try:
            with sent.path.open("rb") as begun:
                is_job = is_job_file(begun.read(100))
            if is_job:
                look_at_sent(visit, sent)
                return go_to(f"/data/job/{sent.key}")
            _read(visit.desk, sent)
        except BadInput:
            visit.bench.intake.drop(sent.key)
            raise
    except BadInput as error:
        return _ask(visit, error=error)
    return go_to(f"/data/in/{sent.key}")


def _read(desk: Desk, sent: SentFile, *, sheet: str = "", heading_row: int | None = None) -> None:
    """Look at the headings of a file and guess which column holds what."""
    sent.rows = FileRows(sent.path, name=sent.name, sheet=sheet, heading_row=heading_row)
    kept = desk.book.site().columns.get((sent.holds, *sent.rows.headings))
    sent.choice = guess(sent.rows, sent.holds) if kept is None else chosen_before(kept, sent.rows)


def _show(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Show how far a file is."""
    sent = visit.bench.intake.find(visit.params["key"])
    if sent is None or sent.rows is None or sent.choice is None:
        message = "That file is not here any more. Choose it again."
        return _ask(visit, error=BadInput(message, field="file", code="missing"), status=404)
    rows = sent.rows
    jobs = [number for number in reversed(visit.desk.book.numbers()) if number]
    if error is None and sent.state in ("choosing", "looked"):
        error = sent.problem
    return render(
        visit,
        "takein.html",
        status=422 if error is not None and visit.form else 200,
        error=error,
        sent=sent,
        rows=rows,
        choice=sent.choice,
        fields=FIELDS[sent.holds],
        examples=_examples(rows),
        preview=_cells(rows),
        said_unit=_said_unit(rows, sent.choice),
        unit_choices=[(unit, unit) for unit in GRAMS_PER],
        jobs=_open_jobs(visit, jobs),
        likes=_likes(visit, jobs),
        new_number=next_number(visit.desk),
        is_known=(sent.holds, *rows.headings) in visit.desk.book.site().columns,
        most_mb=LONGEST_FILE // 1_000_000,
    )


def _again(visit: Visit) -> Response:
    """Lead a page that is fetched anew after a slip back to its own address."""
    return go_to(f"/data/in/{visit.params['key']}")


def _press(visit: Visit) -> Response:
    """Do what a button says."""
    key, what = visit.params["key"], visit.params["what"]
    sent = visit.bench.intake.find(key)
    if sent is None or sent.rows is None or what == "drop":
        visit.bench.intake.drop(key)
        return go_to("/data/in")
    try:
        if what == "sheet":
            sheet = given(visit.form, "sheet")
            row = given(visit.form, "heading_row")
            number = (
                whole(visit.form, "heading_row", "The row of the headings", most=_LAST_HEADING)
                if row
                else None
            )
            _read(visit.desk, sent, sheet=sheet, heading_row=number)
        elif what == "columns":
            sent.state = "choosing" if sent.state == "looked" else sent.state
        elif what == "look" and sent.state in ("choosing", "looked"):
            _look(visit, sent)
        elif what == "keep" and sent.state == "looked":
            _keep(visit, sent)
    except BadInput as error:
        return _show(visit, error=error)
    return go_to(f"/data/in/{key}")


def _look(visit: Visit, sent: SentFile) -> None:
    """Look the whole file over by the columns that were said."""
    assert sent.rows is not None  # noqa: S101  asked before
    rows, desk = sent.rows, visit.desk
    sent.choice = _choice(visit.form, rows, sent)
    old = sent.looked
    if isinstance(old, Looked):
        old.spool.close()
    sent.looked = None
    choice = sent.choice
    if sent.holds != "weighings":

        def look_things() -> None:
            sent.looked = look_over_things(desk, rows, choice)

        sent.work("looking", "looked", "choosing", look_things)
        return
    where = given(visit.form, "job")
    sent.like = given(visit.form, "like") if where == "new" else ""
    if where == "new" and not sent.like:
        message = "Choose the job whose facts the new one gets."
        raise BadInput(message, field="like", code="missing")
    if not where:
        message = "Choose the job that the weights are for."
        raise BadInput(message, field="job", code="missing")
    if sent.has_opened and where == "new":
        where, sent.like = sent.number, ""
    sent.number = next_number(desk) if where == "new" else where
    allowed = purposes_for(desk, sent.number)
    wants_now = given(visit.form, "counts") == "now"
    if wants_now and len(allowed) == 1:
        message = f"Job {sent.number} waits for no weight now. Take them as weighed elsewhere."
        raise BadInput(message, field="counts", code="inconsistent")
    purpose = allowed[-1] if wants_now else allowed[0]
    sent.purpose = purpose

    def look() -> None:
        sent.looked = look_over(
            desk, rows, choice, sent.number, purpose=purpose, like=sent.like, progress=sent.tell
        )

    sent.work("looking", "looked", "choosing", look)


def _keep(visit: Visit, sent: SentFile) -> None:
    """Keep the good rows, in a thread of its own."""
    looked, desk = sent.looked, visit.desk
    press = Press(person=visit.person)
    headings = () if sent.rows is None else sent.rows.headings

    def keep() -> None:
        if isinstance(looked, LookedThings):
            sent.taken = keep_things(desk, looked, press)
        elif isinstance(looked, Looked):
            if looked.like and not sent.has_opened:
                # Refused where somebody else took the number since: nothing goes astray.
                takein.open_like(desk, looked, press)
                sent.has_opened = True
            sent.taken = takein.take_in(desk, looked, press, progress=sent.tell)
        if isinstance(looked, Looked | LookedThings):
            takein.remember_columns(desk, looked.choice, headings, press)

    sent.work("keeping", "kept", "looked", keep)


def _choice(form: Mapping[str, str], rows: FileRows, sent: SentFile) -> Choice:
    """Return which column holds what, as it was said on the page."""
    columns: dict[str, int] = {}
    for one in FIELDS[sent.holds]:
        if given(form, f"at_{one.key}"):
            columns[one.key] = whole(form, f"at_{one.key}", one.name, most=len(rows.headings) - 1)
    order = given(form, "order")
    said = Choice(
        holds=sent.holds,
        columns=columns,
        unit=given(form, "unit") or "g",
        basis=given(form, "basis"),
        decimal=_MARKS.get(given(form, "decimal")),
        order=DateOrder(order) if order in [one.value for one in DateOrder] else None,
        tare_g=figure_or_none(form, "tare_g", "The empty", above=0),
    )
    if said.basis == "net":
        left = {key: at for key, at in columns.items() if key != "tare"}
        said = replace(said, columns=left, tare_g=None)
    return said


def _examples(rows: FileRows) -> tuple[str, ...]:
    """Return the first thing that stands in each column."""
    found = []
    for at in range(len(rows.headings)):
        cells = (row.cells[at] for row in rows.preview(50) if at < len(row.cells))
        found.append(next((cell for cell in cells if cell), "")[:_SHOWN_CELL])
    return tuple(found)


def _cells(rows: FileRows) -> tuple[tuple[int, tuple[str, ...]], ...]:
    """Return the first rows as they stand, each with its number."""
    width = len(rows.headings)
    return tuple(
        (
            row.number,
            tuple((*(cell[:_SHOWN_CELL] for cell in row.cells), *[""] * width)[:width]),
        )
        for row in rows.preview(_SHOWN_ROWS)
    )


def _said_unit(rows: FileRows, choice: Choice) -> str:
    """Return the unit that the heading of the weights names."""
    at = choice.columns.get("weight")
    return "" if at is None else unit_of(rows, at)


def _open_jobs(visit: Visit, numbers: list[str]) -> list[tuple[str, str]]:
    """Return the jobs that still take weights, with their words."""
    found = []
    for number in numbers:
        state = visit.desk.book.job(number)
        if state is not None and state.released is None:
            found.append((number, f"{number}: {state.known.product.name}, {state.known.lot_code}"))
    return found


def _likes(visit: Visit, numbers: list[str]) -> list[tuple[str, str]]:
    """Return all jobs, with their words."""
    found = []
    for number in numbers:
        state = visit.desk.book.job(number)
        if state is not None:
            facts = state.known
            words = f"{facts.product.name}, {facts.label_words}, {facts.machine.name}"
            found.append((number, f"{number}: {words}"))
    return found


def _strike(visit: Visit) -> Response:
    """Strike out all that came by one file, with a reason."""
    file_id, reason = given(visit.form, "file"), given(visit.form, "reason")
    try:
        takein.strike_file(visit.desk, visit.number, file_id, reason, visit.press())
    except FillwrightError as error:
        words = error.message if isinstance(error, BadInput) else str(error)
        return plain_page(visit, status=422, headline="Nothing was struck out.", words=words)
    return go_to(f"/job/{visit.number}")


ROUTES: list[Route] = [
    route("/data/in", _ask, needs_person=True),
    file_route("/data/in", _send),
    route("/data/in/{key}", _show, needs_person=True),
    route("/data/in/{key}/{what}", _again),
    route("/data/in/{key}/{what}", _press, method="POST", needs_person=True),
    route("/job/{number}/file", _strike, method="POST", needs_person=True),
]
