"""A sheet as a PDF for the browser, or a page that says why there is none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from starlette.responses import Response

from fillwright.errors import BadInput
from fillwright.language.kept import keep_of, named_of
from fillwright.records.sheets import Paper
from fillwright.web.render import plain_page
from fillwright.web.visit import Visit

if TYPE_CHECKING:
    from fillwright.report.pdf import Sheet

__all__ = ["paper_size", "printed"]


def printed(
    visit: Visit,
    sheet: Callable[[], Sheet],
    file: str,
    *,
    headline: str = "No paper yet.",
    status: int | None = None,
) -> Response:
    """Return a sheet as a PDF, or a page that says why there is none.

    Parameters
    ----------
    visit : Visit
        Who asks; ``?paper=letter`` gives US Letter.
    sheet : callable
        Makes the sheet, or raises BadInput where there is none.
    file : str
        Name of the file, without its ending.
    headline : str
        What the page says where there is none.
    status : int, optional
        Its status; when left out 404 for a job or machine that is not there, else 422.
    """
    from fillwright.report.pdf import print_sheet  # noqa: PLC0415  loaded when it is used

    try:
        made = sheet()
        way = visit.way
        if way.measures:
            way = replace(way, keep=keep_of([*named_of(visit.desk.book.site()), made]))
        body = print_sheet(made, paper=paper_size(visit), way=way)
    except BadInput as error:
        found = status or (404 if error.field in ("job", "machine") else 422)
        return plain_page(visit, status=found, headline=headline, words=error.message)
    headers = {"content-disposition": f'inline; filename="{file}.pdf"'}
    return Response(body, media_type="application/pdf", headers=headers)


def paper_size(visit: Visit) -> Paper:
    """Return the size of the paper: A4, or Letter where it is asked for."""
    return Paper.LETTER if visit.query.get("paper") == "letter" else Paper.A4
