"""Data out: the journal as tables for a spreadsheet, of one job or of all."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from typing import IO, Final

from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from fillwright.errors import BadInput
from fillwright.jobs.field.table import FIELD_TABLES
from fillwright.jobs.files.tables import TABLES, table_of
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Visit, route

__all__ = ["ROUTES"]

_KINDS: Final = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
_IN_MEMORY: Final = 8_000_000
_PIECE: Final = 256_000


def _show(visit: Visit) -> Response:
    """Draw the list of tables."""
    numbers = visit.desk.book.numbers()
    wanted = visit.query.get("job", "")
    return render(
        visit,
        "data.html",
        tables=TABLES,
        of_no_job=FIELD_TABLES,
        numbers=numbers[::-1],
        chosen=wanted if wanted in numbers else "",
    )


def _file(visit: Visit) -> Response:
    """Return a table as a file."""
    from fillwright.report.spreadsheet import write_csv, write_workbook  # noqa: PLC0415  when used

    name, kind = visit.params["table"], visit.params["kind"]
    number = visit.query.get("job") or None
    if kind not in _KINDS:
        words = f"Tables come as csv or xlsx, not as {kind!r}."
        return plain_page(visit, status=404, headline="No such table.", words=words)
    try:
        table = table_of(visit.desk, name, number)
        # Written whole before the first piece is sent, so that no half of a table looks whole.
        made = tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY)  # noqa: SIM115  closed by _pieces
        (write_csv if kind == "csv" else write_workbook)(table, made)  # type: ignore[arg-type]
    except BadInput as error:
        status = 404 if error.field in ("job", "table") else 422
        return plain_page(visit, status=status, headline="No such table.", words=error.message)
    file = f"{name}-{number or 'all'}.{kind}".encode("ascii", "replace").decode()
    headers = {"content-disposition": f'attachment; filename="{file.replace(chr(34), "")}"'}
    made.seek(0)
    return StreamingResponse(_pieces(made), media_type=_KINDS[kind], headers=headers)


def _pieces(made: IO[bytes]) -> Iterator[bytes]:
    """Yield a file piece by piece, and let go of it."""
    with made:
        while piece := made.read(_PIECE):
            yield piece


ROUTES: list[Route] = [
    route("/data", _show),
    route("/data/{table}.{kind}", _file),
]
