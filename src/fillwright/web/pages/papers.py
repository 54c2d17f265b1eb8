"""Papers as PDF for the printer of the bench: of a job, and the card of a machine."""

from __future__ import annotations

from collections.abc import Callable

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput
from fillwright.jobs import papers
from fillwright.jobs.desk import find_job
from fillwright.jobs.machine_card import machine_card
from fillwright.records.sheets import Paper
from fillwright.web.render import plain_page
from fillwright.web.visit import Visit, route

__all__ = ["ROUTES"]


def _card(visit: Visit) -> Response:
    """Return the job card."""
    from fillwright.report import pdf  # noqa: PLC0415  the printer is loaded when it is used

    def paper() -> bytes:
        with visit.desk.book.lock:
            sheet = papers.job_card(visit.desk, find_job(visit.desk, visit.number))
        return pdf.job_card(sheet, paper=_size(visit))

    return _printed(visit, paper, "job-card")


def _record(visit: Visit) -> Response:
    """Return the batch record."""
    from fillwright.report import pdf  # noqa: PLC0415  the printer is loaded when it is used

    def paper() -> bytes:
        with visit.desk.book.lock:
            sheet = papers.batch_record(visit.desk, find_job(visit.desk, visit.number))
        return pdf.batch_record(sheet, paper=_size(visit))

    return _printed(visit, paper, "batch-record")


def _proof(visit: Visit) -> Response:
    """Return the proof of repeatability."""
    from fillwright.report import pdf  # noqa: PLC0415  the printer is loaded when it is used

    def paper() -> bytes:
        with visit.desk.book.lock:
            sheet = papers.proof_sheet(visit.desk, find_job(visit.desk, visit.number))
        return pdf.proof_paper(sheet, paper=_size(visit))

    return _printed(visit, paper, "proof")


def _machine(visit: Visit) -> Response:
    """Return the card of a machine."""
    from fillwright.report import pdf  # noqa: PLC0415  the printer is loaded when it is used

    name = visit.query.get("name", "")

    def paper() -> bytes:
        return pdf.machine_card(machine_card(visit.desk, name), paper=_size(visit))

    return _printed(visit, paper, "machine-card")


def _size(visit: Visit) -> Paper:
    """Return the size of the paper: A4, or Letter where it is asked for."""
    return Paper.LETTER if visit.query.get("paper") == "letter" else Paper.A4


def _printed(visit: Visit, paper: Callable[[], bytes], name: str) -> Response:
    """Return a PDF, or a page that says why there is none."""
    try:
        body = paper()
    except BadInput as error:
        status = 404 if error.field in ("job", "machine") else 422
        return plain_page(visit, status=status, headline="No paper yet.", words=error.message)
    file = f"{name}-{visit.number}.pdf" if visit.number else f"{name}.pdf"
    headers = {"content-disposition": f'inline; filename="{file}"'}
    return Response(body, media_type="application/pdf", headers=headers)


ROUTES: list[Route] = [
    route("/job/{number}/card.pdf", _card),
    route("/job/{number}/record.pdf", _record),
    route("/job/{number}/proof.pdf", _proof),
    route("/machine/card.pdf", _machine),
]
