"""The time zone of this machine by its name in the tz database, or else its offset from UTC.

An abbreviation such as CEST names no zone: a print could not be told in it another day.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

from fillwright.records.localtime import known_zone, offset_name

__all__ = ["bench_zone"]

_LINK: Final = Path("/etc/localtime")
_DATABASE: Final = "zoneinfo/"
_KINDS: Final = ("posix/", "right/")
"""Folders of the tz database that hold every zone once more."""
_UTC: Final = ("Etc/UTC", "Etc/UCT", "Etc/Universal", "Etc/Zulu")


def bench_zone(
    at: datetime, *, environ: Mapping[str, str] | None = None, link: Path = _LINK
) -> str:
    """Return the zone of this machine.

    Parameters
    ----------
    at : datetime
        Now, by the machine's own clock and in its own zone.
    environ : mapping of str to str, optional
        The environment, whose ``TZ`` goes before the link; that of the process when left out.
    link : Path
        Where the system links to the file of its zone.

    Returns
    -------
    str
        Such as ``Europe/Berlin`` where the system names a zone that keeps the time its clock
        keeps; else the offset of this moment, such as ``UTC+02:00``.
    """
    named = (os.environ if environ is None else environ).get("TZ", "").strip().removeprefix(":")
    offset = at.utcoffset() or timedelta()
    for name in (_of_database(named), "" if named else _of_database(_target(link))):
        if known_zone(name) and at.astimezone(ZoneInfo(name)).utcoffset() == offset:
            return name
    return offset_name(offset)


def _target(link: Path) -> str:
    """Return where a link leads, empty where there is none."""
    try:
        return link.resolve(strict=True).as_posix()
    except (OSError, RuntimeError):
        return ""


def _of_database(path: str) -> str:
    """Return the name of a zone out of the path of its file."""
    name = path.rpartition(_DATABASE)[2] if _DATABASE in path else path
    for kind in _KINDS:
        name = name.removeprefix(kind)
    return "UTC" if name in _UTC else name
