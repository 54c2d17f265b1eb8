"""Trace both ways, what became of every jar, and what the record says of one."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.held.fates import fates_of
from fillwright.jobs.release.keep_sample import keep_sample, numbers_of
from fillwright.jobs.run import changes
from fillwright.jobs.trace.both_ways import near_codes, trace
from fillwright.jobs.trace.complaint import Told, complaint
from fillwright.records.spans import Span, count

CODES = {"container": "K-1", "lid": "L-1", "drum": "D-1"}


@pytest.fixture
def shop():
    """A run with all its codes told, and a second carton and drum after jar 40."""
    shop = Workshop()
    changes.tell_lots(shop.desk, shop.number, CODES, shop.press, batch="B-77")
    shop.to_run()
    while shop.state.filled_to < 40:
        shop.off(0, purpose="dose")
    last = shop.state.filled_to
    changes.take_lot(shop.desk, shop.number, "container", "K-2", shop.press, last_filled=last)
    changes.take_drum(shop.desk, shop.number, "D-2", shop.press, last_filled=last, batch="B-78")
    shop.look_at_first()
    return shop


def words_of(found):
    """Return all sentences of a trace's holes."""
    return " ".join((*found.holes, *(h for lot in found.lots for h in lot.holes)))


class TestTrace:
    """From a jar to its lots, from a drum to its jars."""

    def test_a_lot_leads_to_all_that_it_was_made_of(self, shop):
        """Cartons, lids, drums and batches by jars, machine, people, weighings, checks."""
        last = shop.state.filled_to
        found = trace(shop.desk, shop.facts.lot_code)
        lot = found.lots[0]

        shown = {(f.what, f.code, f.batch, f.first, f.last) for f in lot.filled_from}

        assert shown == {
            ("container", "K-1", "", 1, last),
            ("lid", "L-1", "", 1, last),
            ("drum", "D-1", "B-77", 1, last),
        }
        assert (lot.machine, lot.people[0].initials) == ("East filler", "AB")
        assert lot.checks
        assert lot.weighings.startswith(f"{lot.weighed} of {last}")

    def test_a_drum_leads_to_its_jars_and_no_others(self, shop):
        """The first drum to what was filled before the second, the second to the rest."""
        last = shop.state.filled_to
        shop.off(0, purpose="dose")
        filled = shop.state.filled_to

        first, second = (trace(shop.desk, code).jars[0] for code in ("D-1", "D-2"))

        assert (first.numbers, first.containers) == (f"1 to {last}", last)
        assert second.containers == filled - last
        assert trace(shop.desk, "B-78").jars[0].numbers == second.numbers

    def test_case_and_blanks_make_no_difference(self, shop):
        """A code is read off a wet carton."""
        assert trace(shop.desk, " k - 1 ").code == "K-1"

    def test_a_code_that_is_not_there_offers_the_nearest(self, shop):
        """By the fewest letters that differ."""
        with pytest.raises(BadInput, match="Nearest: L-0417"):
            trace(shop.desk, "L-0471")
        assert near_codes(shop.desk, "K-3")[:2] == ("K-1", "K-2")
        with pytest.raises(BadInput, match="Type the code"):
            trace(shop.desk, "  ")

    def test_holes_are_named_where_they_are(self):
        """Which jars have no carton on record, and which other lots may be concerned."""
        shop = Workshop().to_run()
        last = shop.state.filled_to
        changes.take_lot(shop.desk, shop.number, "container", "K-9", shop.press)
        shop.look_at_first()
        shop.off(0, purpose="dose")

        found = trace(shop.desk, "K-9")

        assert f"Jar 1 to {last}: no carton of containers on record." in found.lots[0].holes
        assert f"jar 1 to {last}: no carton" in words_of(found)

    def test_a_clock_that_went_back_is_shown(self, shop):
        """Between which entries, from when to when."""
        shop.clock.at -= timedelta(hours=1)
        shop.off(0, purpose="dose")

        assert "the clock went back" in trace(shop.desk, "K-1").lots[0].clock[0]


