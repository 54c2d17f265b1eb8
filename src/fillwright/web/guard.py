"""Who may talk to the server, and what a page may load.

Refuses other host names, devices that were not paired, requests that change something and
come from another page, and bodies without end; every answer carries the strict content policy.
"""

from __future__ import annotations

import hashlib
import hmac
import ipaddress
from collections.abc import Callable, Collection
from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from fillwright.records.case_file import MOST_WITH_PHOTOS
from fillwright.records.filerows import LONGEST_FILE
from fillwright.records.photofile import LONGEST_PHOTO
from fillwright.web.door import Door, is_near
from fillwright.web.numbers import count_of

__all__ = ["LOCAL_NAMES", "Guard", "form_token", "is_token"]

LOCAL_NAMES: Final = frozenset({"localhost", "127.0.0.1", "[::1]"})
_SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS"})
_MOST_BYTES: Final = 4_000_000
_FILES: Final = "/data/in"
_PHOTO: Final = "/photo"
_MOST_BYTES_OF: Final = {
    _FILES: LONGEST_FILE + 100_000,
    "/case/file": MOST_WITH_PHOTOS + 100_000,
}
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

        body: Receive = _Body(receive, most=_most_bytes(scope), look=self._look(scope, refused))
        try:
            await (refused or self._app)(scope, body, send_with_policy)
        except _BodyWithoutEndError:
            await _too_long(scope)(scope, receive, send_with_policy)
        except _CutOffError as cut_off:
            await cut_off.answer(scope, receive, send_with_policy)

    def _look(self, scope: Scope, refused: ASGIApp | None) -> Callable[[], ASGIApp | None]:
        """Return what tells, while a body comes in, how its device is to be refused now."""
        if refused is not None or scope["method"] in _SAFE:
            return lambda: None
        return lambda: self._door.answer_to(scope)

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
        return _too_long(scope) if length is None or length > _most_bytes(scope) else None


class _Body:
    """What comes in of a request: so long at most, and from a device that is let in still.

    A body may come slowly: of a device that was cut off meanwhile nothing is kept.
    """

    def __init__(self, receive: Receive, *, most: int, look: Callable[[], ASGIApp | None]) -> None:
        self._receive = receive
        self._most = most
        self._look = look
        self._taken = 0

    async def __call__(self) -> Message:
        """Return the next part of it."""
        message = await self._receive()
        if message["type"] == "http.request":
            answer = self._look()
            if answer is not None:
                raise _CutOffError(answer)
        self._taken += len(message.get("body", b""))
        if self._taken > self._most:
            raise _BodyWithoutEndError
        return message


class _BodyWithoutEndError(Exception):
    """A body that did not state its length goes on beyond what is taken."""


class _CutOffError(Exception):
    """The device was let in no more while its body came in."""

    def __init__(self, answer: ASGIApp) -> None:
        super().__init__()
        self.answer = answer


def _too_long(scope: Scope) -> Response:
    """Return the refusal of a body that is too long."""
    words = f"Send at most {_most_bytes(scope):,} bytes at once."
    if scope["path"] == _FILES:
        words = "The file is too long. Nothing was kept: go back, and send it in parts."
    elif scope["path"].endswith(_PHOTO):
        words = (
            f"The photo is too long: at most {LONGEST_PHOTO:,} bytes are kept. Nothing was kept: "
            "go back, and take it with fewer points."
        )
    return _refuse(scope, 413, words)


def _most_bytes(scope: Scope) -> int:
    """Return how long a body may be: long only where a file is sent."""
    return _MOST_BYTES_OF.get(scope["path"], _MOST_BYTES)


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
