"""``fillwright case``: a search for a fault as one file, written here and opened elsewhere."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fillwright.cli import files, terminal
from fillwright.cli.journal import Store, place_of
from fillwright.errors import BadInput

__all__ = ["case"]


def case(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE", help="A case file that was sent; a new one with --job."),
    ],
    *,
    job: Annotated[
        str | None,
        typer.Option("--job", metavar="NUMBER", help="Write the latest search of this job."),
    ] = None,
    check: Annotated[
        str, typer.Option("--check", metavar="NUMBER", help="Show this check, as /14 or 14.")
    ] = "",
    store: Store = None,
    demo: Annotated[bool, typer.Option("--demo", help="The journal of the demo.")] = False,
) -> None:
    """Open the case of a fault that was sent, or write one to send.

    Opening shows what was seen and done, what it can be, what comes next; nothing in the file
    is run, and nothing of it is kept. A file that is there is never replaced.
    """
    where = place_of(store, demo=demo)
    if job is None:
        _show(file, check, where)
    else:
        _write(job, file, where)


def _write(job: str, to: Path, where: str | Path) -> None:
    """Write the latest search for a fault of a job."""
    from fillwright.jobs.fault.case import case_file  # noqa: PLC0415  loaded when asked
    from fillwright.records.case_file import case_to_bytes  # noqa: PLC0415
    from fillwright.wiring import open_bench  # noqa: PLC0415

    if isinstance(where, Path) and not where.exists():
        message = f"{where}: there is no journal there. Name it by --store, or use --demo."
        raise BadInput(message, field="--store", given=str(where), code="missing")
    bench = open_bench(where)
    try:
        data = case_to_bytes(case_file(bench.desk, job))
    finally:
        bench.close()
    try:
        with to.open("xb") as stream:
            stream.write(data)
    except FileExistsError as error:
        message = f"{to} is there already and is not replaced. Give another name."
        raise BadInput(message, field="FILE", given=str(to), code="choice") from error
    except OSError as error:
        message = f"{to} cannot be written: {error.strerror}. Give another place."
        raise BadInput(message, field="FILE", given=str(to), code="not-available") from error
    terminal.say(f"Wrote the case of job {job} to {to}.")


def _show(source: Path, check: str, where: str | Path) -> None:
    """Print a case that was sent, read by the fault data of here."""
    from fillwright.jobs.fault.case import done_lines, look_into  # noqa: PLC0415  when asked
    from fillwright.knowledge.faults_load import faults_used  # noqa: PLC0415
    from fillwright.records.case_file import case_from_bytes  # noqa: PLC0415

    sent = case_from_bytes(files.bytes_of(source))
    used = faults_used(None if "://" in str(where) else Path(where).parent / "faults.toml")
    look = look_into(sent, asked=check, book=used.book)
    step = look.step
    at = f"Check {step.number}: " if step.number else ""
    lines = [
        f"{at}{step.order} {step.why}",
        *(f"  first: {need}" for need in step.needs),
        *([f"  caution: {step.caution}"] if step.caution else []),
        *(f"  {place}. {words}" for place, words in enumerate(step.steps, start=1)),
        "",
        *(f"{one.name}: {one.word}" for one in look.causes),
        *([f"It may be two things: {look.pair}."] if look.pair else []),
        *(f"Ruled out: {name}, by {by}" for name, by in look.ruled_out),
        "",
        *(
            f"{line.name}: {line.words}"
            for line in done_lines(used.book, sent.searched(), sent.named())
        ),
        *(f"{fact.name}: {fact.words}" for fact in (*sent.machine, *sent.facts)),
    ]
    if sent.doses_g:
        lines.append(f"last doses as shown, g: {', '.join(map(str, sent.doses_g[-20:]))}")
    if sent.photos:
        lines.append(f"{len(sent.photos)} photos came with it: open it on the page Cases.")
    for line in lines:
        terminal.say(line)
