"""Times by the clock on the wall, and the zone that a print says they are of."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from fillwright.records.localtime import local, offset_name, told_zone
from fillwright.report.wording import stamped

NOON = datetime(2031, 7, 4, 12, 5, tzinfo=UTC)


@pytest.mark.parametrize(
    ("zone", "printed"),
    [
        ("Europe/Berlin", "2031-07-04 14:05 (Europe/Berlin)"),
        ("UTC-03:30", "2031-07-04 08:35 (UTC-03:30)"),
        ("UTC+13:45", "2031-07-05 01:50 (UTC+13:45)"),
        ("UTC", "2031-07-04 12:05 (UTC)"),
        # What nobody knows is given in UTC, and said so.
        ("CEST", "2031-07-04 12:05 (UTC)"),
        ("W. Europe Daylight Time", "2031-07-04 12:05 (UTC)"),
        ("UTC+99:00", "2031-07-04 12:05 (UTC)"),
        ("", "2031-07-04 12:05 (UTC)"),
    ],
)
def test_a_print_says_the_zone_that_its_times_are_in(zone, printed):
    """A name, an offset, an abbreviation of an older journal."""
    assert stamped(NOON, zone) == printed


def test_winter_and_summer_of_a_named_zone_differ():
    """A time of January that is printed in July stands as the clock showed it then."""
    winter = datetime(2031, 1, 4, 12, 5, tzinfo=UTC)
    assert local(winter, "Europe/Berlin").hour == 13
    assert local(NOON, "Europe/Berlin").hour == 14


@pytest.mark.parametrize("minutes", [-720, -210, -1, 0, 1, 345, 840])
def test_an_offset_is_read_back_from_its_name(minutes):
    """There and back is the identity."""
    name = offset_name(timedelta(minutes=minutes))
    assert local(NOON, name).utcoffset() == timedelta(minutes=minutes)
    assert told_zone(name) == name
