"""``fillwright export``: what the journal holds, for a spreadsheet or for another program."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated, BinaryIO, Final

import typer

from fillwright.cli import files, terminal
from fillwright.cli.journal import Store, place_of
from fillwright.errors import BadInput

__all__ = ["export", "refuse_missing"]

_MANY: Final = {"row": "rows", "entry": "entries", "kind": "kinds of entries"}
_ENDINGS: Final = (".csv", ".xlsx")
_LINES: Final = (".jsonl", ".ndjson")


def export(
    what: Annotated[
        str,
        typer.Argument(
            metavar="WHAT",
            help="weighings, jobs, checks, service, complaints, held, register, "
            "visits, enquiries, trials, cases, journal, job or schema.",
        ),
    ],
    to: Annotated[
        Path,
        typer.Argument(
            metavar="FILE", help="Ends in .csv or .xlsx; .jsonl for journal, .json for schema."
        ),
    ],
    *,
    job: Annotated[
        str | None, typer.Option("--job", metavar="NUMBER", help="One job; all when left out.")
    ] = None,
    store: Store = None,
    demo: Annotated[bool, typer.Option("--demo", help="The journal of the demo.")] = False,
) -> None:
    """Write a table of the journal as CSV or a workbook, or the whole journal as JSON Lines.

    Amounts are exact decimals, times are ISO 8601 in UTC, units stand in the headers. A file
    that is there is replaced, never half-written.
    """
    if what == "schema":
        count, told = _schema(to), "kind"
    else:
        where = place_of(store, demo=demo)
        refuse_missing(where)
        if what == "job":
            _job(where, to, job)
            return
        if what == "journal":
            count, told = _journal(where, to, job), "entry"
        else:
            count, told = _table(where, what, to, job), "row"
    terminal.say(f"Wrote {count:,} {told if count == 1 else _MANY[told]} to {to}.")


def _table(where: str | Path, what: str, to: Path, job: str | None) -> int:
    """Write one table and return its number of rows."""
    from fillwright.jobs.files.tables import table_of  # noqa: PLC0415  loaded when asked
    from fillwright.report.spreadsheet import write_csv, write_workbook  # noqa: PLC0415
    from fillwright.wiring import open_bench  # noqa: PLC0415

    bench = open_bench(where)
    try:
        table = table_of(bench.desk, what, job)
        ending = to.suffix.lower()
        if ending not in _ENDINGS:
            raise _bad_ending(to, " or ".join(_ENDINGS))
        write = write_csv if ending == ".csv" else write_workbook
        return files.write_through(to, lambda stream: write(table, stream))
    finally:
        bench.close()


def _journal(where: str | Path, to: Path, job: str | None) -> int:
    """Write the entries as JSON Lines and return how many they were."""
    from fillwright.records.book import stream_of  # noqa: PLC0415  loaded when asked
    from fillwright.records.codec import entry_json  # noqa: PLC0415
    from fillwright.store.journal import open_journal  # noqa: PLC0415

    if to.suffix.lower() not in _LINES:
        raise _bad_ending(to, " or ".join(_LINES))
    with open_journal(where) as journal:
        if job is not None and not journal.count(stream_of(job)):
            message = f"There is no job {job} in {where}. `export jobs` lists the numbers."
            raise BadInput(message, field="--job", given=job, code="choice")

        def write(stream: BinaryIO) -> int:
            count = 0
            one = journal.everything() if job is None else journal.entries(stream_of(job))
            for entry in one:
                line = json.dumps(entry_json(entry), ensure_ascii=False, separators=(",", ":"))
                stream.write(line.encode("utf-8") + b"\n")
                count += 1
            return count

        return files.write_through(to, write)


def _job(where: str | Path, to: Path, job: str | None) -> None:
    """Write one job as one file."""
    from fillwright.jobs.files.job import job_lines  # noqa: PLC0415  loaded when asked
    from fillwright.wiring import open_bench  # noqa: PLC0415

    if job is None:
        message = "Say which job: --job NUMBER. `export jobs` lists the numbers."
        raise BadInput(message, field="--job", allowed="a job number", code="missing")
    if to.suffix.lower() not in _LINES:
        raise _bad_ending(to, " or ".join(_LINES))
    bench = open_bench(where)
    try:
        lines = job_lines(bench.desk, job)
        files.write_through(to, lambda stream: stream.writelines(lines))
    finally:
        bench.close()
    terminal.say(f"Wrote job {job} to {to}. `fillwright import {to}` opens it elsewhere.")


def _schema(to: Path) -> int:
    """Write the JSON Schema of the entries and return the number of kinds."""
    from fillwright.records.codec import entry_schema  # noqa: PLC0415  loaded when asked

    if to.suffix.lower() != ".json":
        raise _bad_ending(to, ".json")
    schema = entry_schema()
    files.write_whole(to, json.dumps(schema, indent=2, ensure_ascii=False).encode() + b"\n")
    return len(schema["allOf"])


def refuse_missing(where: str | Path) -> None:
    """Refuse to make a new, empty store where there is none to read."""
    if isinstance(where, Path) or "://" not in where:
        path = Path(where)
        if not path.exists():
            message = f"{path}: there is no journal there. Name it by --store, or use --demo."
            raise BadInput(message, field="--store", given=str(path), code="missing")


def _bad_ending(to: Path, allowed: str) -> BadInput:
    """Return the error for a file whose name does not say how to write it."""
    message = f"{to}: the name ends in {to.suffix or 'nothing'}; end it in {allowed}."
    return BadInput(message, field=str(to), given=to.suffix, allowed=allowed, code="choice")
