"""Held containers topped up, emptied back, re-labelled, and what was wrong taken back."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput, Conflict
from fillwright.jobs.desk import Press
from fillwright.jobs.files.tables import table_of
from fillwright.jobs.held import acts as settleacts
from fillwright.jobs.held import settle
from fillwright.jobs.held.fates import fates_of
from fillwright.jobs.held.pick import held_on
from fillwright.jobs.held.relabel import lot_code_for, relabel
from fillwright.jobs.held.take_back import strike_settling, take_back
from fillwright.jobs.held.words import REASONS, reason_of
from fillwright.jobs.money.costs import amounts_of
from fillwright.jobs.money.costs import look as look_at_costs
from fillwright.jobs.money.use import use_of
from fillwright.jobs.papers import batch_record
from fillwright.jobs.release import stage as release
from fillwright.jobs.release.keep_sample import keep_sample
from fillwright.jobs.release.lot import view_of
from fillwright.jobs.trace.both_ways import trace
from fillwright.records.entries import (
    ContainersHeld,
    PersonAllowed,
    PricesKept,
    ProductTraits,
    RunFinished,
)
from fillwright.records.kinds_costs import ContainerPrice, ProductPrice
from fillwright.records.spans import Span, count
from fillwright.science.costs import Amount

ALL = (Span(21, 30),)


@pytest.fixture
def shop():
    """A finished run of 120 with 21 to 30, all of tray 3, held for one low weight."""
    made = Workshop().to_run()
    for deviation in ("0.1", "0.2", "-5", "0.3", "-0.1", "0.2"):
        made.off(deviation)
    made.fill_up()
    made.tell(RunFinished(filled=made.state.filled_to))
    return made


def top_up(shop, *spans, reason="filled short"):
    """Top held ones up."""
    return settleacts.top_up(shop.desk, shop.number, spans or ALL, reason, shop.press)


def empty(shop, *spans, into="hopper", reason="wrong or damaged container", back_g=None):
    """Empty held ones back."""
    back_g = None if back_g is None else Decimal(back_g)
    return settleacts.empty_back(
        shop.desk, shop.number, spans or ALL, into, reason, shop.press, back_g=back_g
    )


def label(shop, nominal, *spans, reason="filled short, sold as a smaller quantity", **more):
    """Re-label held ones."""
    return relabel(
        shop.desk, shop.number, spans or ALL, Decimal(nominal), reason, shop.press, **more
    )


def scrap(shop, *spans):
    """Scrap held ones, a second after what was done before."""
    shop.clock.go(1)
    return settle.settle(shop.desk, shop.number, spans, "scrapped", "cracked", shop.press)


def let_go(shop, *spans):
    """Release held ones with a reason."""
    return settle.settle(
        shop.desk, shop.number, spans, "released-with-reason", "all full", shop.press
    )


def counted(shop):
    """How many containers each fate has."""
    return {fate: count(spans) for fate, spans in fates_of(shop.state).items()}


def weigh_short(shop, *deviations):
    """Weigh held ones from 21 on that stay held."""
    for place, deviation in enumerate(deviations):
        shop.off(deviation, purpose="held", container=21 + place)


class TestWhichOnes:
    """A tray, a part of it, several trays, one: never a number that nobody counts."""

    def test_a_tray_in_one_press(self, shop):
        """All that is held on it, and the tray of the order when none is named."""
        assert held_on(shop.state, "3") == ALL
        assert held_on(shop.state) == ALL

    def test_part_of_a_tray_and_a_single_one(self, shop):
        """By the place on the tray and the count."""
        assert held_on(shop.state, "3", 4, 2) == (Span(24, 25),)
        assert held_on(shop.state, "3", 10) == (Span(30, 30),)
        assert held_on(shop.state, "3", None, 3) == (Span(21, 23),)

    def test_what_was_settled_on_the_tray_is_not_meant(self, shop):
        """The count is of held ones."""
        scrap(shop, Span(24, 26))

        assert held_on(shop.state, "3") == (Span(21, 23), Span(27, 30))
        assert held_on(shop.state, "3", 2, 4) == (Span(22, 23), Span(27, 28))

    @pytest.mark.parametrize("tray", ["\uff13", "\u0663", "3-\uff14"])
    def test_figures_of_other_scripts_name_no_tray(self, shop, tray):
        """No key types them: what only looks like a 3 is asked about."""
        with pytest.raises(BadInput, match="names no tray"):
            held_on(shop.state, tray)

    def test_a_reason_of_thousands_of_figures_is_no_key(self):
        """Python refuses to read so long a number; the page says what may be typed."""
        with pytest.raises(BadInput, match="No reason has the key 99999999"):
            reason_of("scrapped", "9" * 6000)

    def test_several_trays(self, shop):
        """First and last."""
        shop.tell(ContainersHeld(first=35, last=52, reason="looked odd"))

        assert held_on(shop.state, "3-5") == (Span(21, 30), Span(35, 50))

    @pytest.mark.parametrize(
        ("tray", "place", "many", "words"),
        [
            ("14", None, None, r"There is no tray 14: the 120 filled stand on trays 1 to 12\."),
            ("0", None, None, r"There is no tray 0"),
            ("3-14", None, None, r"There is no tray 14"),
            ("7-3", None, None, r"names no tray\. Type its number: 3, or 3-7\."),
            ("x", None, None, r"'x' names no tray"),
            ("5", None, None, r"Nothing on tray 5 is held\. Held are: tray 3 \(21 to 30\)\."),
            ("3", 11, None, r"A tray holds 10: there is no place 11\."),
            ("3", None, 12, r"Tray 3 has 10 held jars, not 12\. Type 1 to 10, or leave"),
            ("3", 9, 3, r"Tray 3 from place 9 has 2 held jars, not 3"),
            ("3", None, 0, r"not 0"),
        ],
    )
    def test_what_cannot_be_meant(self, shop, tray, place, many, words):
        """One sentence, with what there is."""
        with pytest.raises(BadInput, match=words):
            held_on(shop.state, tray, place, many)

    def test_nothing_held(self):
        """Said, and no tray is guessed."""
        with pytest.raises(BadInput, match=r"Nothing is held\."):
            held_on(Workshop().to_run().state, "1")


class TestReasons:
    """One key stands for a reason; other words are taken as they are."""

    @pytest.mark.parametrize("what", REASONS)
    def test_a_key_is_a_reason(self, what):
        """From 1, in the order of the page."""
        assert reason_of(what, "1") == REASONS[what][0]
        assert reason_of(what, " the lid sprang off ") == "the lid sprang off"

    @pytest.mark.parametrize(
        ("typed", "words"), [("", "Say why"), ("9", "No reason has the key 9")]
    )
    def test_no_reason(self, typed, words):
        """What may be typed is said."""
        with pytest.raises(BadInput, match=words):
            reason_of("scrapped", typed)


class TestToppedUp:
    """Each is weighed anew, and good from the label on."""

    def test_it_stays_held_until_its_new_weight(self, shop):
        """A tray is topped up in one press and weighed one by one."""
        weigh_short(shop, "-12")
        seen = top_up(shop)

        assert shop.state.open_spans == ALL
        assert seen.open_rows[0].topped == "21 to 30"
        assert seen.act.order == "Weigh topped-up jar 21, tray 3."
        shop.off("-1.5", purpose="held")
        assert shop.state.open_spans == (Span(22, 30),)
        row = settle.look(shop.desk, shop.state).settled_rows[-1]
        assert (row.outcome, row.numbers) == ("topped up, weighed good", "21")
        assert row.reason == "250.5 g net, topped up from 240.0 g"

    def test_below_the_label_it_is_not_good(self, shop):
        """247 g would do for one of the run; a hand tops up to the 250 g of the label."""
        top_up(shop)
        shop.off("-5", purpose="held")
        seen = settle.look(shop.desk, shop.state)

        assert shop.state.open_spans == ALL
        assert seen.act.order == (
            "Jar 21 is 247.0 g, below the label of 250 g. Top up more, and weigh."
        )
        assert seen.act.state_words == "Below the label"
        shop.weigh("250", purpose="held")
        assert shop.state.open_spans == (Span(22, 30),)

    def test_it_counts_by_its_new_weight(self, shop):
        """The lot test takes the latest."""
        weigh_short(shop, "-12")
        top_up(shop, Span(21, 21))
        shop.off("0.4", purpose="held", container=21)

        lot = view_of(shop.desk, shop.state)

        assert lot.weighed_g[21] == Decimal("252.4")

    def test_it_is_not_let_go_unweighed(self, shop):
        """Nor re-labelled by the weight that it had before."""
        weigh_short(shop, "-12")
        top_up(shop, Span(21, 22))

        with pytest.raises(BadInput, match=r"21 to 22 were topped up and not weighed since"):
            let_go(shop, *ALL)
        with pytest.raises(BadInput, match=r"21 was topped up and not weighed since"):
            label(shop, 239, Span(21, 21))

    def test_an_overfull_one_is_not_topped_up(self, shop):
        """Something is taken out of it."""
        weigh_short(shop, "31")

        with pytest.raises(BadInput, match=r"21 was weighed overfull: take product out"):
            top_up(shop)

    def test_a_missing_piece_is_not_topped_up(self, shop):
        """It would be in it still."""
        shop.tell(ContainersHeld(first=1, last=120, reason=settle.PIECE + "wiper"))

        with pytest.raises(BadInput, match=r"topping up does not take it out"):
            top_up(shop)


class TestEmptiedBack:
    """What came out is counted in grams; where it must not go back, it does not."""

    def test_the_grams_are_weighed_or_reckoned(self, shop):
        """By their own weights, and by the aim where one has none."""
        weigh_short(shop, "-12")
        empty(shop, Span(21, 23))
        empty(shop, Span(24, 25), into="drum", back_g="490.5")
        one, two = shop.state.held.emptied()

        own_g = Decimal("240.0") + 2 * Decimal(252)
        assert (one.back_g, one.is_weighed, one.into, one.after_container) == (
            own_g,
            False,
            "hopper",
            120,
        )
        assert (two.back_g, two.is_weighed, two.into) == (Decimal("490.5"), True, "drum")
        rows = settle.look(shop.desk, shop.state).settled_rows
        assert [r.more for r in rows] == [
            "744 g into the hopper, reckoned, not weighed",
            "490.5 g into a drum of its own, weighed",
        ]

    def test_they_are_out_of_the_lot_and_never_held_again(self, shop):
        """There is no filled container left."""
        empty(shop)
        shop.tell(ContainersHeld(first=1, last=40, reason="looked odd"))

        lot = view_of(shop.desk, shop.state)
        assert shop.state.open_spans == (Span(1, 20), Span(31, 40))
        assert (lot.emptied, lot.going_out) == (10, 80)
        with pytest.raises(BadInput, match="gone"):
            keep_sample(shop.desk, shop.number, "22", "shelf", "", shop.press)

    @pytest.mark.parametrize("back_g", ["0", "-3", "2850"])
    def test_more_than_they_hold(self, shop, back_g):
        """Ten jars hold 2827 g at most."""
        with pytest.raises(BadInput, match=r"cannot come out of 10 jars: they hold"):
            empty(shop, back_g=back_g)

    def test_an_allergen_does_not_go_back_into_the_hopper(self, shop):
        """Whatever the reason; a drum of its own may take it."""
        shop.tell_site(
            ProductTraits(
                product="Hand cream", allergen="nut", colour="light", scent="none", base="water"
            )
        )
        with pytest.raises(BadInput, match=r"carries an allergen \(nut\): nothing of it goes"):
            empty(shop, reason="my own words")

        empty(shop, into="drum")

        assert counted(shop)["emptied back"] == 10

    @pytest.mark.parametrize("into", ["hopper", "drum"])
    def test_a_missing_piece_wants_a_reason_of_ones_own(self, shop, into):
        """A key is too easily pressed for that."""
        shop.tell(ContainersHeld(first=1, last=120, reason=settle.PIECE + "wiper"))

        with pytest.raises(BadInput, match=r"missing piece, which may be in the product"):
            empty(shop, into=into, reason=REASONS[into][0])

        empty(shop, into=into, reason="sieved, 0.5 mm, the wiper was in jar 22")
        assert counted(shop)["emptied back"] == 10

    def test_somewhere_else(self, shop):
        """Two places, no other."""
        with pytest.raises(BadInput, match="the hopper, or a drum of its own"):
            empty(shop, into="floor")


class TestRelabelled:
    """Every one holds the new quantity in full, and they are a lot of their own."""

    def test_they_are_a_lot_of_their_own(self, shop):
        """With its code, and out of the lot test of the job."""
        weigh_short(shop, "-12", "-13.5")
        label(shop, 238, Span(21, 22))
        [(fact, spans)] = shop.state.held.relabelled()

        assert (fact.lot_code, fact.nominal, fact.unit) == ("L-0417-R1", Decimal(238), "g")
        assert (fact.least_label_unit, fact.mean) == (Decimal("238.50"), Decimal("239.25"))
        assert fact.because.endswith("every one weighed, and none below the new label.")
        assert spans == (Span(21, 22),)
        lot = view_of(shop.desk, shop.state)
        assert (lot.relabelled, lot.going_out) == (2, 110)
        assert 21 not in lot.eligible
        assert lot_code_for(shop.state) == "L-0417-R2"

    def test_a_label_above_what_one_holds(self, shop):
        """Named, with what they can carry."""
        weigh_short(shop, "-12", "-13.5")

        with pytest.raises(
            BadInput,
            match=r"Jar 22 and 1 more holds 238\.50 g, less than the new label of 245 g\. "
            r"These can carry 238\.50 g at most\.",
        ):
            label(shop, 245, Span(21, 22))

    @pytest.mark.parametrize(
        ("nominal", "more", "words"),
        [
            (250, {}, r"250 g under EU-76/211 is the label that they carry"),
            (0, {}, r"A label cannot say 0 g"),
            (3, {}, r"EU-76/211 has no rule for a label of 3 g"),
            (238, {"rules": "XX-1"}, r"There is no rule set 'XX-1'"),
            (238, {"lot_code": "l-0417"}, r"is the code of another lot of this job"),
            (238, {"lot_code": "L" * 41}, r"at most 40 signs"),
            (238, {"reason": " "}, r"Say why"),
        ],
    )
    def test_labels_that_are_refused(self, shop, nominal, more, words):
        """The label they carry, none, out of the rules, unknown rules, another lot's code."""
        weigh_short(shop, "-12")
        before = len(shop.entries())

        with pytest.raises(BadInput, match=words):
            label(shop, nominal, Span(21, 21), **more)

        assert len(shop.entries()) == before

    def test_one_without_a_weight(self, shop):
        """A tray is not re-labelled by the weight of one of it."""
        weigh_short(shop, "-12")

        with pytest.raises(BadInput, match=r"22 to 29 have no weight of their own"):
            label(shop, 238)

    def test_an_overfull_one(self, shop):
        """The lid would not close, whatever the label says."""
        weigh_short(shop, "31")

        with pytest.raises(BadInput, match=r"21 was weighed overfull"):
            label(shop, 260, Span(21, 21))

    def test_another_market(self, shop):
        """The same quantity under other rules, where each holds it in full."""
        shop.tell(ContainersHeld(first=10, last=10, reason="wrong lid"))
        label(shop, 250, Span(10, 10), rules="UK-2006/659", reason="goes to the other market")

        assert count(shop.state.held.of("relabelled")) == 1

    def test_a_missing_piece(self, shop):
        """No label takes it out."""
        weigh_short(shop, "-12")
        shop.tell(ContainersHeld(first=1, last=120, reason=settle.PIECE + "wiper"))

        with pytest.raises(BadInput, match=r"another label does not take it out"):
            label(shop, 238, Span(21, 21))

    def test_the_trace_goes_both_ways(self, shop):
        """The new code finds those jars, and the lot says what became of them."""
        weigh_short(shop, "-12", "-13.5")
        label(shop, 238, Span(21, 22))

        found = trace(shop.desk, "l-0417-r1")

        assert found.code == "L-0417-R1"
        assert found.traced_as == ("relabelled",)
        assert (found.jars[0].numbers, found.jars[0].containers) == ("21 to 22", 2)
        assert [f.fate for f in found.jars[0].fates] == ["re-labelled"]
        assert any("label 238 g under EU-76/211" in words for words in found.lots[0].looks)

    def test_a_kept_one_does_not_go_out(self, shop):
        """A sample of the new lot may be kept."""
        weigh_short(shop, "-12", "-13.5")
        label(shop, 238, Span(21, 22))
        keep_sample(shop.desk, shop.number, "22", "shelf", "", shop.press)

        assert view_of(shop.desk, shop.state).relabelled == 1
        assert counted(shop)["kept"] == 1


