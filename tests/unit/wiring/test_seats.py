"""Seats: one device weighs, another one watches until a person takes over."""

from __future__ import annotations

import pytest

from fillwright.wiring.seats import Seat, Seats


class Seconds:
    """A count of seconds that only the test moves."""

    now = 100.0

    def __call__(self):
        """Return the count."""
        return self.now


@pytest.fixture
def seconds():
    """A count of seconds that only the test moves."""
    return Seconds()


@pytest.fixture
def seats(seconds):
    """Seats of a program that has run for a while."""
    seats = Seats(seconds)
    seconds.now += 60
    return seats


def test_the_first_page_sits_and_the_second_watches(seats):
    """The second device sees who weighs, for as long as the first is there."""
    seats.open("1", "a", "AB", may_sit=True)
    second = seats.open("1", "b", "CD", may_sit=True)

    assert second.look() == Seat(device="a", who="AB")
    assert seats.open("2", "b", "CD", may_sit=True).look().device == "b"


def test_taking_over_is_told_to_all(seats):
    """Who listens hears which job changed; both devices see the new one."""
    told = []
    seats.subscribe(told.append)
    first = seats.open("1", "a", "AB", may_sit=True)
    second = seats.open("1", "b", "CD", may_sit=True)
    seats.take("1", "b", "CD")

    assert told == ["1", "1"]
    assert first.look() == second.look() == Seat(device="b", who="CD")


def test_a_watcher_never_sits_down_by_itself(seats, seconds):
    """The other device may be out of reach and still take weights: a person must ask."""
    first = seats.open("1", "a", "AB", may_sit=True)
    second = seats.open("1", "b", "CD", may_sit=True)
    first.close()
    seconds.now += 3600

    assert second.look().device == "a"


def test_whoever_opens_after_the_other_left_sits_after_a_moment(seats, seconds):
    """A page that is only reloaded keeps its place; one that is gone gives it up."""
    seats.open("1", "a", "AB", may_sit=True).close()
    second = seats.open("1", "b", "CD", may_sit=True)
    assert second.look().device == "a"
    seconds.now += 2.1

    assert second.look().device == "b"


def test_a_page_that_watched_before_a_restart_does_not_sit_first(seconds):
    """After a restart the device that weighed gets a few seconds to be back."""
    seats = Seats(seconds)
    watcher = seats.open("1", "b", "CD", may_sit=True, watched=True)
    assert watcher.look() is None
    seats.open("1", "a", "AB", may_sit=True)
    seconds.now += 60

    assert watcher.look().device == "a"


def test_a_page_that_does_not_weigh_takes_no_seat(seats):
    """Looking at a chart is not weighing."""
    assert seats.open("1", "a", "AB", may_sit=False).look() is None
