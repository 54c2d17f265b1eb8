"""Jars that somebody doubts: held by tray or number, settled like others, on the record."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop

from fillwright.errors import BadInput, Conflict
from fillwright.jobs.desk import Press
from fillwright.jobs.held import acts, settle
from fillwright.jobs.held.by_hand import hold_by_hand
from fillwright.jobs.held.fates import fates_of
from fillwright.jobs.held.orders import due_held
from fillwright.jobs.held.relabel import relabel
from fillwright.jobs.held.take_back import take_back
from fillwright.jobs.papers import batch_record
from fillwright.jobs.release import stage as release
from fillwright.jobs.run.acts import strike as run_strike
from fillwright.records.entries import ContainersHeld, RunPaused
from fillwright.records.spans import Span

CRACK = "crack seen in one of them"


@pytest.fixture
def shop():
    """A run of 200 jars on trays of ten, 70 of them filled and weighed."""
    made = Workshop().to_run()
    for deviation in ("0.1", "0.2", "-0.1", "0.3", "-0.1", "0.2"):
        made.off(deviation)
    return made


def hold(shop, reason=CRACK, **which):
    """Hold some by hand."""
    return hold_by_hand(shop.desk, shop.number, reason, shop.press, **which)


def spans(shop):
    """What is held, as pairs."""
    return [(span.first, span.last) for span in shop.state.open_spans]


@pytest.mark.parametrize(
    ("which", "held"),
    [
        ({"tray": "3"}, [(21, 30)]),
        ({"tray": "3-4"}, [(21, 40)]),
        ({"numbers": "40"}, [(40, 40)]),
        ({"numbers": "41-46"}, [(41, 46)]),
        ({"numbers": "41 to 43"}, [(41, 43)]),
        ({"numbers": "12 \u2013 14, 20 and 40-41"}, [(12, 14), (20, 20), (40, 41)]),
    ],
)
def test_a_tray_or_numbers_are_held_with_the_reason(shop, which, held):
    """As they are typed; the reason says that it was by hand, and by whom."""
    hold(shop, **which)

    assert spans(shop) == held
    assert {one.reason for one in shop.state.holds} == {f"in doubt, held by hand (AB): {CRACK}"}


@pytest.mark.parametrize(
    ("which", "told", "field"),
    [
        ({}, "Say which: type a tray", "tray"),
        ({"tray": "3", "numbers": "4"}, "not both", "numbers"),
        ({"tray": "x"}, "'x' names no tray", "tray"),
        ({"tray": "0"}, "There is no tray 0", "tray"),
        ({"tray": "99"}, "There is no tray 99", "tray"),
        ({"tray": "5-3"}, "names no tray", "tray"),
        ({"numbers": "60-40"}, "60 to 40 runs backwards", "numbers"),
        ({"numbers": "0-3"}, "There is no jar 0: 1 to", "numbers"),
        ({"numbers": "40-600"}, "There is no jar 600: 1 to", "numbers"),
        ({"numbers": "the third"}, "names no jars", "numbers"),
        ({"numbers": "40,"}, "names no jars", "numbers"),
        ({"numbers": "9" * 5000}, "names no jars", "numbers"),
        ({"numbers": "4", "last_filled": 3}, "3 cannot be the last one filled", "last_filled"),
        ({"numbers": "4", "last_filled": 999}, "cannot be the last one filled", "last_filled"),
        ({"numbers": "4", "reason": " "}, "Say why", "reason"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(shop, which, told, field):
    """Nothing is kept of it."""
    before = len(shop.entries())

    with pytest.raises(BadInput, match=told) as refused:
        hold(shop, **which)

    assert refused.value.field == field
    assert len(shop.entries()) == before


def test_what_is_gone_cannot_be_held(shop):
    """The refusal says what became of it."""
    hold(shop, numbers="41-42")
    settle.settle(shop.desk, shop.number, Span(41, 41), "scrapped", "cracked", shop.press)

    with pytest.raises(BadInput, match=r"41 cannot be held: 41 scrapped by AB\. Leave it out\."):
        hold(shop, numbers="40-42")


def test_an_older_page_holds_nothing(shop):
    """Somebody was first: the page is to be looked at again."""
    seen = shop.state.revision - 1

    with pytest.raises(Conflict, match="Somebody else was first"):
        hold_by_hand(shop.desk, shop.number, CRACK, Press(person="AB", seen=seen), tray="1")


def test_more_may_be_filled_than_was_weighed(shop):
    """The last one filled is asked; the run stops there and the next one is weighed."""
    at = shop.state.filled_to
    hold(shop, numbers=f"{at}-{at + 3}", last_filled=at + 4)

    assert spans(shop) == [(at, at + 3)]
    assert shop.state.filled_to == at + 4
    assert isinstance(shop.entries()[-2].payload, RunPaused)
    assert shop.state.run.check_next


def test_a_doubt_that_no_weight_shows_is_not_weighed_away(shop):
    """It is scrapped, or released with the reason; nothing else settles it."""
    hold(shop, tray="3")
    act = settle.look(shop.desk, shop.state).act
    assert act.order == f"Look at held jar 21, tray 3: {CRACK}."
    number, press = shop.number, shop.press
    with pytest.raises(BadInput, match=f"no weight shows why: {CRACK}"):
        shop.off("0", purpose="held")
    with pytest.raises(BadInput, match="topping up does not mend"):
        acts.top_up(shop.desk, number, (Span(21, 21),), "short", press)
    with pytest.raises(BadInput, match="another label does not mend"):
        relabel(shop.desk, number, (Span(21, 21),), Decimal(200), "short", press)
    with pytest.raises(BadInput, match="in your own words why the product may be used"):
        acts.empty_back(
            shop.desk, number, (Span(21, 21),), "hopper", "filled short or overfull", press
        )
    settle.settle(shop.desk, number, Span(21, 22), "scrapped", "cracked", press)
    settle.settle(shop.desk, number, Span(23, 30), "released-with-reason", "all whole", press)

    assert spans(shop) == []
    assert fates_of(shop.state)["settled"] == (Span(23, 30),)
    assert fates_of(shop.state)["scrapped"] == (Span(21, 22),)


def test_a_doubted_weight_is_settled_by_a_good_one(shop):
    """Where the reason is the weight itself, or a tick says so."""
    hold(shop, "weight in doubt", numbers="44-45", weight_settles=True)
    assert settle.look(shop.desk, shop.state).act.order.startswith("Weigh held jar 44")
    shop.off("0.2", purpose="held")

    assert spans(shop) == [(45, 45)]


def test_what_a_weight_settles_is_weighed_before_what_none_does(shop):
    """A doubted tray in front does not keep the rest from the scale."""
    hold(shop, tray="1")
    hold(shop, "weight in doubt", numbers="44", weight_settles=True)

    assert due_held(shop.state) == 44
    shop.off("0.2", purpose="held")
    assert spans(shop) == [(1, 10)]
    assert due_held(shop.state) == 1


def test_a_doubt_that_was_settled_is_over(shop):
    """Held again for its weight, a weight settles it."""
    hold(shop, numbers="44")
    settle.settle(
        shop.desk, shop.number, Span(44, 44), "released-with-reason", "whole", shop.press
    )
    shop.tell(ContainersHeld(first=44, last=44, reason="jar 44: 247.0 g is low."))

    shop.off("0.2", purpose="held")
    assert spans(shop) == []


def test_release_waits_and_the_record_shows_it():
    """What is held by hand keeps the lot back; the record has who, why and what became of it."""
    shop = Workshop().to_finished()
    hold(shop, tray="3")
    look = release.look(shop.desk, shop.state)
    assert look.held == 10
    assert look.act.what == "settle"

    settle.settle(shop.desk, shop.number, Span(21, 30), "scrapped", "cracked", shop.press)
    told = f"in doubt, held by hand (AB): {CRACK}"
    [line] = [one for one in batch_record(shop.desk, shop.state).held if one.reason == told]
    assert "21 to 30" in str(line)
    assert [(one.outcome, one.containers) for one in line.outcomes] == [("scrapped", 10)]
    assert release.look(shop.desk, shop.state).held == 0


def test_a_scrap_right_after_a_short_weight_is_taken_back_as_itself(shop):
    """The weight settled nothing: it stays, and the scrap behind it goes."""
    hold(shop, "weight in doubt", numbers="44-46", weight_settles=True)
    shop.off("-20", purpose="held")
    settle.settle(shop.desk, shop.number, Span(44, 44), "scrapped", "short", shop.press)
    weighed = len([one for one in shop.state.weighings if one.counts])
    take_back(shop.desk, shop.number, shop.press)

    assert spans(shop) == [(44, 46)]
    assert len([one for one in shop.state.weighings if one.counts]) == weighed


def test_what_is_in_hand_stays_filled_when_its_weight_is_struck_out(shop):
    """The number of the weight was wrong; those held by hand are there all the same."""
    at = shop.state.filled_to
    hold(shop, numbers=f"{at - 2}-{at}")
    run_strike(shop.desk, shop.number, at, "typed wrong", shop.press)

    assert shop.state.filled_to == at
    assert spans(shop) == [(at - 2, at)]
