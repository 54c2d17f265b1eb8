"""Dates and times as spreadsheets write them; which of day and month stands first is asked for.

A time without its zone is one of the bench's own clock.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from functools import lru_cache
from typing import Final

from fillwright.records.codec import stamp

__all__ = ["DateOrder", "Stamps", "clock_of", "date_order", "has_date", "is_clock", "moment_of"]

_DATE: Final = re.compile(r"(\d{1,4})[./-](\d{1,2})[./-](\d{1,4})")
_CLOCK: Final = re.compile(
    r"(\d{1,2})[:.h](\d{2})(?:[:.](\d{2})(?:[.,](\d{1,6}))?)?\s*([AaPp])?\.?(?:[Mm]\.?)?"
)
_SERIAL: Final = re.compile(r"[2-7]\d{4}(?:\.\d+)?")
_FIRST_DAY: Final = datetime(1899, 12, 30)  # noqa: DTZ001  a spreadsheet's day nought has no zone
_YEAR_LENGTH: Final = 4
_MONTHS: Final = 12
_TO_SECONDS: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[ T][0-9]{2}:[0-5][0-9]:[0-5][0-9]")
_HOUR_LENGTH: Final = len("2031-03-05 08")
_MINUTE_LENGTH: Final = len("2031-03-05 08:00")
_TO_ITS_LAST_SECOND: Final = timedelta(minutes=59, seconds=59)
_REMEMBERED: Final = 2000
_CENTURY: Final = 2000
_NOON: Final = 12
_YEARS: Final = range(1971, 2200)


class DateOrder(StrEnum):
    """What stands first in a date: year, day or month."""

    YEAR = "year"
    DAY = "day"
    MONTH = "month"


def has_date(text: str) -> bool:
    """Say whether a cell can be a date, with a time of day or without."""
    told = text.strip()
    return _DATE.match(told) is not None or _SERIAL.fullmatch(told) is not None


def is_clock(text: str) -> bool:
    """Say whether a cell can be a time of day alone."""
    return ":" in text and _CLOCK.fullmatch(text.strip()) is not None


def date_order(texts: Iterable[str]) -> DateOrder | None:
    """Return what stands first in the dates of a column, None where they leave it open.

    Parameters
    ----------
    texts : iterable of str
        Cells of the column.

    Returns
    -------
    DateOrder or None
        A point between the parts means day first, as wherever it is written so.
    """
    for text in texts:
        found = _DATE.match(text.strip())
        if found is None:
            continue
        first, second = found[1], found[2]
        if len(first) == _YEAR_LENGTH:
            return DateOrder.YEAR
        if int(first) > _MONTHS or "." in found[0]:
            return DateOrder.DAY
        if int(second) > _MONTHS:
            return DateOrder.MONTH
    return None


def clock_of(text: str) -> time | None:
    """Return the time of day that a cell holds, or None."""
    told = text.strip().partition(" ")[2] if _DATE.match(text.strip()) else text.strip()
    found = _CLOCK.fullmatch(told)
    if found is None:
        return None
    hour = int(found[1])
    half = (found[5] or "").lower()
    if half and 1 <= hour <= _NOON:
        hour = hour % _NOON + (_NOON if half == "p" else 0)
    micro = int((found[4] or "0").ljust(6, "0"))
    try:
        return time(hour, int(found[2]), int(found[3] or 0), micro)
    except ValueError:
        return None


def moment_of(text: str, order: DateOrder | None, clock: time | None = None) -> datetime | None:
    """Return the moment that a cell holds, in UTC, or None where it holds none.

    Parameters
    ----------
    text : str
        Date, or date and time; ISO 8601 with its zone too, and a spreadsheet's count of days.
    order : DateOrder or None
        What stands first.
    clock : time, optional
        Time of day from a column of its own.

    Returns
    -------
    datetime or None
        A time without zone is taken as the bench's own.
    """
    told = text.strip()
    if len(told) >= 10 and told[4] == "-":  # noqa: PLR2004  an ISO date is ten letters
        try:
            at = datetime.fromisoformat(told)
        except ValueError:
            return None
        if clock is not None:
            at = datetime.combine(at.date(), clock, at.tzinfo)
        return _in_utc(at)
    if _SERIAL.fullmatch(told):
        at = _FIRST_DAY + timedelta(seconds=round(float(told) * 86400))
        return _in_utc(at if clock is None else datetime.combine(at.date(), clock))
    found = _DATE.match(told)
    day = None if found is None else _day(found[1], found[2], found[3], order)
    if found is None or day is None:
        return None
    rest = told[found.end() :].strip(" T,")
    at_clock = clock_of(rest) if rest else clock or time()
    return None if at_clock is None else _in_utc(datetime.combine(day, clock or at_clock))


class Stamps:
    """Stamps of the moments of one column, quick where many share an hour.

    Parameters
    ----------
    order : DateOrder or None
        What stands first in its dates.
    """

    def __init__(self, order: DateOrder | None) -> None:
        self._order = order
        self._hours: dict[str, datetime | None] = {}
        self._minutes: dict[str, str] = {}

    def of(self, text: str, clock: time | None = None) -> str:
        """Return the stamp of what `moment_of` finds in a cell, or nothing where it finds none."""
        if clock is None and _TO_SECONDS.fullmatch(text) is not None:
            minute = text[:_MINUTE_LENGTH]
            began = self._minutes.get(minute)
            if began is None:
                began = self._began(minute)
            if began:
                return f"{began}{text[17:19]}.000000Z"
        moment = moment_of(text, self._order, clock)
        return "" if moment is None else stamp(moment)

    def _began(self, minute: str) -> str:
        """Return the stamp of a minute up to its seconds; nothing in an hour of moved clocks."""
        hour = minute[:_HOUR_LENGTH]
        if hour not in self._hours:
            if len(self._hours) >= _REMEMBERED:
                self._hours.clear()
            self._hours[hour] = self._steady(hour)
        first = self._hours[hour]
        if len(self._minutes) >= _REMEMBERED:
            self._minutes.clear()
        began = self._minutes[minute] = (
            "" if first is None else stamp(first + timedelta(minutes=int(minute[14:])))[:17]
        )
        return began

    def _steady(self, hour: str) -> datetime | None:
        """Return in UTC when an hour begins, if clocks go evenly through all of it."""
        first = moment_of(f"{hour}:00:00", self._order)
        last = moment_of(f"{hour}:59:59", self._order)
        if first is None or last is None or first.second or last - first != _TO_ITS_LAST_SECOND:
            return None
        return first


@lru_cache(maxsize=64)
def _day(first: str, second: str, third: str, order: DateOrder | None) -> date | None:
    """Return the day that three figures name."""
    if len(first) == _YEAR_LENGTH:
        year, month, day = int(first), int(second), int(third)
    elif order is DateOrder.MONTH:
        month, day, year = int(first), int(second), int(third)
    elif order is DateOrder.DAY:
        day, month, year = int(first), int(second), int(third)
    elif order is DateOrder.YEAR:
        year, month, day = int(first), int(second), int(third)
    else:
        return None
    try:
        return date(year + _CENTURY if year < 100 else year, month, day)  # noqa: PLR2004
    except ValueError:
        return None


def _in_utc(at: datetime) -> datetime | None:
    """Return a moment in UTC, None far from our days; without its zone it is one of the bench."""
    if at.year not in _YEARS:
        return None
    try:
        return at.astimezone(UTC)
    except (OverflowError, OSError, ValueError):
        return None
