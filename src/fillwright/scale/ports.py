"""Ports to a weighing scale: serial, TCP, and the thread that watches one.

Bytes come and go here; what they mean is the line reader's. Every way in which a port can be
lost comes out as `PortGone`, and a watch opens it again.
"""

from __future__ import annotations

import contextlib
import logging
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from typing import Any, Final
from urllib.parse import urlsplit

from fillwright.errors import BadInput, FillwrightError, PortGone
from fillwright.records.ports import Line
from fillwright.scale.capture import PanReader, ScaleEvent
from fillwright.scale.lines import DEFAULT, BadLine, LineForm, LineReader

try:
    from termios import error as _refused
except ImportError:  # on Windows a refused setting is a ValueError, and this is never met
    _refused = RuntimeError  # type: ignore[misc,assignment,unused-ignore]

__all__ = ["ScaleWatch", "open_line"]

_LOG: Final = logging.getLogger(__name__)
_SCHEMES: Final = ("socket", "rfc2217", "loop")
_WRITE_S: Final = 2.0
_BAD_KEPT: Final = 20
_MOST_AT_ONCE: Final = 4096


def open_line(
    url: str,
    *,
    baud_per_s: int = 9600,
    data_bits: int = 8,
    parity: str = "N",
    stop_bits: float = 1,
) -> Line:
    """Open a port to a weighing scale.

    Parameters
    ----------
    url : str
        A serial device (``/dev/ttyUSB0``, ``COM3``) or ``socket://host:port``,
        ``rfc2217://host:port``, ``loop://``.
    baud_per_s : int
        Speed of a serial line, as set at the scale.
    data_bits : int
        5 to 8.
    parity : str
        ``"N"``, ``"E"``, ``"O"``, ``"M"`` or ``"S"``.
    stop_bits : float
        1, 1.5 or 2.

    Returns
    -------
    Line
        Open, and closed by whoever asked for it. A serial device is taken for this program
        alone, since two readers would each get half of the bytes.

    Raises
    ------
    BadInput
        If the address or a setting cannot be right.
    PortGone
        If nobody answers there now.
    """
    import serial  # noqa: PLC0415  only who has a scale on a line pays for it

    is_device = _is_device(url)
    try:
        with _losses(url):
            port = serial.serial_for_url(
                url,
                baudrate=baud_per_s,
                bytesize=data_bits,
                parity=parity,
                stopbits=stop_bits,
                write_timeout=_WRITE_S,
                exclusive=True if is_device else None,
            )
    except (ValueError, _refused) as error:
        message = f"The scale line {url!r} cannot be set up: {error}. Look at its settings."
        raise BadInput(message, field="scale line", given=url, allowed="", code="range") from error
    return _PortLine(port, url)


