"""Start the server: one worker, loopback by default, down at once when asked."""

from __future__ import annotations

import gc
import logging
import socket
import threading
import webbrowser
from collections.abc import Callable
from dataclasses import replace
from importlib import import_module
from typing import Any, Final

import uvicorn

from fillwright.errors import BadInput, FillwrightError
from fillwright.jobs.desk import find_job
from fillwright.jobs.traveller import next_act
from fillwright.language import warm
from fillwright.wiring.bench import Bench
from fillwright.wiring.checked import Checked
from fillwright.wiring.network import own_addresses

__all__ = ["serve"]

_GRACE_S: Final = 2
_TRIES: Final = 20
_LOOPBACK: Final = "127.0.0.1"
_ANYWHERE: Final = "0.0.0.0"  # noqa: S104  only where a person asked to share; the door guards it
_WARMED: Final = 12
_LOG: Final = logging.getLogger(__name__)


def serve(
    bench: Bench,
    make_app: Callable[[Bench], Any],
    *,
    port: int | None = None,
    open_browser: bool = False,
    share: bool = False,
    say: Callable[[str], None] = print,
) -> None:
    """Serve the pages of a bench until the process is told to stop.

    Parameters
    ----------
    bench : Bench
        What the pages work on; closed at the end.
    make_app : callable
        Makes the application from the bench.
    port : int, optional
        Port; the first free one from 8420 when left out.
    open_browser : bool
        Whether to open the pages in the browser of this machine.
    share : bool
        Whether paired devices beyond this machine may come.
    say : callable
        Told the address.

    Raises
    ------
    BadInput
        If the port is taken.
    """
    listener = _listen(port, _ANYWHERE if share else _LOOPBACK)
    stopping = threading.Event()
    if share:
        number = listener.getsockname()[1]
        bench = replace(bench, addresses=tuple(f"http://{a}:{number}" for a in own_addresses()))
    app = make_app(bench)
    app.state.is_stopping = stopping.is_set
    config = uvicorn.Config(
        app,
        log_level="warning",
        timeout_graceful_shutdown=_GRACE_S,
        server_header=False,
        access_log=False,
    )
    server = _Server(config, stopping)
    address = f"http://{_LOOPBACK}:{listener.getsockname()[1]}/"
    say(f"Fillwright is at {address}  (stop it with Ctrl+C)")
    _say_notice(bench, say)
    if share:
        say(f"Other devices are let in by the code at {address}devices")
    if bench.link is not None:
        bench.link.start()
    # Loaded before the first call: a page of a run would wait longer for this than for itself.
    import_module("scipy.special")
    threading.Thread(target=_warm, args=(bench,), name="warm up", daemon=True).start()
    if open_browser:
        threading.Timer(0.5, webbrowser.open, args=(address,)).start()
    try:
        server.run(sockets=[listener])
    finally:
        stopping.set()
        bench.close()
        listener.close()


def _say_notice(bench: Bench, say: Callable[[str], None]) -> None:
    """Say why nothing is kept, now or when it is found."""

    def told(words: tuple[str, ...]) -> None:
        for sentence in words:
            say(sentence)

    if isinstance(bench.desk.journal, Checked):
        bench.desk.journal.on_damage(told)
    else:
        told(bench.notice)


def _warm(bench: Bench) -> None:
    """Fold the latest jobs before anybody asks, so that a long run opens at once.

    The next act of each loads the parts of the science that a page will want; before that the
    texts of the language that the bench speaks are read.
    """
    desk = bench.desk
    settings = desk.book.site().settings
    warm(settings.language, settings.units)
    for number in desk.book.numbers()[: -_WARMED - 1 : -1]:
        try:
            with desk.book.lock:
                next_act(desk, find_job(desk, number))
        except FillwrightError:
            _LOG.exception("Job %s could not be read ahead.", number)
    # What is loaded now stays to the end: looked through again at every great clearing of
    # memory, it would hold a weight up for longer than all the rest of its way.
    gc.collect()
    gc.freeze()


class _Server(uvicorn.Server):
    """A server that tells its pages when it is stopping."""

    def __init__(self, config: uvicorn.Config, stopping: threading.Event) -> None:
        super().__init__(config)
        self._stopping = stopping

    def handle_exit(self, sig: int, frame: Any) -> None:  # noqa: ANN401  as uvicorn has it
        """Tell the streams to end, then stop."""
        self._stopping.set()
        super().handle_exit(sig, frame)


def _listen(port: int | None, host: str) -> socket.socket:
    """Return a socket on the port, or on the first free one."""
    first = 8420 if port is None else port
    wanted = range(first, first + (_TRIES if port is None else 1))
    for number in wanted:
        # Named as TCP, so that the server sends small answers at once (no delay for more).
        listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((host, number))
        except OSError:
            listener.close()
            continue
        listener.listen(128)
        return listener
    message = f"Port {first} is taken by another program. Name another with --port."
    raise BadInput(message, field="port", given=first, code="choice")
