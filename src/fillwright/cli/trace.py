"""``fillwright trace``: from a code on a jar, drum or carton to all that it concerns."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fillwright.cli import files, terminal
from fillwright.cli.journal import Store, place_of
from fillwright.cli.papers import PaperOption, PaperSize
from fillwright.cli.units import follow
from fillwright.errors import BadInput

__all__ = ["trace"]


def trace(
    code: Annotated[
        str, typer.Argument(metavar="CODE", help="As on the jar, the drum or the carton.")
    ],
    *,
    as_json: Annotated[bool, typer.Option("--json", help="Print all of it as JSON.")] = False,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE", help="Write the recall sheet too.")
    ] = None,
    paper: PaperOption = PaperSize.A4,
    store: Store = None,
    demo: Annotated[bool, typer.Option("--demo", help="The journal of the demo.")] = False,
) -> None:
    """Trace a code both ways: to what a lot was made of, and to every lot a drum went into.

    A code that is not on record is answered with the nearest ones. Holes in the record are
    named where they are.
    """
    from pydantic import TypeAdapter  # noqa: PLC0415  loaded when asked

    from fillwright.jobs.trace.both_ways import NAMES  # noqa: PLC0415
    from fillwright.jobs.trace.both_ways import trace as traced  # noqa: PLC0415
    from fillwright.records.sheets import Paper  # noqa: PLC0415
    from fillwright.records.sheets_trace import TraceSheet  # noqa: PLC0415
    from fillwright.wiring import open_bench  # noqa: PLC0415

    where = place_of(store, demo=demo)
    if isinstance(where, Path) and not where.exists():
        message = f"{where}: there is no journal there. Name it by --store, or use --demo."
        raise BadInput(message, field="--store", given=str(where), code="missing")
    bench = open_bench(where, looks_only=True)
    try:
        follow(bench.desk.book.site())
        found = traced(bench.desk, code)
    finally:
        bench.close()
    if pdf is not None:
        from fillwright.report.pdf import print_sheet  # noqa: PLC0415

        files.write_whole(pdf, print_sheet(found, paper=Paper(paper.value), way=terminal.way()))
    if as_json:
        terminal.say_json(TypeAdapter(TraceSheet).dump_python(found, mode="json"))
        return
    kinds = " and ".join(NAMES[kind] for kind in found.traced_as)
    total = sum(line.containers for line in found.jars)
    lines = [f"{found.code}, code of a {kinds}: {total} concerned."]
    for jars in found.jars:
        became = "; ".join(f"{one.containers} {one.fate}" for one in jars.fates)
        lines.append(f"Lot {jars.lot_code}, {jars.word} {jars.numbers}: {became}.")
    for lot in found.lots:
        lines += [
            f"Lot {lot.lot_code}, {lot.word} {one.first} to {one.last}: {NAMES[one.what]} "
            f"{one.code or 'not on record'}{f', batch {one.batch}' if one.batch else ''}"
            for one in lot.filled_from
        ]
        lines += [f"Hole: lot {lot.lot_code}: {words}" for words in (*lot.holes, *lot.clock)]
    lines += [f"Hole: {words}" for words in found.holes]
    for line in lines:
        terminal.say(line)
