"""Held containers: weighed, scrapped, or let go with a reason; Release waits for it."""

from __future__ import annotations

import pytest
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.held import settle
from fillwright.records.entries import ContainersHeld, RunFinished
from fillwright.records.spans import Span


def look(shop):
    """Return what the page of held ones shows."""
    return settle.look(shop.desk, shop.state)


def let_go(shop, first, last, reason="looked at, all full", outcome="released-with-reason"):
    """Settle held ones without weighing them."""
    return settle.settle(shop.desk, shop.number, Span(first, last), outcome, reason, shop.press)


@pytest.fixture
def shop():
    """A finished run with 21 to 30 held for one low weight, and 41 set aside."""
    made = Workshop().to_run()
    for deviation in ("0.1", "0.2", "-5", "0.3", "-0.1", "0.2"):
        made.off(deviation)
    made.weigh(100, set_aside="spilled")
    made.fill_up()
    made.tell(RunFinished(filled=made.state.filled_to))
    return made


def test_what_is_held_is_listed_with_its_cause(shop):
    """A row for each span: numbers, trays, why."""
    rows = look(shop).open_rows

    assert [(r.first, r.last, r.containers, r.trays) for r in rows] == [
        (21, 30, 10, "tray 3"),
        (50, 50, 1, "tray 5"),
    ]
    assert [r.reasons for r in rows] == [("jar 30: 247.0 g is low.",), ("spilled",)]


def test_the_first_is_weighed_first(shop):
    """The order names the jar and its tray."""
    act = look(shop).act

    assert (act.what, act.value, act.state) == ("weigh", "21", "held")
    assert act.order == "Weigh held jar 21, tray 3."
    assert act.why == "11 held. A good weight settles it."


@pytest.mark.parametrize("deviation", ["0", "-5", "5", "-11.0"])
def test_a_weight_that_may_go_out_settles_it(shop, deviation):
    """In the band, low, high, exactly on T1: it may be sold, so it goes."""
    shop.off(deviation, purpose="held")

    assert shop.state.open_spans[0] == Span(22, 30)
    [row] = look(shop).settled_rows
    assert (row.numbers, row.outcome, row.person) == ("21", "weighed good", "AB")


@pytest.mark.parametrize(
    ("deviation", "order"),
    [
        ("-11.1", "Jar 21 is short. Top up, scrap or re-label it."),
        ("-25", "Jar 21 is short. Top up, scrap or re-label it."),
        ("31", "Jar 21 is overfull. Take product out and weigh, or scrap it."),
    ],
)
def test_a_short_or_overfull_one_stays_held(shop, deviation, order):
    """It is topped up, scrapped or re-labelled; of an overfull one something is taken out."""
    shop.off(deviation, purpose="held")
    act = look(shop).act

    assert shop.state.open_spans[0] == Span(21, 30)
    assert (act.state, act.what) == ("short", "weigh")
    assert act.order == order

    shop.off("0", purpose="held")

    assert shop.state.open_spans[0] == Span(22, 30)


def test_a_spoilt_weighing_settles_nothing(shop):
    """What went wrong on the scale says nothing of the jar."""
    shop.weigh("252", purpose="held", set_aside="wrong jar")

    assert shop.state.open_spans[0] == Span(21, 30)


@pytest.mark.parametrize("container", [20, 31, 120])
def test_one_that_is_not_held(shop, container):
    """The held ones are named."""
    with pytest.raises(BadInput, match=r"is not held\. Held are: 21 to 30 and 50"):
        shop.off("0", purpose="held", container=container)


def test_all_settled_leads_on(shop):
    """With the last one settled the order is Release."""
    shop.scrap(50, 50)
    let_go(shop, 21, 30)
    seen = look(shop)

    assert (seen.open_rows, seen.next_container) == ((), None)
    assert (seen.act.what, seen.act.main) == ("next", "Go on with Release")
    assert seen.act.why == "Every held one is settled."
    assert shop.state.scrapped == (Span(50, 50),)


def test_nothing_held_says_so():
    """In a run without a signal there is nothing to settle."""
    seen = look(Workshop().to_run())

    assert (seen.act.order, seen.act.main) == ("Nothing is held.", "Back to the run")
    assert seen.act.why == "Nothing was held in this job."


@pytest.mark.parametrize(
    ("first", "last", "outcome", "reason", "words"),
    [
        (21, 30, "weighed-good", "x", r"scrap, or release with a reason"),
        (21, 31, "scrapped", "x", r"21 to 31 are not all held"),
        (30, 21, "scrapped", "x", r"are not all held"),
        (1, 2, "scrapped", "x", r"Held are 21 to 30 and 50"),
        (21, 30, "released-with-reason", " ", r"Say why; the record prints it"),
        (21, 30, "scrapped", "", r"Say why; the record prints it"),
    ],
)
def test_what_is_refused(shop, first, last, outcome, reason, words):
    """An outcome that is none, containers that are not held, a reason that is missing."""
    entries = len(shop.entries())

    with pytest.raises(BadInput, match=words):
        let_go(shop, first, last, reason=reason, outcome=outcome)

    assert len(shop.entries()) == entries


def test_one_that_was_weighed_short_is_not_let_go(shop):
    """No reason makes a short one full: it is topped up or scrapped."""
    shop.off("-12", purpose="held", container=25)

    with pytest.raises(BadInput, match=r"25 was weighed short or overfull"):
        let_go(shop, 21, 30)

    let_go(shop, 21, 24)
    shop.scrap(25, 25)
    let_go(shop, 26, 30)
    assert shop.state.open_spans == (Span(50, 50),)


def test_one_that_was_topped_up_is_let_go(shop):
    """The latest weight counts: after topping up it is full."""
    shop.off("-12", purpose="held", container=25)
    shop.off("0", purpose="held", container=25)

    let_go(shop, 21, 24)
    let_go(shop, 26, 30)

    assert shop.state.open_spans == (Span(50, 50),)


def test_a_missing_piece_is_not_settled_by_a_weight(shop):
    """A weight does not show a torn seal in the product: it takes a decision with a reason."""
    shop.tell(ContainersHeld(first=1, last=120, reason=settle.PIECE + "hopper joint"))

    with pytest.raises(BadInput, match=r"held for a missing piece, and a weight does not show"):
        shop.off("0", purpose="held")

    shop.scrap(1, 120)
    assert shop.state.open_spans == ()
