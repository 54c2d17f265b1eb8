"""Why a reading does not come to rest: slow drift, shaking, or a hand on the pan.

The bounds are common practice, no source: they choose words, never a weight.
"""

from __future__ import annotations

from collections import deque
from decimal import Decimal
from itertools import pairwise
from typing import Final

__all__ = ["Movement"]

_WINDOW_S: Final = 2.5
_PATIENCE_S: Final = 1.5
_MOST: Final = 60
_FEWEST: Final = 4
_SLOW_SHARE: Final = Decimal("0.05")
_SHAKE_STEPS: Final = 30
_SHAKE_SHARE: Final = Decimal("0.02")
_RISES: Final = "It rises slowly: is it still dripping, or does something lean on it?"
_FALLS: Final = "It falls slowly: does it leak, or does something lift it?"
_SHAKES: Final = "It shakes: a draught, the table, or the stroke of the machine."
_HAND: Final = "It jumps about: hands off the pan."


class Movement:
    """The readings of the last moments, and what they look like."""

    __slots__ = ("_began_s", "_seen", "_step_g")

    def __init__(self) -> None:
        self._seen: deque[tuple[float, Decimal]] = deque(maxlen=_MOST)
        self._began_s: float | None = None
        self._step_g = Decimal(1)

    def add(self, mass_g: Decimal, step_g: Decimal, seconds: float) -> None:
        """Take one reading of a load, with the step of the scale and when it came."""
        if self._began_s is None:
            self._began_s = seconds
        self._step_g = step_g
        self._seen.append((seconds, mass_g))
        while self._seen[0][0] < seconds - _WINDOW_S:
            self._seen.popleft()

    def why(self) -> str:
        """Return one sentence, or nothing while it is too early or nothing stands out."""
        if len(self._seen) < _FEWEST or self._began_s is None:
            return ""
        last_s, last_g = self._seen[-1]
        if last_s - self._began_s < _PATIENCE_S:
            return ""
        masses = [mass_g for seconds, mass_g in self._seen if seconds >= last_s - _PATIENCE_S]
        if len(masses) < _FEWEST:
            masses = [mass_g for _, mass_g in self._seen]
        span_g = max(masses) - min(masses)
        if span_g <= self._step_g:
            return ""
        way_g = sum((abs(b - a) for a, b in pairwise(masses)), Decimal(0))
        if abs(masses[-1] - masses[0]) >= way_g * Decimal("0.8"):
            if span_g > _SLOW_SHARE * abs(last_g):
                return ""
            return _RISES if masses[-1] > masses[0] else _FALLS
        small_g = max(_SHAKE_STEPS * self._step_g, _SHAKE_SHARE * abs(last_g))
        return _SHAKES if span_g <= small_g else _HAND