class TestRelease:
    """It waits while anything is held, counts the right ones, and lets the new lots go."""

    def test_it_waits(self, shop):
        """Topped up and unweighed is held."""
        top_up(shop)

        with pytest.raises(BadInput, match="Held ones are not settled"):
            release.release(shop.desk, shop.number, shop.press)
        with pytest.raises(BadInput, match="Still held: 21 to 30"):
            shop.draw()

    def test_the_lot_and_those_re_labelled_go_out(self, shop):
        """The lot test judges the 115 of the job's label; two go out beside them."""
        weigh_short(shop, "-12", "-13.5")
        label(shop, 238, Span(21, 22))
        scrap(shop, Span(23, 24))
        empty(shop, Span(25, 25))
        let_go(shop, Span(26, 30))
        shop.draw()
        shop.weigh_sample()

        assert shop.state.lot.lot_size == 115
        shop.sign()
        seen = release.look(shop.desk, shop.state)
        assert seen.act.order == "Release 117. 2 of them re-labelled."
        assert seen.relabelled_words == ("Lot L-0417-R1: 2 jars as 238 g under EU-76/211",)
        release.release(shop.desk, shop.number, shop.press)

        assert shop.state.released.containers == 117
        assert counted(shop) == {
            "released": 110,
            "settled": 5,
            "re-labelled": 2,
            "emptied back": 1,
            "scrapped": 2,
        }

    def test_where_all_are_re_labelled_they_are_signed_and_go(self):
        """No sample is drawn: each was weighed, and holds what its label says."""
        shop = Workshop(job(lot_size=20)).to_finished()
        shop.tell(ContainersHeld(first=1, last=20, reason="wrong lids"))
        for number in range(1, 21):
            shop.off("-30", purpose="held", container=number)
        label(shop, 220, Span(1, 20))

        assert release.look(shop.desk, shop.state).act.what == "sign"
        shop.sign()
        assert (
            release.look(shop.desk, shop.state).act.order == "Release 20. 20 of them re-labelled."
        )
        release.release(shop.desk, shop.number, shop.press)
        assert counted(shop) == {"re-labelled": 20}

    def test_a_lot_closed_without_release_lets_none_go(self, shop):
        """What was settled or re-labelled is not released with it."""
        weigh_short(shop, "-12")
        label(shop, 239, Span(21, 21))
        scrap(shop, Span(22, 30))
        release.close(shop.desk, shop.number, "smells off", shop.press)

        assert counted(shop) == {"scrapped": 9, "not released": 111}

    def test_a_sample_with_one_that_leaves_the_lot_is_drawn_anew(self, shop):
        """Emptied or re-labelled as well as scrapped, and anew where it comes back."""
        let_go(shop, *ALL)
        shop.draw()
        drawn = shop.state.samples[0].containers
        one = drawn[0]
        shop.tell(ContainersHeld(first=one, last=one, reason="cracked"))
        empty(shop, Span(one, one))

        assert shop.state.samples == []
        shop.draw(5)
        take = settle.look(shop.desk, shop.state).settled_rows[-1].row
        strike_settling(shop.desk, shop.number, take, "wrong jar", shop.press)
        assert shop.state.samples == []


