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


def test_a_program_weighs_freely_where_no_page_does(seats, seconds):
    """Nobody sits: nobody is asked; nor once the page that sat is gone for a moment."""
    assert seats.admit("1", "filler") is None
    page = seats.open("1", "a", "AB", may_sit=True)
    assert seats.admit("1", "filler") == Seat(device="a", who="AB")
    page.close()
    assert seats.admit("1", "filler") is not None
    seconds.now += 2.1

    assert seats.admit("1", "filler") is None


def test_a_program_is_let_in_by_name_at_the_page_that_weighs(seats):
    """The page that weighs is asked, no other; let in, it weighs beside that page."""
    told = []
    first = seats.open("1", "a", "AB", may_sit=True)
    second = seats.open("1", "b", "CD", may_sit=True)
    seats.subscribe(told.append)
    seats.admit("1", "filler")
    seats.admit("1", "filler")
    assert (first.asks(), second.asks(), told) == ("filler", None, ["1"])
    seats.answer("1", "b", "filler", lets=True)
    assert seats.admit("1", "filler") is not None

    seats.answer("1", "a", "filler", lets=True)

    assert first.asks() is None
    assert seats.admit("1", "filler") is None
    assert seats.admit("1", "another") is not None
    assert seats.admit("2", "filler") is None


def test_a_program_that_was_sent_off_asks_no_more(seats):
    """It stays refused, in silence, until another device weighs; that one is asked anew."""
    first = seats.open("1", "a", "AB", may_sit=True)
    second = seats.open("1", "b", "CD", may_sit=True)
    seats.admit("1", "filler")
    seats.answer("1", "a", "filler", lets=False)
    assert seats.admit("1", "filler") is not None
    assert first.asks() is None

    seats.take("1", "b", "CD")
    seats.admit("1", "filler")

    assert second.asks() == "filler"


def test_names_without_end_do_not_pile_up(seats):
    """A few ask at a time, in the order they came; the rest is refused all the same."""
    page = seats.open("1", "a", "AB", may_sit=True)
    for number in range(100):
        assert seats.admit("1", f"program {number}") is not None
    for number in range(8):
        assert page.asks() == f"program {number}"
        seats.answer("1", "a", f"program {number}", lets=False)

    assert page.asks() is None


def test_an_answer_to_nobody_changes_nothing(seats):
    """A program that never asked is not let in, and a job that nobody weighs has no answer."""
    seats.answer("1", "a", "filler", lets=True)
    seats.open("1", "a", "AB", may_sit=True)
    seats.answer("1", "a", "filler", lets=True)

    assert seats.admit("1", "filler") is not None
