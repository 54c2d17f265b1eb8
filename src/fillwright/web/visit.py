"""One visit to a page: who comes, with what, and what the page is drawn with."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final
from urllib.parse import parse_qsl, quote, unquote

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from fillwright.jobs.desk import Desk, Press
from fillwright.language import TONGUES, Way, way_of
from fillwright.language.measures import METRIC
from fillwright.web.guard import form_token, is_token
from fillwright.web.live import LANGUAGE, device_of
from fillwright.web.numbers import count_of
from fillwright.web.typedunits import in_metric
from fillwright.wiring import Bench

__all__ = [
    "LIGHTS",
    "Form",
    "Handler",
    "Visit",
    "go_to",
    "keep_language",
    "keep_light",
    "keep_person",
    "route",
    "visit_of",
    "way_back",
]

Form = Mapping[str, str]

LIGHTS: Final = ("device", "day", "night", "glare")
_SESSION: Final = "fw_session"
_PERSON: Final = "fw_person"
_LIGHT: Final = "fw_light"
_SPARES: Final = "fw-spares"
_PAGE: Final = "fw-page"
_LONGEST_NAME: Final = 40
_SHIFT_S: Final = 12 * 3600
_YEAR_S: Final = 365 * 24 * 3600
_MOST_FIELDS: Final = 400
_UNSEEN: Final = dict.fromkeys(
    [*range(9), 11, 12, *range(14, 32), 127, *range(0x202A, 0x202F), *range(0x2066, 0x206A)]
)
"""Control signs, and those that turn the direction of what stands behind them on a page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """A request as the pages see it.

    Parameters
    ----------
    bench : Bench
        What the server is joined to.
    path : str
        Address without what follows the question mark.
    query, form, params : mapping of str to str
        What was asked, sent, and named in the address.
    person : str
        Initials picked for this shift; empty before.
    session : str
        Secret of this browser.
    light : str
        One of ``LIGHTS``.
    language : str
        Code of the language picked on this device; empty where it speaks as the bench does.
    device : str
        What stands for this browser where devices are told apart.
    is_near : bool
        True when the browser runs on the bench machine itself.
    spares : frozenset of str
        Parts that the page has or does not show now: they need not be drawn again.
    page : str
        Name that the page in the browser gave itself; empty before it has asked once.
    ticks : set
        Cautions that were ticked since the server was started: job, page, person, words.
    """

    bench: Bench
    path: str
    query: Form
    form: Form
    params: Form
    person: str
    session: str
    light: str
    ticks: set[tuple[str, str, str, str]]
    language: str = ""
    device: str = ""
    is_near: bool = True
    spares: frozenset[str] = frozenset()
    page: str = ""

    @property
    def desk(self) -> Desk:
        """Return the desk that every command works at."""
        return self.bench.desk

    @property
    def way(self) -> Way:
        """Return how texts leave for this device: its own language, else that of the bench."""
        site = self.desk.book.site()
        return way_of(
            site,
            language=self.language,
            measures="" if site.settings.units == METRIC else site.settings.units,
        )

    @property
    def token(self) -> str:
        """Return what the forms of this browser carry."""
        return form_token(self.session)

    @property
    def number(self) -> str:
        """Return the job number in the address."""
        return self.params.get("number", "")

    def press(self) -> Press:
        """Return who pressed, and the revision that they had before them."""
        return Press(person=self.person, seen=count_of(self.form.get("seen", "")))


Handler = Callable[[Visit], Response]


def go_to(address: str) -> Response:
    """Return the way to another page, to be fetched anew."""
    return RedirectResponse(address, status_code=303)


def way_back(visit: Visit) -> str:
    """Return the page where the visitor came from, on this server only."""
    back = visit.form.get("back") or visit.query.get("back", "/")
    return back if back.startswith("/") and not back.startswith(("//", "/\\")) else "/"


