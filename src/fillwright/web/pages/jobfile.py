"""A whole job as one file: taken away here, opened here when it was sent."""

from __future__ import annotations

from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.files.job import LookedJob, job_lines, look_at_job, open_brought
from fillwright.web.forms import given
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Visit, go_to, route
from fillwright.wiring.intake import SentFile

__all__ = ["ROUTES", "look_at_sent"]


def look_at_sent(visit: Visit, sent: SentFile) -> None:
    """Look at a job file that was sent.

    Raises
    ------
    BadInput
        If anything of it does not fit.
    """
    with sent.path.open("rb") as file:
        sent.looked = look_at_job(visit.desk, file)
    sent.number = sent.looked.number


def _file(visit: Visit) -> Response:
    """Return a job as one file."""
    try:
        lines = job_lines(visit.desk, visit.number)
    except BadInput as error:
        return plain_page(visit, status=404, headline="No such job.", words=error.message)
    headers = {"content-disposition": f'attachment; filename="job-{visit.number}.jsonl"'}
    return StreamingResponse(lines, media_type="application/jsonl", headers=headers)


def _show(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Show what a job that was sent holds."""
    sent = visit.bench.intake.find(visit.params["key"])
    if sent is None or not isinstance(sent.looked, LookedJob):
        return go_to("/data/in")
    return render(
        visit,
        "jobfile.html",
        status=422 if error else 200,
        error=error,
        sent=sent,
        looked=sent.looked,
    )


def _open(visit: Visit) -> Response:
    """Keep the job under the number that was typed."""
    key = visit.params["key"]
    sent = visit.bench.intake.find(key)
    if sent is None or not isinstance(sent.looked, LookedJob):
        return go_to("/data/in")
    number = given(visit.form, "number") or sent.looked.number
    try:
        with sent.path.open("rb") as file:
            state = open_brought(visit.desk, sent.looked, number, visit.press(), file=file)
    except BadInput as error:
        return _show(visit, error=error)
    except (Conflict, StoreFull) as error:
        return _show(visit, error=BadInput(str(error), field="store", code="not-available"))
    visit.bench.intake.drop(key)
    return go_to(f"/job/{state.number}")


def _again(visit: Visit) -> Response:
    """Lead a page that is fetched anew after a slip back to its own address."""
    return go_to(f"/data/job/{visit.params['key']}")


ROUTES: list[Route] = [
    route("/job/{number}/job.jsonl", _file),
    route("/data/job/{key}", _show, needs_person=True),
    route("/data/job/{key}/open", _again),
    route("/data/job/{key}/open", _open, method="POST", needs_person=True),
]
