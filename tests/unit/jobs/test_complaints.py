"""Complaints on record: taken, answered, closed, opened again, and told of their lot."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.files.tables import table_of
from fillwright.jobs.papers import batch_record
from fillwright.jobs.release.inspection import inspector_sheet
from fillwright.jobs.trace import complaints
from fillwright.jobs.trace.both_ways import trace
from fillwright.jobs.trace.complaint import Told
from fillwright.jobs.trace.complaint_look import (
    complaint_of,
    complaints_of_job,
    complaints_on_record,
)
from fillwright.jobs.trace.complaints import Telling
from fillwright.records.spans import Span, count

SAID = Telling(words="It came half empty.", told_on="2031-03-04", customer="The corner shop")


@pytest.fixture
def shop():
    """A released lot."""
    shop = Workshop()
    shop.to_judged()
    shop.sign()
    return shop


def taken(shop, **told):
    """Take a complaint and return its number."""
    told = Told(code=shop.facts.lot_code, **told)
    return complaints.take(shop.desk, told, SAID, shop.press)


def test_one_taken_of_a_closed_lot_is_kept_with_all_that_was_told(shop):
    """Number, day, words, who took it; the lot itself is not touched."""
    before = shop.state.revision
    first = taken(shop, container=25, about="leaked", found_g=Decimal(120))
    second = taken(shop, tray=2)
    one = complaint_of(shop.desk, first)

    assert (first, second) == (1, 2)
    assert one.taken.told_words == "It came half empty."
    assert (one.taken.told_on, one.taken_by) == ("2031-03-04", shop.press.person)
    assert (one.taken.container, one.taken.found_g) == (25, Decimal(120))
    assert complaint_of(shop.desk, second).taken.tray == 2
    assert "of tray 2" in complaints.sheet_of(shop.desk, second).jar
    assert shop.state.revision == before


def test_tray_and_place_are_kept_as_the_number(shop):
    """The number says both."""
    one = complaint_of(shop.desk, taken(shop, tray=3, place=5))

    assert (one.taken.container, one.taken.tray) == (25, None)


@pytest.mark.parametrize(
    ("told", "telling", "field", "words"),
    [
        ({"code": "nothing"}, SAID, "code", "No lot has"),
        ({"container": 90_000}, SAID, "container", "none of this lot"),
        ({"tray": 900}, SAID, "tray", "no tray"),
        ({}, Telling(words="  "), "told_words", "customer says"),
        ({}, Telling(words="empty", told_on="soon"), "told_on", "no day"),
        ({}, Telling(words="empty", told_on="2999-01-01"), "told_on", "not come yet"),
        ({}, Telling(words="empty", told_on="0001-01-01"), "told_on", "before the lot was opened"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(shop, told, telling, field, words):
    """The error names the field; no complaint stands after it."""
    with pytest.raises(BadInput, match=words) as refused:
        complaints.take(
            shop.desk, Told(**{"code": shop.facts.lot_code, **told}), telling, shop.press
        )

    assert refused.value.field == field
    assert complaints_on_record(shop.desk) == ()


def test_one_is_answered_then_closed_and_can_be_opened_again(shop):
    """In this order alone; each step has its reason, and every step stays."""
    desk, press, number = shop.desk, shop.press, taken(shop, container=25, about="leaked")
    with pytest.raises(BadInput, match="no finding yet"):
        complaints.close(desk, number, "a new one", press)
    with pytest.raises(BadInput, match="Choose"):
        complaints.answer(desk, number, "maybe", "looked at it", press)
    with pytest.raises(BadInput, match="rests on"):
        complaints.answer(desk, number, "leaked", " ", press)

    complaints.answer(desk, number, "cannot-say", "no jar came back", press)
    complaints.answer(desk, number, "leaked", "the lid came back loose", press)
    complaints.close(desk, number, "a new one was sent", press)

    with pytest.raises(BadInput, match="is closed"):
        complaints.answer(desk, number, "short", "weighed", press)
    one = complaint_of(desk, number)
    assert not one.is_open
    assert one.answer.finding == "leaked"
    assert [answer.finding for _, _, answer in one.answers] == ["cannot-say", "leaked"]

    complaints.reopen(desk, number, "a second one leaks", press)
    assert complaint_of(desk, number).is_open
    with pytest.raises(BadInput, match="is open"):
        complaints.reopen(desk, number, "again", press)


def test_the_letter_says_the_finding_and_what_was_done(shop):
    """And never who complains or what the finding rests on."""
    number = taken(shop, container=25, about="leaked")
    before = " ".join(complaints.sheet_of(shop.desk, number).letter)
    complaints.answer(shop.desk, number, "leaked", "the lid came back loose", shop.press)
    complaints.close(shop.desk, number, "a new one was sent", shop.press)
    letter = " ".join(complaints.letter_of(shop.desk, number).sheet.letter)

    assert "We find" not in before
    assert "We find that it leaked" in letter
    assert "What we have done: a new one was sent" in letter
    assert "corner shop" not in letter
    assert "came back loose" not in letter


def test_it_is_shown_wherever_the_lot_is(shop):
    """Trace, paper for the inspector, batch record, data out."""
    number = taken(shop, container=25, about="leaked")
    sentence = f"Complaint {number}, 2031-03-04, jar 25: leaked. No finding yet; open."

    assert trace(shop.desk, shop.facts.lot_code).lots[0].complaints == (sentence,)
    assert sentence in batch_record(shop.desk, shop.state).notes
    line = inspector_sheet(shop.desk, seed=1).complaints[0]
    assert (line.words, line.is_closed) == (sentence, False)
    table = table_of(shop.desk, "complaints")
    row = dict(zip(table.headers, next(iter(table.rows)), strict=True))
    assert (row["container"], row["complained of"], row["state"]) == (25, "leaked", "open")
    assert row["customer"] == SAID.customer
    assert list(table_of(shop.desk, "complaints", shop.number).rows) != []


def test_open_ones_stand_first_and_a_lot_has_its_own(shop):
    """The list begins with what is to be done."""
    first, second = taken(shop, container=25), taken(shop, container=26)
    complaints.answer(shop.desk, second, "in-order", "weighed full", shop.press)
    complaints.close(shop.desk, second, "said so", shop.press)

    assert [one.number for one in complaints_on_record(shop.desk)] == [first, second]
    assert len(complaints_of_job(shop.desk, shop.number)) == 2
    assert complaints_of_job(shop.desk, "9999") == ()


def test_a_complaint_leaves_every_jar_where_it_was(shop):
    """The fates of the lot are those from before."""
    before = trace(shop.desk, shop.facts.lot_code).jars[0].fates
    taken(shop, container=25)
    shop.clock.at += timedelta(days=1)

    after = trace(shop.desk, shop.facts.lot_code).jars[0].fates
    assert after == before
    assert sum(line.containers for line in after) == count([Span(1, shop.state.filled_to)])


def test_a_day_that_began_at_the_bench_and_not_yet_in_utc(shop):
    """East of Greenwich the morning has a date that UTC has not: it can be typed all the same."""
    shop.clock.at = shop.clock.at.replace(hour=20)
    tomorrow = (shop.clock.at + timedelta(days=1)).date().isoformat()
    number = complaints.take(
        shop.desk,
        Told(code=shop.facts.lot_code),
        Telling(words="It came half empty.", told_on=tomorrow),
        shop.press,
    )

    assert complaint_of(shop.desk, number).taken.told_on == tomorrow
