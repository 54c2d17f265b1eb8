"""The thread that watches a line: reads it, tells what happens on the pan, survives unplugging."""

from __future__ import annotations

import contextlib
import logging
import threading
import time
from collections import deque
from collections.abc import Callable
from typing import Final

from fillwright.errors import FillwrightError
from fillwright.records.ports import Line
from fillwright.scale.capture import PanReader
from fillwright.scale.lines import DEFAULT, BadLine, Form, LineReader, RawWeighing
from fillwright.scale.pan_events import ScaleEvent

__all__ = ["ScaleWatch"]

_LOG: Final = logging.getLogger(__name__)
_BAD_KEPT: Final = 20
_LOG_S: Final = 10.0


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
    form : Form
        How the lines look.
    request : bytes
        What a scale that answers only when asked is sent; empty for one that sends by itself.
    every_s : float
        Time between two requests.
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
        form: Form = DEFAULT,
        request: bytes = b"",
        every_s: float = 0.5,
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
        self._request = request
        self._every_s = every_s
        self._pause_s = pause_s
        self._read_s = read_s
        self._quiet_s = quiet_s
        self._monotonic = monotonic
        self._stopping = threading.Event()
        self._pause = pause or self._stopping.wait
        self._last_bad: deque[BadLine] = deque(maxlen=_BAD_KEPT)
        self._losses = 0
        self._bytes_seen = 0
        self._lines_read = 0
        self._last_good = b""
        self._logged_s: float | None = None
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
    def bytes_seen(self) -> int:
        """How many bytes have come."""
        return self._bytes_seen

    @property
    def lines_read(self) -> int:
        """How many lines were understood."""
        return self._lines_read

    @property
    def last_good(self) -> bytes:
        """The last line that was understood, without its terminator."""
        return self._last_good

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
        asked_s = heard_s - self._every_s
        is_quiet = False
        # What comes at once after opening may be the rest of a line.
        self._reader.restart(is_mid_line=True)
        while not self._stopping.is_set():
            if self._request and self._monotonic() - asked_s >= self._every_s:
                asked_s = self._monotonic()
                line.write(self._request)
            data = line.read(self._read_s)
            now_s = self._monotonic()
            if data:
                heard_s, is_quiet = now_s, False
                self._take(data, now_s)
            # Only an empty read proves silence: while this thread is held up, bytes wait.
            elif not is_quiet and now_s - heard_s > self._quiet_s:
                is_quiet = True
                # The end of a line that has begun was lost, and so may be the next beginning.
                self._reader.restart(is_mid_line=self._reader.has_partial)
            # Bytes that never make a reading are as good as none.
            self._tell(self._pan.tick(now_s))

    def _take(self, data: bytes, now_s: float) -> None:
        """Read the lines that have come and tell what they mean."""
        self._bytes_seen += len(data)
        for found in self._reader.feed(data):
            if isinstance(found, BadLine):
                self._last_bad.append(found)
                self._log(found, now_s)
                continue
            self._lines_read += 1
            self._last_good = found.raw
            if isinstance(found, RawWeighing):
                self._tell(self._pan.feed(found, now_s))
            else:
                self._tell(self._pan.remark(found, now_s))

    def _log(self, bad: BadLine, now_s: float) -> None:
        """Note a bad line in the log, but no flood of them."""
        if self._logged_s is None or now_s - self._logged_s >= _LOG_S:
            self._logged_s = now_s
            _LOG.warning(
                "Bad line from the weighing scale, number %d: %s %r",
                self._reader.bad_count,
                bad.why,
                bad.raw,
            )

    def _tell(self, events: list[ScaleEvent]) -> None:
        """Tell the listener; one that fails must not stop the watch."""
        for event in events:
            try:
                self._on_event(event)
            except Exception:  # noqa: BLE001  outermost edge for what listens
                _LOG.exception("What listens to the weighing scale failed.")
