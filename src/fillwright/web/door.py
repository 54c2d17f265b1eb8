"""The door for other devices: without the code of the bench machine nothing is answered.

An unpaired device gets one small page that asks for the code, whatever address it asked for.
"""

from __future__ import annotations

import base64
import hashlib
import ipaddress
from collections.abc import Callable
from html import escape
from typing import Final
from urllib.parse import parse_qsl

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.requests import Request, cookie_parser
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from fillwright.errors import BadInput
from fillwright.language import TONGUES, Way, page, said
from fillwright.language.tongues import ENGLISH
from fillwright.wiring import Pairing

__all__ = ["LANGUAGE", "PAIRED", "Door", "is_near"]

LANGUAGE: Final = "fw_language"
"""Cookie of the language that was picked on a device."""

PAIRED: Final = "fw_paired"
"""Cookie in which a paired device keeps its secret."""

_PAIR: Final = "/pair"
_YEAR_S: Final = 365 * 24 * 3600
_MOST_BYTES: Final = 2000
_STYLE: Final = (
    "body{font:20px/1.4 system-ui,sans-serif;margin:0;padding:24px;background:#e4ebe9;"
    "color:#0e1d1b}main{max-width:26rem;margin:auto;background:#fff;border:3px solid #0e1d1b;"
    "padding:24px}h1{font-size:28px;margin:0 0 12px}label{display:block;margin:16px 0 4px}"
    "input{font:inherit;font-size:32px;width:100%;box-sizing:border-box;min-height:64px;"
    "border:2px solid #5c6e6a;padding:4px 12px;color:#0e1d1b;background:#fff}"
    "button{font:inherit;font-weight:700;width:100%;min-height:72px;margin-top:20px;"
    "background:#5a1d85;color:#fff;border:0}.wrong{color:#a1111f;font-weight:700}"
)
_POLICY: Final = (
    "default-src 'none'; style-src 'sha256-"
    + base64.b64encode(hashlib.sha256(_STYLE.encode()).digest()).decode()
    + "'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
_PAGE: Final = """<!doctype html><html lang="en" dir="ltr"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>Join the bench</title>
<style>{style}</style></head><body><main><h1>Join the bench</h1>
<p>The bench machine shows a code under Bench settings, Devices.</p>{wrong}
<form method="post" action="/pair"><input type="hidden" name="back" value="{back}">
<label for="code">Code</label><input id="code" name="code" inputmode="numeric" maxlength="12"
autocomplete="one-time-code" autofocus>
<label for="name">What is this device called?</label><input id="name" name="name" maxlength="40"
value="{name}"><button>Join</button></form></main></body></html>"""


class Door:
    """Answers devices that are not paired.

    Parameters
    ----------
    pairing : Pairing or None
        The code and the devices; None lets nobody in from beyond this machine.
    language : callable
        Gives the code of the language that the bench speaks, for a device that picked none.
    """

    def __init__(
        self, pairing: Pairing | None, language: Callable[[], str] = lambda: ENGLISH
    ) -> None:
        self._pairing = pairing
        self._language = language

    def answer_to(self, scope: Scope) -> ASGIApp | None:
        """Return what an outsider is answered, or None for whoever may come in."""
        if self.lets_in(scope):
            return None
        way = self._way(scope)
        if self._pairing is None:
            return _told(scope, 403, said("This bench answers to its own machine only.", way))
        if scope["path"] == _PAIR and scope["method"] == "POST":
            return self._pair
        if scope["path"].startswith(("/api/", "/static/")) or scope["path"].endswith("/events"):
            words = "This device is not paired with the bench. Open / and join."
            return _told(scope, 401, said(words, way))
        back = scope["path"] if scope["method"] == "GET" else "/"
        return _asking(way, back=back, status=401)

    def lets_in(self, scope: Scope) -> bool:
        """Return whether a request is of this machine, or of a device that is paired now."""
        return is_near(scope) or self._is_paired(scope)

    async def _pair(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Take a code."""
        assert self._pairing is not None  # noqa: S101  narrows the type
        request = Request(scope, receive)
        body = (await request.body())[:_MOST_BYTES].decode("utf-8", errors="replace")
        form = dict(parse_qsl(body, max_num_fields=10))
        back = form.get("back", "/")
        if not back.startswith("/") or back.startswith(("//", "/\\", _PAIR)):
            back = "/"
        name = form.get("name", "")
        way = await run_in_threadpool(self._way, scope)
        answer: Response
        try:
            secret = await run_in_threadpool(self._pairing.pair, form.get("code", ""), name)
        except BadInput as error:
            status = 429 if error.code == "not-available" else 401
            answer = _asking(way, back=back, status=status, wrong=error.message, name=name)
        except ValueError:
            words = "Type the six digits."
            answer = _asking(way, back=back, status=401, wrong=words, name=name)
        else:
            answer = RedirectResponse(back, status_code=303)
            answer.set_cookie(
                PAIRED, secret, max_age=_YEAR_S, path="/", httponly=True, samesite="strict"
            )
        await answer(scope, receive, send)

    def _way(self, scope: Scope) -> Way:
        """Return how texts leave for an outsider: as the device picked, else as the bench does."""
        cookies = cookie_parser(Headers(scope=scope).get("cookie", ""))
        picked = cookies.get(LANGUAGE, "")
        return Way(language=picked if picked in TONGUES else self._language())

    def _is_paired(self, scope: Scope) -> bool:
        """Return whether a request carries the secret of a paired device."""
        if self._pairing is None:
            return False
        cookies = cookie_parser(Headers(scope=scope).get("cookie", ""))
        return self._pairing.is_paired(cookies.get(PAIRED, ""))


def is_near(scope: Scope) -> bool:
    """Return True for a request from this very machine.

    A socket always gives an address; what has none came through no network.
    """
    host = (scope.get("client") or ("",))[0]
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return True
    mapped = getattr(address, "ipv4_mapped", None)
    return bool((mapped or address).is_loopback)


def _asking(way: Way, *, back: str, status: int, wrong: str = "", name: str = "") -> HTMLResponse:
    """Return the page that asks for the code."""
    html = _PAGE.format(
        style=_STYLE,
        back=escape(back),
        name=escape(name),
        wrong=f'<p class="wrong" role="alert">{escape(wrong)}</p>' if wrong else "",
    )
    headers = {"content-security-policy": _POLICY, "cache-control": "no-store"}
    return HTMLResponse(page(html, way), status_code=status, headers=headers)


def _told(scope: Scope, status: int, message: str) -> Response:
    """Return a refusal in words; as JSON where JSON is spoken."""
    error = {
        "code": "not-available",
        "field": "",
        "given": None,
        "allowed": "",
        "message": message,
    }
    if scope["path"].startswith("/api/"):
        return JSONResponse({"error": error}, status_code=status)
    return Response(message, status_code=status, media_type="text/plain")
