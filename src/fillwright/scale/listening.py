"""Listen to a line whose form is not known yet, and find the speed at which it is readable."""

from __future__ import annotations

import contextlib
import re
import threading
import time
from collections import Counter, deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from fillwright.errors import FillwrightError
from fillwright.records.ports import Line
from fillwright.scale.learning import SeenLine

__all__ = ["SPEEDS", "Listening", "PortSettings", "is_readable", "terminators_of"]

_KEPT: Final = 3000
_LONGEST: Final = 400
_TRY_S: Final = 1.3
_ENOUGH: Final = 3
_PAUSE_S: Final = 0.5
_READ_S: Final = 0.1
_READABLE: Final = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class PortSettings:
    """How a serial line is set: speed in bits a second, data bits, parity, stop bits."""

    baud_per_s: int = 9600
    data_bits: int = 8
    parity: str = "N"
    stop_bits: int = 1


SPEEDS: Final = tuple(
    PortSettings(baud_per_s=baud, data_bits=bits, parity=parity)
    for bits, parity in ((8, "N"), (7, "E"))
    for baud in (9600, 2400, 4800, 19200, 1200, 38400, 57600, 115200)
)
"""What is tried, in this order: the usual settings of scales (common practice, no source)."""


class Listening:
    """A thread that keeps the last lines of a line, whatever they are.

    Parameters
    ----------
    open_port : callable
        Opens the line with the settings given.
    tries : sequence of PortSettings
        Settings to try in turn until lines are readable; with one there is nothing to find.
    request : bytes
        What a scale that answers only when asked is sent.
    every_s : float
        Time between two requests.
    monotonic : callable
        Seconds of a count that only goes forward.
    """

    def __init__(
        self,
        open_port: Callable[[PortSettings], Line],
        tries: Sequence[PortSettings],
        *,
        request: bytes = b"",
        every_s: float = 0.5,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self._open_port = open_port
        self._tries = tuple(tries)
        self._request = request
        self._every_s = every_s
        self._monotonic = monotonic
        self._lock = threading.Lock()
        self._lines: deque[SeenLine] = deque(maxlen=_KEPT)
        self._recent = bytearray()
        self._ends: Counter[bytes] = Counter()
        self._bytes_seen = 0
        self._problem = ""
        self._found: PortSettings | None = self._tries[0] if len(self._tries) == 1 else None
        self._trying = self._tries[0]
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="scale listening", daemon=True)

    @property
    def lines(self) -> tuple[SeenLine, ...]:
        """The lines so far, oldest first; the very first one may be a tail and is left out."""
        with self._lock:
            return tuple(self._lines)

    @property
    def bytes_seen(self) -> int:
        """How many bytes have come."""
        return self._bytes_seen

    @property
    def recent(self) -> bytes:
        """The last bytes that came, readable or not."""
        with self._lock:
            return bytes(self._recent)

    @property
    def problem(self) -> str:
        """Why the port cannot be read now; empty when it can."""
        return self._problem

    @property
    def settings(self) -> PortSettings:
        """The settings that were found, or those that are tried now."""
        return self._found or self._trying

    @property
    def is_found(self) -> bool:
        """True once lines are readable, or when there was nothing to find."""
        return self._found is not None

    @property
    def terminators(self) -> bytes:
        """What the lines ended with."""
        return terminators_of(self._ends)

    def start(self) -> None:
        """Begin to listen."""
        self._thread.start()

    def stop(self, timeout_s: float = 5.0) -> None:
        """End and let go of the port."""
        self._stopping.set()
        if self._thread.is_alive():
            self._thread.join(timeout_s)

    def _run(self) -> None:
        """Open, listen, try other settings, until told to stop."""
        at = 0
        while not self._stopping.is_set():
            settings = self._found or self._tries[at % len(self._tries)]
            self._trying = settings
            try:
                with contextlib.closing(self._open_port(settings)) as line:
                    self._problem = ""
                    self._hear(line, settings)
            except FillwrightError as lost:
                self._problem = str(lost)
                self._stopping.wait(_PAUSE_S)
            at += 1

    def _hear(self, line: Line, settings: PortSettings) -> None:
        """Keep what comes; with settings that may be wrong, for a moment only."""
        until_s = self._monotonic() + _TRY_S
        asked_s = self._monotonic() - self._every_s
        begun: bytearray | None = None
        since = len(self._lines)
        while not self._stopping.is_set():
            now_s = self._monotonic()
            if self._request and now_s - asked_s >= self._every_s:
                asked_s = now_s
                line.write(self._request)
            data = line.read(_READ_S)
            begun = self._keep(data, begun, self._monotonic())
            if self._found is None and now_s >= until_s:
                fresh = self.lines[since:]
                if len(fresh) >= _ENOUGH and is_readable([seen.raw for seen in fresh]):
                    self._found = settings
                    continue
                with self._lock:
                    self._lines.clear()
                    self._ends.clear()
                return

    def _keep(self, data: bytes, begun: bytearray | None, now_s: float) -> bytearray | None:
        """Cut what came into lines; None stands for a line whose beginning was not seen."""
        self._bytes_seen += len(data)
        with self._lock:
            self._recent = (self._recent + data)[-120:]
            pieces = re.split(rb"([\r\n\x03]+)", data)
            for place, piece in enumerate(pieces):
                if place % 2:
                    self._ends[piece] += 1
                    if begun:
                        self._lines.append(SeenLine(seconds=now_s, raw=bytes(begun)))
                    begun = bytearray()
                elif begun is not None:
                    begun += piece[: max(0, _LONGEST - len(begun))]
        return begun


def terminators_of(ends: Counter[bytes]) -> bytes:
    """Return the bytes that ended lines, each once: carriage return, line feed, end of text."""
    return bytes(sorted({byte for end in ends for byte in end})) or b"\r\n"


def is_readable(lines: Sequence[bytes]) -> bool:
    """Return True when nearly all lines are plain text, and one of them holds a digit."""
    plain = [line for line in lines if line.isascii() and re.search(rb"[ -~]", line)]
    odd = [line for line in plain if re.search(rb"[\x00\x04-\x1f\x7f]", line)]
    good = len(plain) - len(odd)
    return good >= _READABLE * len(lines) and any(re.search(rb"\d", line) for line in plain)