class TestTakenBack:
    """Nothing is deleted: a strike-out puts the containers back to the held ones."""

    def test_what_one_press_settled_is_taken_back_as_one(self, shop):
        """Though it was two spans."""
        scrap(shop, Span(24, 24))
        scrap(shop, Span(21, 23), Span(25, 30))
        take_back(shop.desk, shop.number, shop.press)

        assert shop.state.open_spans == (Span(21, 23), Span(25, 30))
        assert shop.state.scrapped == (Span(24, 24),)
        rows = settle.look(shop.desk, shop.state).settled_rows
        assert [r.struck for r in rows] == ["", *["taken back at the bench (AB)"] * 2]

    @pytest.mark.parametrize("act", [scrap, empty, let_go])
    def test_by_its_row_with_a_reason(self, shop, act):
        """Scrapped, emptied or let go: it was the wrong tray."""
        act(shop, *ALL)
        strike_settling(shop.desk, shop.number, 1, "wrong tray", shop.press)

        assert shop.state.open_spans == ALL
        assert counted(shop) == {"held": 10, "waiting": 110}
        with pytest.raises(BadInput, match=r"Row 1 is struck out already: wrong tray\."):
            strike_settling(shop.desk, shop.number, 1, "again", shop.press)

    def test_a_weight_goes_with_what_it_settled(self, shop):
        """Both ways: by the key, and by the row."""
        shop.off("0", purpose="held")
        take_back(shop.desk, shop.number, shop.press)
        assert shop.state.open_spans == ALL
        assert not [w for w in shop.state.weighings if w.fact.purpose == "held" and w.counts]

        shop.off("0", purpose="held")
        strike_settling(shop.desk, shop.number, 2, "wrong jar on the pan", shop.press)
        assert shop.state.open_spans == ALL

    def test_a_short_weight_is_taken_back_before_what_came_earlier(self, shop):
        """The last thing done is the last thing done."""
        scrap(shop, Span(30, 30))
        weigh_short(shop, "-12")
        take_back(shop.desk, shop.number, shop.press)

        assert shop.state.scrapped == (Span(30, 30),)
        take_back(shop.desk, shop.number, shop.press)
        assert shop.state.scrapped == ()
        with pytest.raises(BadInput, match="nothing to take back"):
            take_back(shop.desk, shop.number, shop.press)

    def test_a_topping_up(self, shop):
        """They wait for no new weight any more; one that was weighed since comes first."""
        top_up(shop, Span(21, 22))
        shop.off("0", purpose="held")
        with pytest.raises(BadInput, match=r"21 to 22: something was done to them since"):
            strike_settling(shop.desk, shop.number, 1, "wrong tray", shop.press)
        take_back(shop.desk, shop.number, shop.press)
        assert shop.state.held.topped == (Span(21, 22),)
        take_back(shop.desk, shop.number, shop.press)

        assert shop.state.held.topped == ()
        assert shop.state.open_spans == ALL

    @pytest.mark.parametrize(
        ("row", "reason", "words"),
        [(0, "x", "There is no row 0"), (9, "x", r"Type 1 to 1\."), (1, " ", "Say why")],
    )
    def test_rows_that_are_none(self, shop, row, reason, words):
        """What there is, is said."""
        scrap(shop, *ALL)
        with pytest.raises(BadInput, match=words):
            strike_settling(shop.desk, shop.number, row, reason, shop.press)

    def test_not_after_the_release(self, shop):
        """The lot is closed."""
        scrap(shop, *ALL)
        release.close(shop.desk, shop.number, "smells off", shop.press)

        with pytest.raises(BadInput, match="The lot is closed"):
            take_back(shop.desk, shop.number, shop.press)


