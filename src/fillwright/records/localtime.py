"""Times of the journal as the clock on the wall at the bench showed them."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from functools import lru_cache
from typing import Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

__all__ = ["earliest_day", "known_zone", "latest_day", "local", "offset_name", "told_zone"]

_AHEAD: Final = timedelta(hours=14)
_BEHIND: Final = timedelta(hours=12)
_OFFSET: Final = re.compile(r"UTC([+-])([01]\d|2[0-3]):([0-5]\d)")


def local(at: datetime, zone: str) -> datetime:
    """Return a time in a zone; in UTC where nobody knows the zone, as `told_zone` says.

    Parameters
    ----------
    at : datetime
        With its own zone, as the journal has it.
    zone : str
        Zone of the bench: a name of the tz database, or an offset such as ``UTC+02:00``.

    Returns
    -------
    datetime
        The same moment.
    """
    return at.astimezone(_zone(zone) or UTC)


def told_zone(zone: str) -> str:
    """Return the zone that `local` gives times in: `zone` itself, or UTC."""
    return zone if _zone(zone) is not None else "UTC"


def known_zone(name: str) -> bool:
    """Say whether a name is one of the tz database here."""
    try:
        return bool(name) and ZoneInfo(name) is not None
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False


def offset_name(offset: timedelta) -> str:
    """Return the name of a zone that always keeps one offset from UTC, in whole minutes."""
    minutes = round(offset.total_seconds() / 60)
    sign = "-" if minutes < 0 else "+"
    hours, rest = divmod(abs(minutes), 60)
    return f"UTC{sign}{hours:02}:{rest:02}" if minutes else "UTC"


def latest_day(at: datetime) -> date:
    """Return the latest day that it is anywhere on earth: 14 hours ahead of UTC.

    A day that somebody types has begun at the bench, maybe not yet in UTC.
    """
    return (at.astimezone(UTC) + _AHEAD).date()


def earliest_day(at: datetime) -> date:
    """Return the earliest day that it is anywhere on earth: 12 hours behind UTC."""
    return (at.astimezone(UTC) - _BEHIND).date()


@lru_cache(maxsize=64)
def _zone(name: str) -> tzinfo | None:
    """Return a zone by its name or its offset; None where nobody knows it."""
    if known_zone(name):
        return ZoneInfo(name)
    found = _OFFSET.fullmatch(name)
    if found is None:
        return None
    offset = timedelta(hours=int(found[2]), minutes=int(found[3]))
    return timezone(-offset if found[1] == "-" else offset)