async def visit_of(request: Request) -> Visit:
    """Read a request.

    Raises
    ------
    HTTPException
        If a form brings more fields than any page has.
    """
    form: dict[str, str] = {}
    if request.method == "POST":
        form = _form_of((await request.body()).decode("utf-8", errors="replace"))
    light = request.cookies.get(_LIGHT, "")
    language = request.cookies.get(LANGUAGE, "")
    return Visit(
        bench=request.app.state.bench,
        path=request.url.path,
        query=in_metric(request.query_params),
        form=in_metric(form),
        params={name: str(value) for name, value in request.path_params.items()},
        person=unquote(request.cookies.get(_PERSON, "")),
        session=request.cookies.get(_SESSION, "") or secrets.token_urlsafe(24),
        light=light if light in LIGHTS else "device",
        ticks=request.app.state.ticks,
        language=language if language in TONGUES else "",
        device=device_of(request),
        is_near=getattr(request.state, "is_near", True),
        spares=frozenset(request.headers.get(_SPARES, "").split()[:_MOST_FIELDS]),
        page=request.headers.get(_PAGE, "")[:_LONGEST_NAME],
    )


def _form_of(body: str) -> dict[str, str]:
    """Return the fields of a form that was sent, without signs that nobody sees."""
    try:
        fields = parse_qsl(body, keep_blank_values=True, max_num_fields=_MOST_FIELDS)
    except ValueError as error:
        words = (
            f"The form brings more than {_MOST_FIELDS} fields, and no page here has so many. Open "
            "the page again, then press."
        )
        raise HTTPException(422, words) from error
    return {name: value.translate(_UNSEEN) for name, value in fields}


def route(
    path: str, handler: Handler, *, method: str = "GET", needs_person: bool = False
) -> Route:
    """Return a route that reads the visit, checks the token, and answers from a thread.

    Parameters
    ----------
    path : str
        Address.
    handler : callable
        Answers the visit.
    method : str
        ``"GET"`` or ``"POST"``.
    needs_person : bool
        Whether initials must have been picked; where not, the visitor is sent to pick them.

    Returns
    -------
    Route
        For the application.
    """

    async def endpoint(request: Request) -> Response:
        visit = await visit_of(request)
        if needs_person and not visit.person:
            back = request.url.path if method == "GET" else "/"
            response = go_to(f"/people?back={quote(back)}")
        elif method == "POST" and not is_token(visit.session, visit.form.get("token", "")):
            response = await run_in_threadpool(_stale, visit)
        else:
            response = await run_in_threadpool(handler, visit)
            if method == "GET":
                request.app.state.followers.keep(visit, handler, response)
        if _SESSION not in request.cookies:
            _set(response, _SESSION, visit.session, is_secret=True)
        response.headers.setdefault("cache-control", "no-store")
        return response

    return Route(path, endpoint, methods=[method], name=f"{method} {path}")


def keep_person(response: Response, initials: str) -> None:
    """Keep the initials for one shift."""
    _set(response, _PERSON, quote(initials), age_s=_SHIFT_S)


def keep_light(response: Response, light: str) -> None:
    """Keep the light on this device."""
    _set(response, _LIGHT, light, age_s=_YEAR_S)


def keep_language(response: Response, code: str) -> None:
    """Keep the language on this device; none lets it speak as the bench does."""
    _set(response, LANGUAGE, code, age_s=_YEAR_S)


def _set(
    response: Response, name: str, value: str, *, age_s: int | None = None, is_secret: bool = True
) -> None:
    """Set a cookie that no other site sees."""
    response.set_cookie(
        name, value, max_age=age_s, path="/", httponly=is_secret, samesite="strict"
    )


def _stale(visit: Visit) -> Response:
    """Answer a form that does not carry this browser's token."""
    from fillwright.web.render import plain_page  # noqa: PLC0415  the pages import this module

    return plain_page(
        visit,
        status=403,
        headline="Nothing was kept.",
        words="This page belongs to another sitting. Open it again, then press.",
    )