class TestTwoAtOnce:
    """The second tablet is told what the first did, and nothing is kept twice."""

    def test_the_one_that_saw_the_page_before(self, shop):
        """It is refused with what happened."""
        seen = Press(person="CD", seen=shop.state.revision)
        scrap(shop, *ALL)

        with pytest.raises(Conflict, match=r"numbers 21 to 30 were settled: scrapped by AB"):
            settleacts.empty_back(shop.desk, shop.number, ALL, "hopper", "wrong", seen)
        assert len(shop.state.held.settlings) == 1

    def test_one_that_says_nothing_of_what_it_saw(self, shop):
        """It is told what became of them, and by whom."""
        empty(shop, Span(21, 25))

        with pytest.raises(
            BadInput,
            match=r"Held are 26 to 30; 21 to 30 are not all held: 21 to 25 emptied back by AB\.",
        ):
            scrap(shop, *ALL)
        with pytest.raises(BadInput, match=r"22 is not held: 21 to 25 emptied back by AB"):
            shop.off("0", purpose="held", container=22)


class TestOnRecord:
    """The batch record, the tables and the costs tell the same."""

    @pytest.fixture
    def mixed(self, shop):
        """One of each."""
        weigh_short(shop, "-12", "-13.5", "-14")
        label(shop, 238, Span(21, 22))
        top_up(shop, Span(23, 23))
        shop.off("0.5", purpose="held", container=23)
        empty(shop, Span(24, 25), back_g="480")
        scrap(shop, Span(26, 26))
        scrap(shop, Span(27, 27))
        take_back(shop.desk, shop.number, shop.press)
        let_go(shop, Span(27, 29))
        shop.off("0", purpose="held", container=30)
        return shop

    def test_the_counts_add_up(self, mixed):
        """Every one filled is in one fate, and the paper has them all."""
        sheet = batch_record(mixed.desk, mixed.state)

        assert {f.fate: f.containers for f in sheet.fates} == {
            "settled": 4,
            "topped up": 1,
            "re-labelled": 2,
            "emptied back": 2,
            "scrapped": 1,
            "waiting": 110,
        }
        [hold] = sheet.held
        assert [(o.numbers, o.outcome, bool(o.struck)) for o in hold.outcomes] == [
            ("21 to 22", "re-labelled", False),
            ("23", "topped up, to be weighed", False),
            ("23", "topped up, weighed good", False),
            ("24 to 25", "emptied back", False),
            ("26", "scrapped", False),
            ("27", "scrapped", True),
            ("27 to 29", "released with reason", False),
            ("30", "weighed good", False),
        ]
        assert [(r.lot_code, r.numbers) for r in sheet.relabelled] == [("L-0417-R1", "21 to 22")]

    def test_the_tables(self, mixed):
        """What became of it stands beside each weight; each entry of a hold is a row."""
        weighed = table_of(mixed.desk, "weighings", mixed.number)
        rows = [dict(zip(weighed.headers, row, strict=True)) for row in weighed.rows]
        became = {row["container"]: row["became"] for row in rows if row["purpose"] == "held"}
        held = table_of(mixed.desk, "held", mixed.number)
        told = [dict(zip(held.headers, row, strict=True)) for row in held.rows]
        jobs = table_of(mixed.desk, "jobs", mixed.number)
        [job] = [dict(zip(jobs.headers, row, strict=True)) for row in jobs.rows]

        assert became == {21: "re-labelled", 22: "re-labelled", 23: "topped up", 30: "settled"}
        assert [row["what"] for row in told][:2] == ["held", "re-labelled"]
        assert [row["new lot code"] for row in told if row["new lot code"]] == ["L-0417-R1"]
        assert [row["product back (g)"] for row in told if row["back into"]] == [Decimal(480)]
        assert [job[fate] for fate in ("topped up", "emptied back", "scrapped")] == [1, 2, 1]

    def test_the_costs(self, mixed):
        """Product and containers by what became of them; re-labelled ones sell their own label."""
        use = use_of(mixed.desk, mixed.state)
        amounts = amounts_of(use)

        assert (use.scrapped, use.held.emptied, use.held.relabelled) == (1, 2, 2)
        assert use.going_out == 117
        assert use.reject_kg == pytest.approx((252 + 2 * 252 - 480) / 1000)
        assert amounts[Amount.REJECT_CONTAINERS] == 3
        assert amounts[Amount.LABEL] == pytest.approx((115 * 250 + 2 * 238) / 1000)
        rows = {row.name: row for row in use.held.rows}
        assert rows["topped up, weighed good"].lost_kg == pytest.approx((252.5 - 238) / 1000)
        assert rows["re-labelled"].lost_kg == pytest.approx((240 + 238.5 - 2 * 238) / 1000)
        assert sum(row.containers for row in use.held.rows) == 10

    def test_the_cost_page_says_what_each_outcome_cost(self, mixed):
        """Product and containers at their prices; "no price" before anybody said one."""
        bare = {line.name: line.cost for line in look_at_costs(mixed.desk, mixed.number).held}
        mixed.tell_site(
            PricesKept(
                money="EUR",
                products=(ProductPrice(product="Hand cream", cost_per_kg=Decimal(10)),),
                containers=(ContainerPrice(container="250 mL jar", cost_each=Decimal("0.50")),),
            )
        )
        cost = {line.name: line.cost for line in look_at_costs(mixed.desk, mixed.number).held}

        assert (bare["scrapped"], bare["weighed good"]) == ("no price", "0.00")
        # 0.252 kg and a jar; 2 x 252 - 480 g and two jars.
        assert (cost["scrapped"], cost["emptied back"]) == ("3.02 EUR", "1.24 EUR")

    def test_a_lot_of_which_none_goes_out_has_no_cost_each(self, shop):
        """All were filled and all scrapped: nobody is told that nothing was filled."""
        shop.tell(
            ContainersHeld(first=1, last=20, reason="a smell"),
            ContainersHeld(first=31, last=120, reason="a smell"),
        )
        scrap(shop, *shop.state.open_spans)

        with pytest.raises(BadInput, match="None of those filled goes out"):
            look_at_costs(shop.desk, shop.number)

    def test_whoever_may_not_settle_may_do_none_of_it(self, shop):
        """Topping up, emptying, re-labelling and taking back are settling."""
        scrap(shop, Span(30, 30))
        shop.tell_site(PersonAllowed(initials="CD", turns=False, settles=True, releases=False))
        rest = Span(21, 29)

        for act in (top_up, empty, scrap, let_go):
            with pytest.raises(BadInput, match="AB may not settle held ones at this bench"):
                act(shop, rest)
        with pytest.raises(BadInput, match="AB may not settle held ones at this bench"):
            take_back(shop.desk, shop.number, shop.press)

    def test_what_went_back_may_be_in_later_ones(self):
        """A trace of the drum says so, for the record of the drum does not reach there."""
        shop = Workshop().to_run()
        shop.off("0.1", purpose="dose")
        shop.tell(ContainersHeld(first=1, last=5, reason="lids cracked"))
        empty(shop, Span(1, 5))
        shop.off("0.1", purpose="dose")

        [lot] = trace(shop.desk, "L-0417").lots

        assert any("may be in 13 to 20" in words for words in lot.holes)