class TestFates:
    """Each jar is in one state."""

    def test_every_jar_of_a_released_lot_has_one(self):
        """Released, held and settled, scrapped or kept; together all that were filled."""
        shop = Workshop().to_judged()
        shop.sign()
        keep_sample(shop.desk, shop.number, "3, 5-7", "shelf 4", "2032-03-05", shop.press)

        fates = fates_of(shop.state)

        assert fates["kept"] == (Span(3, 3), Span(5, 7))
        assert sum(count(spans) for spans in fates.values()) == shop.state.filled_to

    def test_a_kept_one_is_there_and_not_kept_twice(self):
        """Nothing that was not filled, is scrapped or is kept already can be put aside."""
        shop = Workshop().to_judged()
        keep_sample(shop.desk, shop.number, "3", "shelf 4", "", shop.press)
        for numbers in ("3", "9999", "x", "7-5", ""):
            with pytest.raises(BadInput, match=r"\.$"):
                keep_sample(shop.desk, shop.number, numbers, "shelf 4", "", shop.press)
        with pytest.raises(BadInput, match="date"):
            keep_sample(shop.desk, shop.number, "4", "shelf 4", "next year", shop.press)
        with pytest.raises(BadInput, match="where"):
            keep_sample(shop.desk, shop.number, "4", " ", "", shop.press)

    def test_numbers_are_read_as_people_write_them(self):
        """Single ones and rows of them."""
        assert numbers_of("12, 14-16 3") == (3, 12, 14, 15, 16)


class TestComplaint:
    """What the record can and cannot say of one jar."""

    def test_an_unweighed_one_lies_where_its_neighbours_say(self, shop):
        """With its interval; a single odd stroke stays possible."""
        told = Told(code=shop.facts.lot_code, container=25, about="short")
        sheet = complaint(shop.desk, told)
        said = " ".join(sheet.can_say)

        assert "Going by" in said
        assert "speaks against a short fill" in said
        assert any("odd stroke" in words for words in sheet.cannot_say)
        names = {line.name: line.words for line in sheet.facts}
        assert names["Carton"] == "K-1"
        assert names["Drum"] == "D-1, batch B-77"
        assert "jar 20" in names["Weighed before it"]

    def test_a_weighed_one_is_said_to_be(self, shop):
        """Its own weight with its uncertainty, and what is gone since."""
        told = Told(code=shop.facts.lot_code, container=30, about="dried", found_g=Decimal(240))
        sheet = complaint(shop.desk, told)

        assert "It was weighed when it was filled: 252.0 g net" in sheet.can_say[0]
        assert "12.0 g are gone" in " ".join(sheet.can_say)
        assert any("dried out" in words for words in sheet.cannot_say)
        assert any("lot L-0417" in words for words in sheet.letter)

    def test_tray_and_place_name_a_jar(self, shop):
        """Tray 3, place 5 of trays of ten is jar 25."""
        code = shop.facts.lot_code
        by_place = complaint(shop.desk, Told(code=code, tray=3, place=5))

        assert by_place.jar == "jar 25"
        with pytest.raises(BadInput, match="places"):
            complaint(shop.desk, Told(code=code, tray=3, place=11))
        with pytest.raises(BadInput, match="none of this lot"):
            complaint(shop.desk, Told(code=code, container=4000))

    def test_without_a_number_the_whole_lot_speaks(self, shop):
        """And a wrong code offers the nearest."""
        sheet = complaint(shop.desk, Told(code=shop.facts.lot_code, about="leaked"))

        assert "any one of this lot" in sheet.can_say[0]
        assert any("leaked after filling" in words for words in sheet.cannot_say)
        with pytest.raises(BadInput, match="Nearest"):
            complaint(shop.desk, Told(code="L-0471"))

    def test_too_few_weights_say_nothing(self):
        """A lot with no run behind it."""
        shop = Workshop(job()).to_trim()
        sheet = complaint(shop.desk, Told(code=shop.facts.lot_code))

        assert sheet.can_say == ()
        assert "fewer than three" in sheet.cannot_say[0]
