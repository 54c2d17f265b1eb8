"""A form that carries a file: read piece by piece, so that a long one does not fill the memory."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import IO, Final
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from fillwright.web.guard import is_token
from fillwright.web.render import plain_page
from fillwright.web.visit import Visit, go_to, visit_of

__all__ = ["file_route"]

FileHandler = Callable[[Visit, IO[bytes], str], Response]
_MOST_FIELDS: Final = 10
_LONGEST_FIELD: Final = 10_000


def file_route(path: str, handler: FileHandler) -> Route:
    """Return a route for a form with one file in its field ``file``.

    Parameters
    ----------
    path : str
        Address.
    handler : callable
        Answers the visit, the open file and its name; the name is empty where none was chosen.

    Returns
    -------
    Route
        For the application; initials must have been picked.
    """

    async def endpoint(request: Request) -> Response:
        # The body is left alone here: it is read below, and not into memory.
        visit = await visit_of(Request({**request.scope, "method": "GET"}))
        if not visit.person:
            return go_to(f"/people?back={quote(request.url.path)}")
        try:
            form = await request.form(
                max_files=1, max_fields=_MOST_FIELDS, max_part_size=_LONGEST_FIELD
            )
        except HTTPException:
            words = "The file did not come whole. Choose it again, then send."
            return plain_page(visit, status=400, headline="No file came.", words=words)
        try:
            fields = {name: value for name, value in form.items() if isinstance(value, str)}
            sent = form.get("file")
            visit = replace(visit, form=fields)
            if not is_token(visit.session, fields.get("token", "")):
                words = "This page belongs to another sitting. Open it again, then press."
                return await run_in_threadpool(
                    plain_page, visit, status=403, headline="Nothing was kept.", words=words
                )
            if not isinstance(sent, UploadFile):
                return plain_page(
                    visit, status=422, headline="No file came.", words="Choose a file, then send."
                )
            answer = await run_in_threadpool(handler, visit, sent.file, sent.filename or "")
        finally:
            await form.close()
        answer.headers.setdefault("cache-control", "no-store")
        return answer

    return Route(path, endpoint, methods=["POST"], name=f"POST {path}")
