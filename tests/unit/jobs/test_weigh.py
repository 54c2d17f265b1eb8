"""The one way in for a weight: exact, kept once, refused with a word on what to do."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput, Conflict
from fillwright.jobs.desk import Press
from fillwright.jobs.release import stage as release
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import strike_out, undo
from fillwright.records.entries import ContainersHeld, TareSet
from fillwright.records.spans import Span

MEAN_TARE = {"tare_way": "mean"}


class TestOnce:
    """The same weight again."""

    def test_the_same_id_gives_the_same_answer_and_one_entry(self):
        """A retry is answered with what was kept; the journal holds it once."""
        shop = Workshop().to_run()
        first = shop.weigh("252.1", entry_id="w-1")
        entries = len(shop.entries())

        again = shop.weigh("252.1", entry_id="w-1")

        assert len(shop.entries()) == entries
        assert (first.is_repeat, again.is_repeat) == (False, True)
        assert again.weighing == first.weighing
        assert again.act == first.act

    def test_the_same_id_for_another_weight_is_a_conflict(self):
        """An id stands for one weight; nothing is kept."""
        shop = Workshop().to_run()
        shop.weigh("252.1", entry_id="w-1")
        entries = len(shop.entries())

        with pytest.raises(Conflict, match=r"w-1 was used for 252\.1 g before"):
            shop.weigh("252.2", entry_id="w-1")
        with pytest.raises(Conflict, match=r"was used for 252\.1 g before"):
            shop.weigh("252.1", entry_id="w-1", unit="oz")

        assert len(shop.entries()) == entries

    def test_a_retry_is_answered_after_the_job_moved_on(self):
        """A retry that arrives late, even after the release, still gets its own answer."""
        shop = Workshop().to_released()
        known = next(w for w in shop.state.weighings if w.fact.purpose == "dose")

        again = shop.weigh(known.fact.value, entry_id=known.id, press=Press(person="AB", seen=1))

        assert (again.is_repeat, again.weighing) == (True, known.fact)


class TestSeen:
    """Two people at one job."""

    def test_a_press_on_an_old_page_says_what_changed(self):
        """Who saw an older state is refused, told who did what, and nothing is kept."""
        shop = Workshop().to_run()
        seen = shop.state.revision
        shop.weigh("252.1")
        entries = len(shop.entries())

        with pytest.raises(Conflict, match=r"number 12 was weighed, 252\.1 g by AB") as caught:
            run.pause(shop.desk, shop.number, "refill", Press(person="CD", seen=seen))

        assert "Look at the page again" in str(caught.value)
        assert len(shop.entries()) == entries

    def test_only_the_last_three_are_told(self):
        """The message stays short: the three latest things."""
        shop = Workshop().to_run()
        for value in ("252.1", "252.2", "252.3", "252.4"):
            shop.weigh(value)

        with pytest.raises(Conflict, match=r"was weighed") as caught:
            run.pause(shop.desk, shop.number, "pause", Press(person="CD", seen=1))

        assert str(caught.value).count("was weighed") == 3
        assert "252.1 g" not in str(caught.value)

    def test_a_press_on_the_present_page_is_taken(self):
        """With the present revision seen, the press counts."""
        shop = Workshop().to_run()

        look = run.pause(
            shop.desk, shop.number, "refill", Press(person="CD", seen=shop.state.revision)
        )

        assert look.paused == "refill"


class TestExact:
    """Decimals stay as the scale showed them."""

    @pytest.mark.parametrize(
        ("gross", "tare", "net"),
        [
            # Binary floats give 125.01999… for the first of these.
            ("285.88", "160.86", "125.02"),
            ("292.0", "40.00", "252.00"),
            ("292.10", "40.05", "252.05"),
        ],
    )
    def test_gross_less_tare_has_every_digit(self, gross, tare, net):
        """Net is the decimal difference, with its zeros."""
        shop = Workshop(job(container={"tare_g": Decimal(tare)}, **MEAN_TARE)).to_prove()
        kept = shop.weigh(gross, purpose="shot").weighing

        assert (str(kept.net_g), kept.value, kept.tare_g) == (net, gross, Decimal(tare))

    def test_a_zeroed_empty_is_not_taken_off_again(self):
        """Where each empty is zeroed away, what is shown is net."""
        kept = Workshop().to_run().weigh("252.1").weighing

        assert (kept.basis, kept.tare_g, str(kept.net_g)) == ("net", 0, "252.1")

    def test_a_sender_may_say_that_it_is_net(self):
        """A scale that takes the tare off itself is believed."""
        shop = Workshop(job(**MEAN_TARE)).to_prove()
        kept = shop.weigh("252.1", purpose="shot", basis="net").weighing

        assert (kept.basis, str(kept.net_g)) == ("net", "252.1")

    def test_other_units_are_kept_as_shown(self):
        """0.2521 kg stays 0.2521 kg on record and counts as 252.1 g."""
        kept = Workshop().to_run().weigh("0.2521", unit="kg").weighing

        assert (kept.value, kept.unit, str(kept.net_g)) == ("0.2521", "kg", "252.1000")


class TestRefused:
    """Slips of a key and of the mind."""

    @pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity", "sNaN"])
    def test_what_is_no_number(self, value):
        """Not a number and infinity are no weights."""
        with pytest.raises(BadInput, match=r"is no weight") as caught:
            Workshop().to_run().weigh(value)

        assert caught.value.code == "not-finite"

    @pytest.mark.parametrize(
        ("value", "words"),
        [
            ("3000.1", r"more than Bench scale can weigh"),
            ("-1", r"less than an empty jar"),
            ("2521", r"2521 g is more than the jar holds\. 252\.1 g\? Type it again"),
            ("600", r"600 g is more than the jar holds"),
        ],
    )
    def test_what_cannot_be_a_filled_one(self, value, words):
        """Beyond the scale, below nothing, more than the jar holds: with a guess at the slip."""
        shop = Workshop().to_run()
        entries = len(shop.entries())

        with pytest.raises(BadInput, match=words) as caught:
            shop.weigh(value)

        assert caught.value.field == "weight"
        assert len(shop.entries()) == entries

    def test_a_weight_far_from_the_others_is_kept(self):
        """A weight that is possible is never refused, however odd."""
        kept = Workshop().to_run().weigh("150")

        assert kept.weighing.state == "far-short"

    def test_an_empty_that_weighs_nothing(self):
        """An empty of zero grams is a scale that was not zeroed right."""
        shop = Workshop(job(**MEAN_TARE)).to_trim()

        with pytest.raises(BadInput, match=r"cannot be an empty jar\. Zero the scale"):
            shop.weigh("0")

    def test_a_gross_weight_without_a_known_empty(self):
        """Without an average empty no net can be made, and none is made up."""
        shop = Workshop(job(container={"tare_g": None}, **MEAN_TARE)).to_setup()

        with pytest.raises(BadInput, match=r"weigh the empties in Set up first"):
            shop.weigh("292", purpose="shot")

    def test_a_weight_that_nothing_waits_for(self):
        """Before the parts are taken there is nothing to weigh; the next act is named."""
        with pytest.raises(BadInput, match=r"Nothing is to be weighed now\. Take the 450 mL"):
            Workshop().weigh("252")

    @pytest.mark.parametrize("purpose", ["proof", "dose"])
    @pytest.mark.parametrize("numbers", [{"container": 0}, {"container": -3}, {"filled_to": 131}])
    def test_numbers_that_this_lot_cannot_have(self, purpose, numbers):
        """The lot has 120 and a tray more at most; no number is below one."""
        shop = Workshop().to_run() if purpose == "dose" else Workshop().to_shots()

        with pytest.raises(BadInput, match=r"is no jar of this lot of 120") as caught:
            shop.weigh("252", **numbers)

        assert caught.value.field in numbers

    def test_a_job_that_is_not_there(self):
        """The number is named."""
        shop = Workshop()
        shop.number = "9999"

        with pytest.raises(BadInput, match=r"There is no job 9999"):
            shop.weigh("252")

    @pytest.mark.parametrize("purpose", ["shot", "purge", "tare", "dose", "sample"])
    def test_a_closed_lot_takes_nothing_more(self, purpose):
        """After the release no weight is added, whatever it is called."""
        shop = Workshop().to_released()
        entries = len(shop.entries())

        with pytest.raises(BadInput, match=r"closed|finished|waiting"):
            shop.weigh("252", purpose=purpose)

        assert len(shop.entries()) == entries


class TestStrikeOut:
    """A kept weight that was wrong."""

    def test_it_stays_on_record_with_its_reason(self):
        """The weight is there, marked, and counts no more."""
        shop = Workshop().to_run()
        shop.weigh("252.1", entry_id="w-1")

        state = strike_out(shop.desk, shop.number, "w-1", " wrong jar ", shop.press)

        assert state.weighings[-1].struck == "wrong jar"
        assert not state.weighings[-1].counts
        assert shop.entries()[-1].payload.kind == "struck out"

    @pytest.mark.parametrize(
        ("entry_id", "reason", "words"),
        [
            ("nothing", "typed wrong", r"There is no such weight in this job"),
            ("w-1", "  ", r"Say why the weight is struck out"),
        ],
    )
    def test_what_is_refused(self, entry_id, reason, words):
        """It needs a weight of this job and a reason."""
        shop = Workshop().to_run()
        shop.weigh("252.1", entry_id="w-1")

        with pytest.raises(BadInput, match=words):
            strike_out(shop.desk, shop.number, entry_id, reason, shop.press)

    def test_twice_is_refused(self):
        """A weight is struck out once."""
        shop = Workshop().to_run()
        shop.weigh("252.1", entry_id="w-1")
        strike_out(shop.desk, shop.number, "w-1", "wrong jar", shop.press)

        with pytest.raises(BadInput, match=r"struck out already"):
            strike_out(shop.desk, shop.number, "w-1", "wrong jar", shop.press)

    def test_after_the_release_is_refused(self):
        """A released lot stands on its weights."""
        shop = Workshop().to_released()

        with pytest.raises(BadInput, match=r"released: its weights stay"):
            strike_out(shop.desk, shop.number, shop.state.weighings[-1].id, "no", shop.press)

    def test_an_empty_struck_out_leaves_the_average_of_the_rest(self):
        """Ten empties, one of them a full jar: without it the average is that of the nine."""
        shop = Workshop(job(**MEAN_TARE)).to_trim()
        for _ in range(9):
            shop.weigh("40.00")
        shop.weigh("50.00", entry_id="w-1")
        assert shop.state.tare.tare_g == Decimal("41.00")

        state = strike_out(shop.desk, shop.number, "w-1", "a full one", shop.press)

        assert (state.tare.tare_g, state.tare.empties) == (Decimal("40.00"), 9)
        assert isinstance(shop.entries()[-1].payload, TareSet)

    def test_the_weight_that_settled_a_held_one_holds_it_again(self):
        """A held jar was let go on a weight that does not stand: it is held again."""
        shop = Workshop().to_run()
        shop.weigh(100, set_aside="spilled")
        at = shop.state.filled_to
        kept = shop.weigh("252", purpose="held", entry_id="w-1")
        assert kept.state.open_spans == ()

        state = strike_out(shop.desk, shop.number, "w-1", "wrong jar", shop.press)

        assert state.open_spans == (Span(at, at),)

    def test_after_the_run_what_a_weight_stood_for_is_held(self):
        """With the last good weight struck out, all after the one before it is suspect."""
        shop = Workshop().to_finished()
        last = shop.state.weighings[-1]
        assert last.fact.container == 120

        state = strike_out(shop.desk, shop.number, last.id, "wrong jar", shop.press)

        assert state.open_spans == (Span(111, 120),)
        assert state.filled_to == 120
        assert isinstance(shop.entries()[-1].payload, ContainersHeld)

    def test_after_the_run_a_weight_between_good_ones_holds_nothing(self):
        """A later good weight still covers what the struck one covered."""
        shop = Workshop().to_finished()
        one = next(w for w in shop.state.weighings if w.fact.container == 60)

        state = strike_out(shop.desk, shop.number, one.id, "wrong jar", shop.press)

        assert state.open_spans == ()


class TestUndo:
    """The last weight, taken back."""

    def test_the_last_weight_is_struck_out(self):
        """Undo strikes out the last one and its number is free again."""
        shop = Workshop().to_run()
        at = shop.state.filled_to
        shop.weigh("252.1")

        state = undo(shop.desk, shop.number, shop.press)

        assert state.weighings[-1].struck == "taken back at the bench"
        assert state.filled_to == at

    def test_the_weight_typed_again_is_of_the_same_container(self):
        """After a slip the right weight gets the number that the wrong one had."""
        shop = Workshop().to_run()
        first = shop.weigh("251.2").weighing
        undo(shop.desk, shop.number, shop.press)

        again = shop.weigh("252.1").weighing

        assert again.container == first.container

    def test_in_the_proof_no_number_is_lost(self):
        """Proving shots are numbered one after another, with slips taken back between them."""
        shop = Workshop().to_shots()
        shop.off("0.1")
        shop.off("0.4")
        undo(shop.desk, shop.number, shop.press)
        shop.off("-0.4")

        assert [s.fact.container for s in shop.state.proof_shots if s.counts] == [1, 2]

    def test_nothing_to_take_back(self):
        """Before the first weight there is nothing."""
        with pytest.raises(BadInput, match=r"no weight to take back"):
            undo((shop := Workshop()).desk, shop.number, shop.press)

    def test_the_proof_is_not_undone_from_the_run(self):
        """In the run, the last proving shot is struck out by name only."""
        shop = Workshop().to_run()

        with pytest.raises(BadInput, match=r"is of the proof"):
            undo(shop.desk, shop.number, shop.press)


def test_the_sample_may_not_be_set_aside():
    """A jar of the sample is weighed again, not left out."""
    shop = Workshop().to_finished()
    shop.draw()

    with pytest.raises(BadInput, match=r"may not be set aside"):
        shop.weigh("252", set_aside="did not like it")


def test_a_jar_that_was_not_drawn_is_no_sample():
    """Only what chance drew is weighed; the next ones are named."""
    shop = Workshop().to_finished()
    shop.draw()
    waiting = release.look(shop.desk, shop.state).still_to_weigh
    other = next(n for n in range(1, 121) if n not in waiting)

    with pytest.raises(BadInput, match=rf"{other} is not waiting.*Next: {waiting[0]}"):
        shop.weigh("252", container=other)
