"""The web application: every route in one place, behind one guard."""

from __future__ import annotations

from collections.abc import Callable, Collection
from importlib.metadata import version
from pathlib import Path

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from fillwright.web import api, live
from fillwright.web.description import describe_interface
from fillwright.web.door import Door
from fillwright.web.following import Followers
from fillwright.web.guard import LOCAL_NAMES, Guard
from fillwright.web.pages import (
    bench as bench_pages,
)
from fillwright.web.pages import (
    budget,
    case,
    cleaning,
    complaint,
    costs,
    data,
    day,
    demo,
    devices,
    edge,
    enquiry,
    fault,
    field,
    held,
    inspector,
    job,
    jobfile,
    jobs,
    machines,
    manual,
    match,
    newjob,
    often,
    papers,
    people,
    photo,
    practice,
    prove,
    release,
    repaired,
    rights,
    run,
    scale,
    seat,
    setup,
    shelf,
    strip,
    strokemap,
    takein,
    trace,
    trial,
    trim,
)
from fillwright.web.render import plain_page
from fillwright.web.visit import Visit, visit_of
from fillwright.wiring import Bench

__all__ = ["create_app"]

_STATIC = Path(__file__).parent / "static"
_PAGES = (
    bench_pages,
    budget,
    case,
    cleaning,
    complaint,
    costs,
    demo,
    devices,
    data,
    day,
    inspector,
    repaired,
    edge,
    enquiry,
    fault,
    field,
    held,
    job,
    jobfile,
    jobs,
    machines,
    manual,
    match,
    newjob,
    often,
    papers,
    people,
    photo,
    practice,
    prove,
    release,
    rights,
    run,
    scale,
    seat,
    setup,
    shelf,
    strip,
    strokemap,
    takein,
    trial,
    trace,
    trim,
)


def create_app(
    bench: Bench,
    is_stopping: Callable[[], bool] = bool,
    *,
    hosts: Collection[str] = (),
) -> FastAPI:
    """Return the application for one bench.

    Parameters
    ----------
    bench : Bench
        What it is joined to.
    is_stopping : callable
        Says whether the server wants to stop; open streams end then.
    hosts : collection of str
        Names beyond those of this machine that the server answers to.

    Returns
    -------
    FastAPI
        The application.
    """
    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)
    app.state.bench = bench
    app.state.is_stopping = is_stopping
    app.state.ticks = set()
    app.state.followers = Followers()
    app.router.routes += _interface()
    for page in _PAGES:
        app.router.routes += page.ROUTES
    app.router.routes.append(Mount("/static", StaticFiles(directory=_STATIC), name="static"))
    app.add_exception_handler(404, _not_found)
    app.add_exception_handler(405, _not_found)
    app.add_exception_handler(422, _refused)
    app.add_exception_handler(Exception, _failed)
    door = app.state.door = Door(
        getattr(bench, "pairing", None), lambda: bench.desk.book.site().settings.language
    )
    app.add_middleware(Guard, hosts=LOCAL_NAMES | frozenset(hosts), door=door)
    return app


def _interface() -> list[Route]:
    """Return the addresses for programs, and the streams."""
    return [
        Route("/api/v1/jobs/{number}/weighings", api.weighings, methods=["POST"]),
        Route("/api/v1/jobs/{number}", api.job_state, methods=["GET"]),
        Route("/api/v1/openapi.json", _description, methods=["GET"]),
        Route("/api/v1/ask/{question}", api.ask, methods=["POST"]),
        Route("/job/{number}/events", live.job_events, methods=["GET"]),
        Route("/scale/events", live.scale_events, methods=["GET"]),
        Route("/favicon.ico", _icon, methods=["GET"]),
    ]


async def _description(request: Request) -> Response:
    """Give the description of the interface for programs."""
    _ = request
    return JSONResponse(await run_in_threadpool(describe_interface, version("fillwright")))


async def _icon(request: Request) -> Response:
    """Send the browser to the icon."""
    _ = request
    return RedirectResponse("/static/icon.svg", status_code=301)


async def _not_found(request: Request, error: Exception) -> Response:
    """Say that there is no such page."""
    status = error.status_code if isinstance(error, HTTPException) else 404
    if request.url.path.startswith("/api/"):
        return _as_json(status, f"There is nothing at {request.url.path}.")
    return await _say(
        request, status, "There is no such page.", "Open the job list and go on from there."
    )


async def _refused(request: Request, error: Exception) -> Response:
    """Say what was wrong with a request that could not even be read."""
    words = error.detail if isinstance(error, HTTPException) else ""
    return await _say(request, 422, "Nothing was kept.", words)


async def _failed(request: Request, error: Exception) -> Response:
    """Say that it was our failure; the server's log has the rest."""
    _ = error
    words = "Something failed here. What was kept before is safe. Open the page again."
    if request.url.path.startswith("/api/"):
        return _as_json(500, words)
    return await _say(request, 500, "That did not work.", words)


async def _say(request: Request, status: int, headline: str, words: str) -> Response:
    """Draw a page that only says something."""
    # What was sent is left alone: it was read already, or is what could not be read.
    visit: Visit = await visit_of(Request({**request.scope, "method": "GET"}))
    return await run_in_threadpool(
        plain_page, visit, status=status, headline=headline, words=words
    )


def _as_json(status: int, message: str) -> Response:
    """Return an error in the form of every way of asking."""
    error = {
        "code": "not-available",
        "field": "",
        "given": None,
        "allowed": "",
        "message": message,
    }
    return JSONResponse({"error": error}, status_code=status)
