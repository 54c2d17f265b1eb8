"""``fillwright import``: weights, products and containers out of a spreadsheet."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from fillwright.cli import terminal
from fillwright.cli.export import refuse_missing
from fillwright.cli.files import missing_file
from fillwright.cli.journal import Store, place_of
from fillwright.cli.readings import DecimalMark, DecimalOption, exact
from fillwright.cli.units import follow
from fillwright.errors import BadInput

if TYPE_CHECKING:
    from fillwright.jobs.desk import Desk, Press
    from fillwright.records.filecells import Refusal
    from fillwright.records.filefields import Choice, Holds
    from fillwright.records.filerows import FileRows

__all__ = ["take_in"]

_HOLDS: Final = ("weighings", "products", "containers")
_SHOWN: Final = 20
_MOST_G: Final = 1_000_000


def take_in(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="CSV or an .xlsx workbook; or a job file.")
    ],
    *,
    job: Annotated[
        str | None, typer.Option("--job", metavar="NUMBER", help="The job of the weights.")
    ] = None,
    like: Annotated[
        str | None,
        typer.Option("--like", metavar="NUMBER", help="A job of their own, with its facts."),
    ] = None,
    holds: Annotated[
        str, typer.Option("--holds", metavar="WHAT", help="weighings, products or containers.")
    ] = "weighings",
    purpose: Annotated[
        str,
        typer.Option("--purpose", metavar="WHAT", help="elsewhere, or what the job waits for."),
    ] = "elsewhere",
    column: Annotated[
        list[str] | None,
        typer.Option("--column", metavar="FIELD=HEADING", help="Which column holds what."),
    ] = None,
    net: Annotated[
        bool | None, typer.Option("--net/--gross", help="Whether the container is in them.")
    ] = None,
    tare: Annotated[
        str | None, typer.Option("--tare", metavar="G", help="One empty for all gross weights.")
    ] = None,
    unit: Annotated[
        str | None, typer.Option("--unit", metavar="UNIT", help="Where no heading names it.")
    ] = None,
    decimal: DecimalOption = None,
    dates: Annotated[
        str | None, typer.Option("--dates", metavar="FIRST", help="day, month or year first.")
    ] = None,
    sheet: Annotated[
        str, typer.Option("--sheet", metavar="NAME", help="Of a workbook; the first shown.")
    ] = "",
    heading_row: Annotated[
        int | None,
        typer.Option("--heading-row", metavar="ROW", min=0, help="0 where there are none."),
    ] = None,
    person: Annotated[
        str, typer.Option("--person", metavar="INITIALS", help="Who takes it in.")
    ] = "",
    look: Annotated[
        bool, typer.Option("--look", help="Say what would come; keep nothing.")
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Keep the good rows without asking.")] = False,
    number: Annotated[
        str | None,
        typer.Option("--number", metavar="NUMBER", help="Number that a job file gets here."),
    ] = None,
    store: Store = None,
    demo: Annotated[bool, typer.Option("--demo", help="The journal of the demo.")] = False,
) -> None:
    """Take weights, products or containers out of a spreadsheet, or a job that was sent.

    The whole file is looked over first; every row that cannot be used is named. The same file
    again adds nothing.
    """
    from fillwright.jobs.desk import Press  # noqa: PLC0415  loaded when asked
    from fillwright.records.filerows import FileRows  # noqa: PLC0415
    from fillwright.records.job_file import is_job_file  # noqa: PLC0415
    from fillwright.wiring import open_bench  # noqa: PLC0415

    if holds not in _HOLDS:
        allowed = ", ".join(_HOLDS)
        message = f"--holds is {holds!r}; give one of {allowed}."
        raise BadInput(message, field="--holds", given=holds, allowed=allowed, code="choice")
    if not file.is_file():
        raise missing_file(file)
    where = place_of(store, demo=demo)
    told = _Told(press=Press(person=person), is_look=look, is_yes=yes)
    with file.open("rb") as begun:
        is_job = is_job_file(begun.read(100))
    if is_job:
        _job(where, file, number, told)
        return
    refuse_missing(where)
    rows = FileRows(file, name=file.name, sheet=sheet, heading_row=heading_row)
    bench = open_bench(where)
    try:
        follow(bench.desk.book.site())
        given = {
            "columns": _columns(rows, holds, column or []),
            "basis": None if net is None else "net" if net else "gross",
            "tare_g": None
            if tare is None
            else exact(tare, "--tare", above=0, most=_MOST_G, unit="g"),
            "unit": unit,
            "decimal": decimal,
            "order": dates,
        }
        choice = _choice(bench.desk, rows, holds, given)  # type: ignore[arg-type]
        if holds != "weighings":
            _things(bench.desk, rows, choice, told)
        else:
            _weights(bench.desk, rows, choice, told, job=job, like=like, purpose=purpose)
    finally:
        bench.close()


class _Told:
    """What a person said beforehand, and the asking of what was not said."""

    def __init__(self, *, press: Press, is_look: bool, is_yes: bool) -> None:
        self.press = press
        self.is_look = is_look
        self._is_yes = is_yes

    def agrees(self, question: str, *, must_ask: bool) -> bool:
        """Return whether to go on; asks at a terminal, and refuses where nobody can answer."""
        if self.is_look:
            return False
        if not must_ask or self._is_yes:
            return True
        if sys.stdin is not None and sys.stdin.isatty():
            return typer.confirm(question, err=True)
        message = f"{question} Nothing was kept: give --yes to say so."
        raise BadInput(message, field="--yes", allowed="--yes", code="missing")


class _Progress:
    """Shows at a terminal how far it is."""

    def __init__(self, what: str) -> None:
        self._what = what
        self._is_shown = False

    def __call__(self, share: float, rows: int) -> None:
        """Tell how far it is, from 0 to 1, and how many rows are done."""
        if sys.stderr is None or not sys.stderr.isatty():
            return
        width = 24
        full = round(share * width)
        bar = "#" * full + "." * (width - full)
        sys.stderr.write(f"\r{self._what} [{bar}] {share:4.0%}  {rows:,} rows ")
        self._is_shown = True
        if share >= 1:
            sys.stderr.write("\n")
        sys.stderr.flush()


def _job(where: str | Path, file: Path, number: str | None, told: _Told) -> None:
    """Look at a job that was sent, say what it is, and open it."""
    from fillwright.jobs.files.job import look_at_job, open_brought  # noqa: PLC0415  when asked
    from fillwright.wiring import open_bench  # noqa: PLC0415

    bench = open_bench(where)
    try:
        follow(bench.desk.book.site())
        with file.open("rb") as sent:
            looked = look_at_job(bench.desk, sent)
        facts, header = looked.facts, looked.file.header
        terminal.say(
            f"Job {header.job} of {header.bench}: {facts.product.name}, {facts.nominal:f} "
            f"{facts.unit}, lot {facts.lot_code}; {header.entries:,} entries, "
            f"{looked.weighings:,} weights. The chain is whole."
        )
        if looked.photos_words:
            terminal.say(f"Photos: {looked.photos_words}.")
        if looked.here_as:
            terminal.say(f"It is here already, as job {looked.here_as}. Nothing was added.")
            return
        if looked.is_taken and number is None and not told.is_look:
            message = (
                f"Job {header.job} is another job here, and stays. Give --number, such as "
                f"{looked.number}. Nothing was kept."
            )
            raise BadInput(message, field="--number", given=header.job, code="inconsistent")
        if not told.agrees("Open it here?", must_ask=False):
            terminal.say("Nothing was kept.")
            return
        with file.open("rb") as sent:
            state = open_brought(bench.desk, looked, number or header.job, told.press, file=sent)
        terminal.say(f"Opened as job {state.number}, from elsewhere.")
    finally:
        bench.close()


def _columns(rows: FileRows, holds: str, given: Sequence[str]) -> dict[str, int]:
    """Return the columns that were named on the command line."""
    from fillwright.records.filefields import FIELDS  # noqa: PLC0415  loaded when asked

    keys = [one.key for one in FIELDS[holds]]  # type: ignore[index]
    found: dict[str, int] = {}
    for text in given:
        key, _, heading = text.rpartition("=")
        key = key or keys[0]
        fits = [at for at, one in enumerate(rows.headings) if one.casefold() == heading.casefold()]
        if key not in keys:
            message = f"--column {text}: there is no field {key!r}; there are {', '.join(keys)}."
            raise BadInput(
                message, field="--column", given=text, allowed=", ".join(keys), code="choice"
            )
        if heading and len(fits) != 1:
            there = ", ".join(rows.headings)
            many = "more than one column is" if fits else "no column is"
            message = f"--column {text}: {many} headed {heading!r}; there are {there}."
            raise BadInput(message, field="--column", given=text, allowed=there, code="choice")
        found[key] = fits[0] if heading else -1
    return found


def _choice(desk: Desk, rows: FileRows, holds: Holds, given: Mapping[str, object]) -> Choice:
    """Return which column holds what: as said, else as before, else as the headings read."""
    from fillwright.records.figures import Mark  # noqa: PLC0415  loaded when asked
    from fillwright.records.filefields import chosen_before, guess  # noqa: PLC0415
    from fillwright.records.filetimes import DateOrder  # noqa: PLC0415

    kept = desk.book.site().columns.get((holds, *rows.headings))
    choice = guess(rows, holds) if kept is None else chosen_before(kept, rows)
    named: Mapping[str, int] = given["columns"]  # type: ignore[assignment]
    columns = {**choice.columns, **named}
    changes: dict[str, object] = {"columns": {k: at for k, at in columns.items() if at >= 0}}
    if "weight" in named:
        choice = replace(choice, decimal=guess(rows, holds).decimal)
    for key in ("basis", "tare_g", "unit"):
        if given[key] is not None:
            changes[key] = given[key]
    if given["decimal"] is not None:
        is_comma = given["decimal"] is DecimalMark.COMMA
        changes["decimal"] = Mark.COMMA if is_comma else Mark.POINT
    if given["order"] is not None:
        orders = [one.value for one in DateOrder]
        if given["order"] not in orders:
            message = f"--dates is {given['order']!r}; give day, month or year."
            raise BadInput(message, field="--dates", given=given["order"], code="choice")
        changes["order"] = DateOrder(given["order"])
    return replace(choice, **changes)  # type: ignore[arg-type]


def _weights(
    desk: Desk,
    rows: FileRows,
    choice: Choice,
    told: _Told,
    *,
    job: str | None,
    like: str | None,
    purpose: str,
) -> None:
    """Look a file of weights over, say what it brings, and keep it."""
    from fillwright.jobs.files import take_in as takein  # noqa: PLC0415  loaded when asked
    from fillwright.jobs.files.take_look import look_over, purposes_for  # noqa: PLC0415
    from fillwright.jobs.opening import next_number  # noqa: PLC0415  loaded when asked

    if (job is None) == (like is None):
        message = (
            "Say which job the weights are for: --job NUMBER, or --like NUMBER for a new one."
        )
        raise BadInput(message, field="--job", allowed="--job or --like", code="missing")
    number = next_number(desk) if job is None else job
    allowed = purposes_for(desk, number)
    if purpose not in allowed:
        message = f"--purpose is {purpose!r}; job {number} takes {' or '.join(allowed)} now."
        raise BadInput(
            message, field="--purpose", given=purpose, allowed=", ".join(allowed), code="choice"
        )
    looked = look_over(
        desk,
        rows,
        choice,
        number,
        purpose=purpose,
        like=like or "",
        progress=_Progress("Looking over"),
    )
    with looked.spool:
        fact = looked.fact
        terminal.say(f"{fact.name}: {fact.how}")
        if rows.hidden:
            terminal.say(f"Hidden sheets are passed over: {rows.hidden}.")
        own = f" new, with the facts of {like}" if like else ""
        seen = (
            ""
            if looked.mean_g is None
            else (f": mean {looked.mean_g:.6g} g net, from {looked.least_g} to {looked.most_g} g")
        )
        terminal.say(f"{fact.good:,} weights ({purpose}) for job {number}{own}{seen}.")
        _say_refused(looked.refusals, fact.refused)
        question = _question(fact.good, fact.refused, is_long=looked.is_in_pieces)
        if not told.agrees(question, must_ask=bool(fact.refused) or looked.is_in_pieces):
            terminal.say("Nothing was kept.")
            return
        if like:
            takein.open_like(desk, looked, told.press)
            terminal.say(f"Opened job {number}. Broken off, carry on with --job {number}.")
        done = takein.take_in(desk, looked, told.press, progress=_Progress("Keeping"))
        takein.remember_columns(desk, choice, rows.headings, told.press)
    before = f"; {done.again:,} were here before" if done.again else ""
    terminal.say(f"Kept {done.kept:,} weights in job {number}{before}.")


def _things(desk: Desk, rows: FileRows, choice: Choice, told: _Told) -> None:
    """Look a file of products or containers over, say what it brings, and keep it."""
    from fillwright.jobs.files.take_in import remember_columns  # noqa: PLC0415  loaded when asked
    from fillwright.jobs.files.take_things import keep_things, look_over_things  # noqa: PLC0415

    looked = look_over_things(desk, rows, choice)
    fact = looked.fact
    new = len(looked.things) - len(looked.changed)
    terminal.say(f"{fact.name}: {fact.how}")
    terminal.say(
        f"{fact.good:,} {fact.holds}: {new:,} new, {len(looked.changed):,} change, "
        f"{looked.same:,} kept just so."
    )
    for name in looked.changed[:_SHOWN]:
        terminal.say(f"  changes: {name}")
    _say_refused(looked.refusals, fact.refused)
    question = _question(fact.good, fact.refused, is_long=False)
    if looked.changed:
        question = f"{len(looked.changed):,} that are kept would change. {question}"
    if not told.agrees(question, must_ask=bool(fact.refused or looked.changed)):
        terminal.say("Nothing was kept.")
        return
    count = keep_things(desk, looked, told.press)
    remember_columns(desk, choice, rows.headings, told.press)
    terminal.say(f"Kept {count:,} {fact.holds}.")


def _question(good: int, refused: int, *, is_long: bool) -> str:
    """Return what a person is asked before anything is kept."""
    words = f"{refused:,} cannot be used. " if refused else ""
    if is_long:
        words += "The file goes in piece by piece; broken off, give it again to carry on. "
    return f"{words}Keep the {good:,} good rows?"


def _say_refused(refusals: Sequence[Refusal], count: int) -> None:
    """Name the rows that cannot be used."""
    if count:
        terminal.say(f"{count:,} {'row' if count == 1 else 'rows'} cannot be used:")
    for one in refusals[:_SHOWN]:
        allowed = f"; allowed: {one.allowed}" if one.allowed else ""
        terminal.say(terminal.wrapped(f"{one.words()}{allowed}.", lead="  ", indent="    "))
    if count > _SHOWN:
        terminal.say(f"  and {count - _SHOWN:,} more")
