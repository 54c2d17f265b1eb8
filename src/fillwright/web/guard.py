"""Who may talk to the server, and what a page may load.

Refuses other host names, devices that were not paired, requests that change something and
come from another page, and bodies without end; every answer carries the strict content policy.
"""

from __future__ import annotations

import hashlib
import hmac
import ipaddress
from collections.abc import Collection
from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from fillwright.web.door import Door, is_near
from fillwright.web.numbers import count_of

__all__ = ["LOCAL_NAMES", "Guard", "form_token", "is_token"]

LOCAL_NAMES: Final = frozenset({"localhost", "127.0.0.1", "[::1]"})
_SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS"})
_MOST_BYTES: Final = 4_000_000
_HEADERS: Final = {
    "content-security-policy": (
        "default-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


def form_token(session: str) -> str:
    """Return the token that the forms of a session carry.

    It follows from the session's secret cookie, which other pages cannot read, so an open
    page still counts after the server was started again.
    """
    return hashlib.blake2b(session.encode(), digest_size=16, person=b"form").hexdigest()


def is_token(session: str, token: str) -> bool:
    """Return True when a token belongs to the session."""
    return bool(session) and hmac.compare_digest(form_token(session).encode(), token.encode())


class Guard:
    """Stand in front of the application.

    Parameters
    ----------
    app : ASGIApp
        What is guarded.
    hosts : collection of str
        Names that the server answers to, without ports; a bare address is always answered.
    door : Door
        Lets paired devices in, and answers all others.
    """

    def __init__(self, app: ASGIApp, *, hosts: Collection[str], door: Door) -> None:
        self._app = app
        self._door = door
        self._hosts = frozenset(hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        refused = self._refusal(scope) or self._door.answer_to(scope)
        near = is_near(scope)
        scope.setdefault("state", {})["is_near"] = near

        async def send_with_policy(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    # Over plain HTTP from elsewhere browsers ignore this one, and complain.
                    if near or name != "cross-origin-opener-policy":
                        headers.setdefault(name, value)
            await send(message)

        taken = 0

        async def receive_so_much() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > _MOST_BYTES:
                raise _BodyWithoutEndError
            return message

        try:
            await (refused or self._app)(scope, receive_so_much, send_with_policy)
        except _BodyWithoutEndError:
            await _too_long(scope)(scope, receive, send_with_policy)

    def _refusal(self, scope: Scope) -> Response | None:
        """Return the answer to a request that is refused, or None."""
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        name = _name_of(host)
        if name not in self._hosts and not _is_address(name):
            return _refuse(scope, 421, f"This server does not answer to the name {host!r}.")
        if scope["method"] in _SAFE:
            return None
        site = headers.get("sec-fetch-site", "none")
        origin = headers.get("origin", "")
        is_elsewhere = bool(origin) and origin.partition("://")[2] != host
        if site not in ("same-origin", "none") or is_elsewhere:
            return _refuse(scope, 403, "Refused: the request comes from another page.")
        length = count_of(headers.get("content-length", "0"))
        return _too_long(scope) if length is None or length > _MOST_BYTES else None


class _BodyWithoutEndError(Exception):
    """A body that did not state its length goes on beyond what is taken."""


def _too_long(scope: Scope) -> Response:
    """Return the refusal of a body that is too long."""
    return _refuse(scope, 413, f"Send at most {_MOST_BYTES} bytes at once.")


def _name_of(host: str) -> str:
    """Return a host without its port."""
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0].lower()


def _is_address(name: str) -> bool:
    """Return True for a bare address: nobody can point that at another machine."""
    try:
        ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return False
    return True


def _refuse(scope: Scope, status: int, message: str) -> Response:
    """Return a refusal in words; as JSON where JSON is spoken."""
    if scope["path"].startswith("/api/"):
        error = {
            "code": "not-available",
            "field": "",
            "given": None,
            "allowed": "",
            "message": message,
        }
        return JSONResponse({"error": error}, status_code=status)
    return PlainTextResponse(message, status_code=status)
