"""Papers as PDF for the printer of the bench: of a job, of a machine, of the shelf."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from starlette.responses import Response
from starlette.routing import Route

from fillwright.jobs import papers
from fillwright.jobs.desk import Desk, find_job
from fillwright.jobs.machines.card import machine_card
from fillwright.jobs.strip.papers import shelf_list, strip_record
from fillwright.records.fold import JobState
from fillwright.web.pages.inspector import sheet_of as inspector_sheet
from fillwright.web.pages.shelf import wishes_of
from fillwright.web.printed import printed
from fillwright.web.visit import Visit, route

if TYPE_CHECKING:
    from fillwright.report.pdf import Sheet

__all__ = ["ROUTES"]


def _of_job(name: str, sheet_of: Callable[[Desk, JobState], Sheet]) -> Callable[[Visit], Response]:
    """Return the handler of a paper that is made from a job."""

    def handle(visit: Visit) -> Response:
        def sheet() -> Sheet:
            with visit.desk.book.lock:
                return sheet_of(visit.desk, find_job(visit.desk, visit.number))

        return _printed(visit, sheet, name)

    return handle


def _strip(visit: Visit) -> Response:
    """Return the record of a strip and rebuild."""
    return _printed(visit, lambda: strip_record(visit.desk, visit.number), "strip")


def _shelf(visit: Visit) -> Response:
    """Return the shelf list."""
    return _printed(visit, lambda: shelf_list(visit.desk, wishes_of(visit.query)), "shelf")


def _inspector(visit: Visit) -> Response:
    """Return the paper for an inspector."""
    return _printed(visit, lambda: inspector_sheet(visit), "inspector")


def _machine(visit: Visit) -> Response:
    """Return the card of a machine."""
    name = visit.query.get("name", "")
    return _printed(visit, lambda: machine_card(visit.desk, name), "machine-card")


def _printed(visit: Visit, sheet: Callable[[], Sheet], name: str) -> Response:
    """Return a paper, in a file that is named by it and by the job."""
    return printed(visit, sheet, f"{name}-{visit.number}" if visit.number else name)


ROUTES: list[Route] = [
    route("/job/{number}/card.pdf", _of_job("job-card", papers.job_card)),
    route("/job/{number}/record.pdf", _of_job("batch-record", papers.batch_record)),
    route("/job/{number}/proof.pdf", _of_job("proof", papers.proof_sheet)),
    route("/job/{number}/strip.pdf", _strip),
    route("/machine/card.pdf", _machine),
    route("/shelf.pdf", _shelf),
    route("/inspector.pdf", _inspector),
]
