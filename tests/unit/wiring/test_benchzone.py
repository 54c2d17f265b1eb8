"""The bench's zone by a name that can be told another day, or by its offset."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from fillwright.wiring.benchzone import bench_zone

SUMMER = datetime(2031, 7, 4, 12, tzinfo=UTC)
BERLIN = SUMMER.astimezone(ZoneInfo("Europe/Berlin"))


@pytest.fixture
def database(tmp_path):
    """A folder as the tz database has it, with a link into it as a system makes one."""
    for name in ("Europe/Berlin", "Etc/UTC", "posix/Europe/Berlin"):
        file = tmp_path / "zoneinfo" / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.touch()

    def link(name):
        at = tmp_path / "localtime"
        at.unlink(missing_ok=True)
        at.symlink_to(tmp_path / "zoneinfo" / name)
        return at

    return link


@pytest.mark.parametrize("name", ["Europe/Berlin", "posix/Europe/Berlin"])
def test_the_link_of_the_system_names_the_zone(database, name):
    """Also through the folders that hold every zone once more."""
    assert bench_zone(BERLIN, environ={}, link=database(name)) == "Europe/Berlin"


def test_utc_is_called_utc(database):
    """However the tz database files it."""
    assert bench_zone(SUMMER, environ={}, link=database("Etc/UTC")) == "UTC"


@pytest.mark.parametrize(
    "named", ["Europe/Berlin", ":Europe/Berlin", "/usr/share/zoneinfo/Europe/Berlin"]
)
def test_the_environment_goes_before_the_link(database, named):
    """As the machine's own clock has it."""
    assert bench_zone(BERLIN, environ={"TZ": named}, link=database("Etc/UTC")) == "Europe/Berlin"


@pytest.mark.parametrize(
    "named", ["CET-1CEST,M3.5.0,M10.5.0/3", "CEST", "Mars/Olympus", "Europe", "../../etc", "é\0"]
)
def test_what_names_no_zone_is_told_by_its_offset(database, named):
    """A rule, an abbreviation, a folder, nonsense: never UTC in silence."""
    assert bench_zone(BERLIN, environ={"TZ": named}, link=database("Etc/UTC")) == "UTC+02:00"


def test_a_name_that_keeps_another_time_than_the_clock_is_not_believed(database):
    """The link was changed since the program began: its clock keeps the old zone."""
    assert bench_zone(SUMMER, environ={}, link=database("Europe/Berlin")) == "UTC"


@pytest.mark.parametrize(
    ("hours", "name"), [(5.75, "UTC+05:45"), (-3.5, "UTC-03:30"), (0, "UTC"), (14, "UTC+14:00")]
)
def test_without_link_and_environment_there_is_the_offset(tmp_path, hours, name):
    """As on a system that keeps its zone elsewhere."""
    at = SUMMER.astimezone(timezone(timedelta(hours=hours)))
    assert bench_zone(at, environ={}, link=tmp_path / "none") == name
