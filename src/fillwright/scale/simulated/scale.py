"""A simulated weighing scale at the end of a line that can be unplugged."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from numpy.random import Generator

from fillwright.errors import PortGone

__all__ = ["SimulatedScale"]

_PERIOD_S: Final = 0.1
_SETTLE_S: Final = 0.6
_SWINGS: Final = 0.6
# As many lines as a small serial buffer holds; older ones are lost, as they are there.
_LINES_HELD: Final = 20
# Ten times a second is not exact in binary; a line is not lost to that.
_SLACK: Final = 1e-6
_UNPLUGGED: Final = "The simulated scale is unplugged. Plug it in to go on."


class SimulatedScale:
    """A weighing scale that sends ten lines a second; it is a `Line`.

    Parameters
    ----------
    readability_g : Decimal
        Its smallest step.
    repeatability_sd_g : float
        How readings of one load differ; drawn each time something is put on.
    rng : Generator
        Where its chance comes from.
    monotonic : callable
        Seconds of a count that only goes forward.
    wait : callable, optional
        Waits so many seconds, for a thread that reads this line in real time. Without it a
        read that finds nothing returns at once.
    """

    def __init__(
        self,
        readability_g: Decimal,
        repeatability_sd_g: float,
        rng: Generator,
        monotonic: Callable[[], float],
        *,
        wait: Callable[[float], object] | None = None,
    ) -> None:
        self._readability_g = readability_g
        self._repeatability_sd_g = repeatability_sd_g
        self._rng = rng
        self._monotonic = monotonic
        self._wait = wait
        self._lock = threading.RLock()
        self._began_s = monotonic()
        self._ticks = 0
        self._buffer = bytearray()
        self._zero_g = 0.0
        self._from_g = self._to_g = 0.0
        self._changed_s = self._began_s - _SETTLE_S
        self._is_plugged = True
        self._is_lost = False
        self._is_mid_line = False

    def put(self, mass_g: float) -> None:
        """Put something on the pan, in place of what stood there."""
        with self._lock:
            self._load(mass_g + float(self._rng.normal(0.0, self._repeatability_sd_g)))

    def clear(self) -> None:
        """Take everything off the pan."""
        with self._lock:
            self._load(0.0)

    def zero(self, mass_g: float) -> None:
        """Take `mass_g` off every figure from now on and call it net; 0 ends that."""
        with self._lock:
            self._produce()
            self._zero_g = mass_g

    def unplug(self) -> None:
        """Pull the plug in the middle of a line."""
        with self._lock:
            self._produce()
            line = self._line(self._monotonic())
            self._buffer += line[: len(line) // 2]
            self._is_plugged, self._is_lost = False, True

    def plug_in(self) -> None:
        """Put the plug back, again in the middle of a line; the port must be opened anew."""
        with self._lock:
            self._ticks = self._due()
            self._is_plugged, self._is_mid_line = True, True

    def settled_line(self) -> bytes:
        """Return the line that this load ends in, without waiting for it to settle.

        Raises
        ------
        PortGone
            If the plug is out.
        """
        with self._lock:
            if not self._is_plugged:
                raise PortGone(_UNPLUGGED)
            return self._line(self._changed_s + _SETTLE_S)

    def read(self, timeout_s: float) -> bytes:
        """Return what has been sent since the last read; see `Line`."""
        data = self._taken()
        if data or self._wait is None:
            return data
        self._wait(min(timeout_s, _PERIOD_S))
        return self._taken()

    def write(self, data: bytes) -> None:  # noqa: ARG002  the signature of a line
        """Take bytes; this scale sends by itself and heeds none."""
        with self._lock:
            self._must_be_there()

    def close(self) -> None:
        """Let go of the port, so that it can be opened again once it is back."""
        with self._lock:
            self._buffer.clear()
            self._is_lost = False

    def _taken(self) -> bytes:
        """Take what has been sent."""
        with self._lock:
            self._produce()
            data = bytes(self._buffer)
            self._buffer.clear()
            if not data:
                self._must_be_there()
            return data

    def _must_be_there(self) -> None:
        """Raise if the plug is out, or was since the port was opened."""
        if self._is_lost or not self._is_plugged:
            raise PortGone(_UNPLUGGED)

    def _load(self, mass_g: float) -> None:
        """Change what stands on the pan."""
        self._produce()
        now_s = self._monotonic()
        self._from_g = self._mass_g(now_s)
        self._to_g = mass_g
        self._changed_s = now_s

    def _due(self) -> int:
        """Return how many lines there are by now since the beginning."""
        return int((self._monotonic() - self._began_s) / _PERIOD_S + _SLACK)

    def _produce(self) -> None:
        """Send the lines that are due."""
        due = self._due()
        if not self._is_plugged or self._is_lost:
            self._ticks = due
        for tick in range(max(self._ticks, due - _LINES_HELD) + 1, due + 1):
            line = self._line(self._began_s + tick * _PERIOD_S)
            self._buffer += line[len(line) // 2 :] if self._is_mid_line else line
            self._is_mid_line = False
        self._ticks = max(self._ticks, due)

    def _mass_g(self, seconds: float) -> float:
        """Return what the scale feels at a time: a swing that dies out exactly."""
        gone = (seconds - self._changed_s) / _SETTLE_S
        if gone >= 1.0 - _SLACK:
            return self._to_g
        swing = (1.0 - gone) ** 3 * math.cos(2.0 * math.pi * _SWINGS * gone)
        return self._to_g + (self._from_g - self._to_g) * swing

    def _line(self, seconds: float) -> bytes:
        """Return the line that the scale sends at a time."""
        mass_g = Decimal(self._mass_g(seconds) - self._zero_g)
        steps = (mass_g / self._readability_g).to_integral_value(ROUND_HALF_EVEN)
        # Adding zero turns a negative zero into zero.
        shown = (steps * self._readability_g).quantize(self._readability_g) + 0
        word = "steady" if seconds - self._changed_s >= _SETTLE_S * (1.0 - _SLACK) else "moving"
        basis = "net" if self._zero_g else "gross"
        return f"{basis} {shown:+f} g {word}\r\n".encode("ascii")
