"""How papers write figures, times and counts."""

from __future__ import annotations

import math
from datetime import datetime
from decimal import Decimal
from typing import Final

from fillwright.records.localtime import local, told_zone

__all__ = [
    "STATES",
    "clock",
    "counted",
    "day",
    "exact",
    "figure",
    "moment",
    "places_of",
    "plural",
    "spans",
    "stamped",
]

STATES: Final = {
    "on": "",
    "empty": "",
    "low": "low",
    "high": "high",
    "short": "short",
    "far-short": "far short",
    "overfull": "overfull",
}
_MINUS: Final = "\u2212"
_DIGITS: Final = 6


def exact(value: Decimal) -> str:
    """Return an exact figure with the digits it has."""
    return f"{value:f}".replace("-", _MINUS)


def figure(value: float | None, *, places: int | None = None) -> str:
    """Return a computed figure with so many places after the point, or six digits in all."""
    if value is None:
        return "not known"
    text = f"{value:.{_DIGITS}g}" if places is None else f"{value:.{places}f}"
    return text.replace("-", _MINUS)


def places_of(value: float) -> int:
    """Return the places after the point that give a figure six digits in all."""
    return max(0, _DIGITS - 1 - (math.floor(math.log10(abs(value))) if value else 0))


def plural(word: str) -> str:
    """Return the plural of what a container is called."""
    if word.endswith("y") and word[-2:-1] not in "aeiou":
        return word[:-1] + "ies"
    return word + ("es" if word.endswith(("s", "x", "ch", "sh")) else "s")


def counted(count: int, word: str) -> str:
    """Return a number of things."""
    return f"{count} {word if count == 1 else plural(word)}"


def spans(first: int, last: int) -> str:
    """Return a span of containers."""
    return str(first) if first == last else f"{first} to {last}"


def day(at: datetime, zone: str) -> str:
    """Return the day of a time where the bench stands."""
    return local(at, zone).strftime("%Y-%m-%d")


def clock(at: datetime, zone: str) -> str:
    """Return the hour and minute of a time where the bench stands."""
    return local(at, zone).strftime("%H:%M")


def moment(at: datetime, zone: str) -> str:
    """Return day, hour and minute of a time where the bench stands."""
    return local(at, zone).strftime("%Y-%m-%d %H:%M")


def stamped(at: datetime, zone: str) -> str:
    """Return day, hour and minute of a time where the bench stands, with the zone they are of."""
    return f"{moment(at, zone)} ({told_zone(zone)})"