class ScaleWatch:
    """A thread that reads a line, tells what happens on the pan, and survives unplugging.

    Parameters
    ----------
    open_port : callable
        Opens the line, at first and after every loss.
    pan : PanReader
        Turns readings into events; used by this watch alone.
    on_event : callable
        Told each event, in order, from the watch's thread.
    form : LineForm
        How the lines look.
    pause_s : float
        Time between a loss and the next try.
    read_s : float
        Longest wait for bytes, and so for `stop`.
    quiet_s : float
        Silence that shows a line to have ended: what comes after it begins a line. Longer
        than any line takes (0.3 s hold 36 characters at 1200 baud, ten bits each).
    monotonic : callable
        Seconds of a count that only goes forward.
    pause : callable, optional
        Waits so many seconds; by default until `stop` at most.
    """

    def __init__(
        self,
        open_port: Callable[[], Line],
        pan: PanReader,
        on_event: Callable[[ScaleEvent], None],
        *,
        form: LineForm = DEFAULT,
        pause_s: float = 1.0,
        read_s: float = 0.1,
        quiet_s: float = 0.3,
        monotonic: Callable[[], float] = time.monotonic,
        pause: Callable[[float], object] | None = None,
    ) -> None:
        self._open_port = open_port
        self._pan = pan
        self._on_event = on_event
        self._reader = LineReader(form)
        self._pause_s = pause_s
        self._read_s = read_s
        self._quiet_s = quiet_s
        self._monotonic = monotonic
        self._stopping = threading.Event()
        self._pause = pause or self._stopping.wait
        self._last_bad: deque[BadLine] = deque(maxlen=_BAD_KEPT)
        self._losses = 0
        self._thread: threading.Thread | None = None

    @property
    def bad_count(self) -> int:
        """How many lines were no weighings."""
        return self._reader.bad_count

    @property
    def last_bad(self) -> tuple[BadLine, ...]:
        """The last few bad lines, with their bytes, oldest first."""
        return tuple(self._last_bad)

    @property
    def losses(self) -> int:
        """How many times the port was lost or could not be opened."""
        return self._losses

    @property
    def is_running(self) -> bool:
        """True while the thread lives."""
        return self._thread is not None and self._thread.is_alive()

    def start(self) -> None:
        """Begin to watch."""
        self._stopping.clear()
        self._thread = threading.Thread(target=self._watch, name="scale watch", daemon=True)
        self._thread.start()

    def stop(self, timeout_s: float = 5.0) -> None:
        """End the watch and let go of the port.

        Parameters
        ----------
        timeout_s : float
            Longest wait for the thread; it ends within `read_s` unless a port hangs.
        """
        self._stopping.set()
        if self._thread is not None:
            self._thread.join(timeout_s)

    def _watch(self) -> None:
        """Open, read until lost, pause, and again, until told to stop."""
        while not self._stopping.is_set():
            try:
                with contextlib.closing(self._open_port()) as line:
                    self._read(line)
            except FillwrightError as lost:
                self._losses += 1
                self._tell(self._pan.lost(str(lost)))
                self._pause(self._pause_s)
            except Exception:  # noqa: BLE001  outermost edge: the thread would end unseen
                _LOG.exception("The scale watch stumbled and opens the port again.")
                self._losses += 1
                self._tell(self._pan.lost("Reading the weighing scale failed."))
                self._pause(self._pause_s)

    def _read(self, line: Line) -> None:
        """Read an open line until it is lost or the watch is stopped."""
        heard_s = self._monotonic()
        is_quiet = False
        # What comes at once after opening may be the rest of a line.
        self._reader.restart(is_mid_line=True)
        while not self._stopping.is_set():
            data = line.read(self._read_s)
            now_s = self._monotonic()
            if data:
                heard_s, is_quiet = now_s, False
                self._take(data, now_s)
                continue
            # Only an empty read proves silence: while this thread is held up, bytes wait.
            if not is_quiet and now_s - heard_s > self._quiet_s:
                is_quiet = True
                # The end of a line that has begun was lost, and so may be the next beginning.
                self._reader.restart(is_mid_line=self._reader.has_partial)
            self._tell(self._pan.tick(now_s))

    def _take(self, data: bytes, now_s: float) -> None:
        """Read the lines that have come and tell what they mean."""
        for found in self._reader.feed(data):
            if isinstance(found, BadLine):
                self._last_bad.append(found)
                _LOG.warning("Bad line from the weighing scale: %s %r", found.why, found.raw)
            else:
                self._tell(self._pan.feed(found, now_s))

    def _tell(self, events: list[ScaleEvent]) -> None:
        """Tell the listener; one that fails must not stop the watch."""
        for event in events:
            try:
                self._on_event(event)
            except Exception:  # noqa: BLE001  outermost edge for what listens
                _LOG.exception("What listens to the weighing scale failed.")


class _PortLine:
    """A `Line` over a port of the serial library."""

    def __init__(self, port: Any, url: str) -> None:  # noqa: ANN401  the library has no types
        self._port = port
        self._url = url

    def read(self, timeout_s: float) -> bytes:
        """Return what has arrived, at the latest after `timeout_s`; may be empty."""
        with _losses(self._url):
            if self._port.timeout != timeout_s:
                # The library keeps the time, then sends all settings anew; a device that took
                # them with a parity it does not know may refuse them this time.
                with contextlib.suppress(_refused):
                    self._port.timeout = timeout_s
            data = bytes(self._port.read(1))
            while data and (waiting := self._port.in_waiting):
                data += self._port.read(waiting)
                if len(data) >= _MOST_AT_ONCE:
                    break
            return data

    def write(self, data: bytes) -> None:
        """Send bytes."""
        with _losses(self._url):
            self._port.write(data)

    def close(self) -> None:
        """Let go of the port."""
        # After a reset by its peer the library forgets a socket without closing it.
        inner = getattr(self._port, "_socket", None)
        with contextlib.suppress(OSError):
            self._port.close()
        if inner is not None:
            inner.close()


@contextlib.contextmanager
def _losses(url: str) -> Iterator[None]:
    """Turn every way in which the library reports a lost port into `PortGone`."""
    try:
        yield
    except OSError as lost:  # the library's own errors are OSErrors
        message = f"The scale line {url} is not there: {lost}. Look at its cable and its switch."
        raise PortGone(message) from lost


def _is_device(url: str) -> bool:
    """Return whether the address is a serial device; an address that cannot be is refused."""
    allowed = "a serial device, socket://host:port, rfc2217://host:port or loop://"
    if "://" not in url and url.strip():
        return True
    parts = urlsplit(url)
    try:
        has_place = parts.scheme == "loop" or bool(parts.hostname and parts.port)
    except ValueError:
        has_place = False
    if parts.scheme not in _SCHEMES or not has_place:
        message = f"The scale line is {url!r}; give {allowed}."
        raise BadInput(message, field="scale line", given=url, allowed=allowed, code="choice")
    return False
