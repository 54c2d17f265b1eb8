"""Live updates: server-sent events whose id is the revision of the job.

A page that comes back sends the last id it saw and is told at once where the job stands. Each
stream ends when the server stops; slow pages lose old readings, never the newest.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
from collections import deque
from collections.abc import AsyncIterator, Callable, Mapping
from dataclasses import dataclass, field
from typing import Final
from urllib.parse import unquote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from fillwright.language import PLAIN, TONGUES, Way, said, way_of
from fillwright.language.live import shown_reading
from fillwright.language.measures import US
from fillwright.records.book import stream_of
from fillwright.records.entries import Entry
from fillwright.web.door import LANGUAGE
from fillwright.wiring import Bench, ScaleHub
from fillwright.wiring.seats import Ticket

__all__ = ["LANGUAGE", "device_of", "job_events", "language_of", "scale_events"]

_SAID: Final = ("says", "because")
_LOOK_S: Final = 0.4
_BEAT_LOOKS: Final = 2
_MOST_WAITING: Final = 32
_RETRY_MS: Final = 1000


@dataclass(slots=True)
class _Pipe:
    """From the threads of store and scale to the loop of one stream."""

    loop: asyncio.AbstractEventLoop
    news: asyncio.Event = field(default_factory=asyncio.Event)
    revision: int = 0
    kept: set[object] = field(default_factory=set)
    readings: deque[Mapping[str, object]] = field(
        default_factory=lambda: deque(maxlen=_MOST_WAITING)
    )

    def tell(self, change: Callable[[], None]) -> None:
        """Let the loop take a change; after the loop is gone there is nobody to tell."""
        try:
            self.loop.call_soon_threadsafe(self._take, change)
        except RuntimeError:
            return

    def _take(self, change: Callable[[], None]) -> None:
        change()
        self.news.set()

    def moved(self, entries: list[Entry]) -> None:
        """Take new entries of the job."""
        self.kept.update(entry.id for entry in entries)
        self.revision = max(self.revision, entries[-1].revision)

    def heard(self, reading: Mapping[str, object]) -> None:
        """Take a reading: one that is kept is not news, one that moves replaces the last."""
        if reading.get("weighing_id") in self.kept:
            return
        if self.readings and _kind(reading) == _kind(self.readings[-1]) == "settling":
            self.readings.pop()
        self.readings.append(reading)


async def job_events(request: Request) -> Response:
    """Stream what happens to a job, and with ``?scale=1`` what stands on the pan."""
    bench = request.app.state.bench
    number = str(request.path_params["number"])
    state = await run_in_threadpool(bench.desk.book.job, number)
    if state is None:
        return Response(status_code=204)
    pipe = _Pipe(asyncio.get_running_loop(), revision=state.revision)
    stream = stream_of(number)

    def on_commit(entries: tuple[Entry, ...]) -> None:
        ours = [entry for entry in entries if entry.stream == stream]
        if ours:
            pipe.tell(lambda: pipe.moved(ours))

    pipe.kept.update(state.weighings.ids_at_hand())
    stops = [bench.desk.journal.subscribe(on_commit)]
    weighs = bool(request.query_params.get("scale"))
    if weighs:
        stops.append(_listen(pipe, await run_in_threadpool(bench.scale_of, number)))
    ticket = _sit(request, bench, number, pipe, stops, weighs=weighs)
    return _answer(request, pipe, stops, ticket)


async def scale_events(request: Request) -> Response:
    """Stream what stands on the pan."""
    bench = request.app.state.bench
    pipe = _Pipe(asyncio.get_running_loop())
    return _answer(request, pipe, [_listen(pipe, bench.scale)], None)


def device_of(request: Request) -> str:
    """Return what stands for the browser that asks; never its secret."""
    secret = request.cookies.get("fw_session", "")
    return hashlib.sha256(secret.encode()).hexdigest()[:16] if secret else ""


def _sit(
    request: Request,
    bench: Bench,
    number: str,
    pipe: _Pipe,
    stops: list[Callable[[], None]],
    *,
    weighs: bool,
) -> Ticket | None:
    """Take a page that opened into account for who weighs."""
    device = device_of(request)
    if not device:
        return None
    ticket = bench.seats.open(
        number,
        device,
        unquote(request.cookies.get("fw_person", "")),
        may_sit=weighs,
        watched=request.query_params.get("watched") == "1",
    )

    def changed(job: str) -> None:
        if job == number:
            pipe.tell(lambda: None)

    stops += [bench.seats.subscribe(changed), ticket.close]
    return ticket


def _listen(pipe: _Pipe, hub: ScaleHub) -> Callable[[], None]:
    """Follow the weighing scale, from what it shows now."""
    latest = hub.latest()
    if latest:
        pipe.heard(latest)
        pipe.news.set()
    return hub.subscribe(lambda reading: pipe.tell(lambda: pipe.heard(reading)))


def _answer(
    request: Request, pipe: _Pipe, stops: list[Callable[[], None]], ticket: Ticket | None
) -> Response:
    """Return the stream."""
    return StreamingResponse(
        _events(request, pipe, stops, ticket),
        media_type="text/event-stream",
        headers={"cache-control": "no-store", "x-accel-buffering": "no"},
    )


async def _events(
    request: Request,
    pipe: _Pipe,
    stops: list[Callable[[], None]],
    ticket: Ticket | None,
) -> AsyncIterator[str]:
    """Yield events until the page or the server goes, or its device is let in no more.

    A beat goes out while there is nothing else.
    """
    door = request.app.state.door
    way = way_of(request.app.state.bench.desk.book.site(), language=language_of(request))
    sent, quiet = -1, 0
    told = ""
    gone = asyncio.create_task(_until_gone(request, pipe))
    try:
        yield f"retry: {_RETRY_MS}\n\n"
        while door.lets_in(request.scope) and not (request.app.state.is_stopping() or gone.done()):
            if pipe.revision > sent and pipe.revision:
                sent = pipe.revision
                yield await _moved(request, sent)
            seat = _seat_words(ticket)
            if seat != told:
                told = seat
                yield f"event: seat\ndata: {seat}\n\n"
            while pipe.readings:
                reading = pipe.readings.popleft()
                heard = _in_way(shown_reading(reading) if _is_us(request) else reading, way)
                yield f"event: scale\ndata: {json.dumps(heard, default=str)}\n\n"
            pipe.news.clear()
            try:
                await asyncio.wait_for(pipe.news.wait(), _LOOK_S)
                quiet = 0
            except TimeoutError:
                quiet += 1
            if quiet >= _BEAT_LOOKS:
                # A page that hears nothing for two seconds knows that the line is cut.
                quiet = 0
                yield "event: beat\ndata: 1\n\n"
    finally:
        gone.cancel()
        for stop in stops:
            stop()


async def _moved(request: Request, revision: int) -> str:
    """Return the event that a job has moved on: what changed of the page, where that is known."""
    followers = request.app.state.followers
    page, session = request.query_params.get("page", ""), request.cookies.get("fw_session", "")
    changes = await run_in_threadpool(followers.changes, page, session) if page else None
    if changes is None:
        return f'id: {revision}\nevent: job\ndata: {{"revision": {revision}}}\n\n'
    return f"id: {revision}\nevent: parts\ndata: {changes}\n\n"


def _is_us(request: Request) -> bool:
    """Return whether the bench shows US customary units now."""
    return bool(request.app.state.bench.desk.book.site().settings.units == US)


def language_of(request: Request) -> str:
    """Return the language of a browser: the one picked on it, else that of the bench."""
    picked = request.cookies.get(LANGUAGE, "")
    settings = request.app.state.bench.desk.book.site().settings
    return picked if picked in TONGUES else str(settings.language)


def _in_way(reading: Mapping[str, object], way: Way) -> Mapping[str, object]:
    """Return a reading with what is said of it in a language."""
    if way == PLAIN:
        return reading
    return {
        name: said(words, way) if name in _SAID and isinstance(words, str) else words
        for name, words in reading.items()
    }


async def _until_gone(request: Request, pipe: _Pipe) -> None:
    """Wait until the page has closed its end, then wake the stream."""
    while (await request.receive())["type"] != "http.disconnect":
        pass
    pipe.news.set()


def _seat_words(ticket: Ticket | None) -> str:
    """Return who weighs, as the page needs to know it; empty where nobody can sit."""
    if ticket is None:
        return ""
    seat = ticket.look()
    is_mine = seat is None or seat.device == ticket.device
    who = "" if seat is None else seat.who
    return json.dumps({"mine": is_mine, "who": who, "asks": ticket.asks()})


def _kind(reading: Mapping[str, object]) -> object:
    """Return what a reading of the scale says."""
    return reading.get("event")
