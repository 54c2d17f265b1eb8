"""Release: the sample by chance, the judgement, the names, and what may not go out."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import AB, CD, Workshop, job, site

from fillwright.errors import BadInput, Conflict
from fillwright.jobs.act import Expects
from fillwright.jobs.desk import Press
from fillwright.jobs.opening import change_facts
from fillwright.jobs.release import stage as release
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import strike_out
from fillwright.records.entities import Person, SuppliedShortageFacts
from fillwright.records.entries import ContainersHeld, LotJudged, Released, SampleDrawn
from fillwright.records.spans import Span


def look(shop):
    """Return what Release shows."""
    return release.look(shop.desk, shop.state)


def let_go(shop):
    """Release the lot."""
    return release.release(shop.desk, shop.number, shop.press)


def drawn(shop):
    """Return what was drawn."""
    return [s.containers for s in shop.state.samples]


def refused(shop, words):
    """See that the lot cannot be released, for the reason named."""
    with pytest.raises(BadInput, match=words) as caught:
        let_go(shop)
    assert caught.value.field == "release"
    assert shop.state.released is None


class TestDraw:
    """The sample is drawn by chance, from what goes out."""

    def test_the_plan_says_how_many(self):
        """A lot of 120 under the double plan: 30 first.

        Directive 76/211/EEC, Annex II, 2.1, lots of 100 to 500 (from memory).
        """
        shop = Workshop().to_finished()
        assert look(shop).act.order == "Draw 30 jars by chance for the lot test."

        shop.draw()

        [sample] = drawn(shop)
        assert len(sample) == len(set(sample)) == 30
        assert set(sample) <= set(range(1, 121))

    def test_a_seed_draws_the_same_again(self):
        """The seed is kept: anybody can draw the same sample; another seed draws another."""
        one, same, other = Workshop(), Workshop(), Workshop()
        for shop, seed in ((one, 11), (same, 11), (other, 12)):
            shop.to_finished().draw(seed)

        assert drawn(one) == drawn(same) != drawn(other)
        fact = next(e.payload for e in one.entries() if isinstance(e.payload, SampleDrawn))
        assert (fact.seed, fact.first_sample) == (11, 0)

    def test_every_container_is_drawn_alike(self):
        """Over 100 seeds each of 120 is in a quarter of the samples: 25, within five sd of 4.3."""
        shop = Workshop().to_finished()
        times = dict.fromkeys(range(1, 121), 0)
        for seed in range(100):
            twin = Workshop(job())
            twin.journal.log, twin.journal.heads = list(shop.journal.log), dict(shop.journal.heads)
            release.draw(twin.desk, twin.number, twin.press, seed=seed)
            for number in drawn(twin)[0]:
                times[number] += 1

        assert min(times.values()) > 25 - 22
        assert max(times.values()) < 25 + 22

    def test_what_is_weighed_already_counts(self):
        """A drawn one that was weighed in the run is not fetched again."""
        shop = Workshop().to_finished()
        seen = shop.draw()
        weighed = {w.fact.container for w in shop.state.weighings if w.fact.container}

        assert set(seen.still_to_weigh) == set(drawn(shop)[0]) - weighed
        assert len(seen.sample_g) == 30 - len(seen.still_to_weigh)

    def test_scrapped_ones_are_never_drawn(self):
        """What is in the bin does not go out: not in the lot, not in the sample."""
        shop = Workshop().to_run()
        for _ in range(15):
            shop.weigh(100, set_aside="spilled")
        shop.fill_up()
        run.finish(shop.desk, shop.number, 120, shop.press)
        shop.scrap(12, 26)
        seen = look(shop)
        assert (seen.filled, seen.scrapped, seen.going_out) == (120, 15, 105)
        for seed in range(20):
            twin = Workshop(job())
            twin.journal.log, twin.journal.heads = list(shop.journal.log), dict(shop.journal.heads)
            release.draw(twin.desk, twin.number, twin.press, seed=seed)
            assert not set(drawn(twin)[0]) & set(range(12, 27))

    def test_drawing_twice_is_drawing_once(self):
        """A sample that one does not like is not drawn again."""
        shop = Workshop().to_finished()
        shop.draw(11)
        entries = len(shop.entries())

        shop.draw(12)

        assert len(shop.entries()) == entries

    def test_not_before_the_run_is_finished(self):
        """A lot that is not whole has no sample."""
        shop = Workshop().to_run()

        with pytest.raises(BadInput, match=r"The run is not finished"):
            shop.draw()
        assert look(shop).act.missing == "The run is not finished."

    def test_not_while_something_is_held(self):
        """What is held may go out or not: settle it first."""
        shop = Workshop().to_run()
        shop.weigh(100, set_aside="spilled")
        shop.fill_up()
        run.finish(shop.desk, shop.number, 120, shop.press)

        with pytest.raises(BadInput, match=r"Still held: 12\. Settle them first"):
            shop.draw()
        assert look(shop).act.what == "settle"
        refused(shop, r"Held ones are not settled")

    def test_a_lot_that_was_scrapped_whole_is_closed(self):
        """With nothing left there is no sample: the lot is closed."""
        shop = Workshop().to_finished()
        shop.tell(ContainersHeld(first=1, last=120, reason="a torn seal"))
        shop.scrap(1, 120)

        assert look(shop).act.order == "Nothing is left to go out. Close the lot."
        with pytest.raises(BadInput, match=r"Nothing of this lot is left"):
            shop.draw()
        refused(shop, r"Nothing is left to go out")

    def test_a_page_that_is_old_draws_nothing(self):
        """Two people do not draw two samples."""
        shop = Workshop().to_finished()
        seen = shop.state.revision
        shop.draw()
        shop.weigh_sample()

        with pytest.raises(Conflict, match=r"Somebody else was first"):
            release.sign(shop.desk, shop.number, "filled", AB, Press(person="CD", seen=seen))


class TestJudged:
    """The lot test of the rule set."""

    def test_a_full_lot_is_accepted(self):
        """With the last of the sample the lot is judged, with every figure on record."""
        shop = Workshop().to_judged()
        lot = shop.state.lot

        assert (lot.verdict, lot.is_compliant) == ("accepted", True)
        assert (lot.rules, lot.plan, lot.lot_size, lot.n) == ("EU-76/211", "double", 120, 30)
        assert (lot.nominal, lot.shortage, lot.t1_limit, lot.t2_limit) == (
            "250",
            "9",
            "241",
            "232",
        )
        # Acceptance number 1, rejection number 3 (Annex II, 2.2, from memory).
        assert (lot.acceptance_number, lot.rejection_number) == (1, 3)
        assert lot.mean == pytest.approx(252, abs=0.5)
        assert lot.margin == pytest.approx(lot.mean - lot.limit)
        assert lot.program == "Fillwright tests"

    def test_the_rows_show_result_and_allowance(self):
        """Average, short, far short: each with what is allowed."""
        rows = look(Workshop().to_judged()).rules

        assert [row.name for row in rows] == [
            "Average of the lot",
            "Short ones, below T1",
            "Far short ones, below T2",
        ]
        assert [row.state for row in rows] == ["on", "on", "on"]
        assert (rows[1].result, rows[1].allowed) == ("0 of 30", "most 1")
        assert rows[2].allowed == "none allowed"

    def test_exactly_on_t1_is_not_short(self):
        """Weights of 241.0 g count as full, also in the lot test."""
        shop = Workshop().to_judged("-11.0", "-11.0", "-11.0")

        assert shop.state.lot.count_below_t1 == 0

    def test_three_short_are_rejected_at_once(self):
        """Three short in thirty: the rejection number of the first sample."""
        shop = Workshop().to_judged("-11.1", "-11.1", "-11.1")

        assert (shop.state.lot.verdict, shop.state.lot.count_below_t1) == ("rejected", 3)
        act = look(shop).act
        assert (act.order, act.state) == ("Do not release.", "stop")
        assert "Ways on: weigh every one, re-fill, or re-label." in act.why
        refused(shop, r"Do not release")

    def test_a_low_average_is_rejected(self):
        """No single short one, but a mean below the limit."""
        shop = Workshop().to_finished()
        shop.draw()
        while shop.waiting():
            shop.off("-3.5", purpose="sample")

        assert shop.state.lot.verdict == "rejected"
        assert shop.state.lot.is_mean_ok is False
        assert look(shop).rules[0].state == "stop"

    def test_a_far_short_one_is_not_compliant(self):
        """One below T2 may not go out, whatever the plan allows."""
        shop = Workshop().to_judged("-20.1")

        assert shop.state.lot.count_below_t2 == 1
        assert look(shop).rules[2].state == "stop"
        refused(shop, r"Do not release")

    def test_the_second_sample_decides(self):
        """Two short in thirty ask for thirty more; four in sixty are the most.

        Annex II, 2.2: 1 and 3 in the first 30, 4 and 5 in all 60 (from memory).
        """
        shop = Workshop().to_judged("-11.1", "-11.1")
        assert shop.state.lot.verdict == "second-sample"
        assert look(shop).act.order == "Draw the second sample."
        refused(shop, r"Draw the second sample")

        shop.draw(12)
        first, second = drawn(shop)
        assert len(second) == 30
        assert not set(first) & set(second)
        shop.weigh_sample("-11.1", "-11.1")

        lot = shop.state.lot
        assert (lot.verdict, lot.n, lot.count_below_t1) == ("accepted", 60, 4)
        assert (lot.acceptance_number, lot.rejection_number) == (4, 5)
        assert (lot.first_sample_n, lot.first_sample_below_t1) == (30, 2)
        shop.sign()
        assert let_go(shop).headline == "Released 120."

    def test_the_second_sample_may_reject(self):
        """Five short in sixty."""
        shop = Workshop().to_judged("-11.1", "-11.1")
        shop.draw(12)
        shop.weigh_sample("-11.1", "-11.1", "-11.1")

        assert (shop.state.lot.verdict, shop.state.lot.count_below_t1) == ("rejected", 5)

    def test_a_sample_that_was_all_weighed_is_judged_when_drawn(self):
        """Where every one was weighed in the run, nothing is fetched."""
        shop = Workshop(job(weigh_every=1)).to_finished()
        shop.draw()

        assert shop.state.lot.verdict == "accepted"

    def test_after_a_strike_out_it_is_judged_again(self):
        """A weight struck out undoes the judgement; nothing is left to weigh: judge it again."""
        shop = Workshop().to_judged()
        shot = shop.state.shots[0]
        strike_out(shop.desk, shop.number, shot.id, "wrong jar", shop.press)
        assert look(shop).act.order == "Judge the lot again."
        assert look(shop).act.expects is Expects.CONFIRM

        shop.draw(99)

        assert shop.state.lot.verdict == "accepted"
        assert len(drawn(shop)) == 1

    def test_a_weight_of_the_sample_struck_out_is_weighed_again(self):
        """The same jar is fetched once more."""
        shop = Workshop().to_judged()
        last = next(w for w in reversed(shop.state.weighings) if w.fact.purpose == "sample")
        strike_out(shop.desk, shop.number, last.id, "wrong jar", shop.press)

        assert look(shop).still_to_weigh == (last.fact.container,)
        shop.weigh_sample()
        assert shop.state.lot.verdict == "accepted"

    def test_a_new_label_is_judged_anew(self):
        """Re-labelled for less, the same weights pass; the old names do not count."""
        shop = Workshop().to_finished()
        shop.draw()
        while shop.waiting():
            shop.off("-3.5", purpose="sample")
        assert shop.state.lot.verdict == "rejected"

        new = job(nominal=Decimal(245))
        change_facts(shop.desk, shop.number, new, "re-labelled 245 g", shop.press)
        shop.draw()

        assert (shop.state.lot.verdict, shop.state.lot.nominal) == ("accepted", "245")
        assert shop.state.signatures == []


class TestOtherRules:
    """Rule sets that have no plan, or no table."""

    def test_small_lots_of_the_uk_are_weighed_whole(self):
        """Under 100 every one is weighed: a census."""
        shop = Workshop(job(rules="UK-2006/659", plan=None, lot_size=40)).to_finished()
        assert look(shop).act.order == "Weigh every jar for the lot test."
        shop.draw()
        shop.weigh_sample()
        lot = shop.state.lot

        assert (lot.plan, lot.n, lot.verdict) == ("census", 40, "accepted")

    def test_a_small_lot_of_the_eu_is_judged_by_our_own_rule(self):
        """Below 100 the directive gives no number: every one is weighed, none may be short."""
        shop = Workshop(job(lot_size=40)).to_finished()
        assert look(shop).act.order == "Weigh every jar for the lot test."
        assert "our own rule" in look(shop).small_lot
        shop.draw()
        shop.weigh_sample()
        lot = shop.state.lot

        assert (lot.plan, lot.n, lot.verdict) == ("every one", 40, "accepted")
        assert lot.is_compliant
        assert lot.acceptance_number == 0
        assert "our own rule" in lot.notes[0]
        assert lot.because.startswith("By our own rule.")
        assert not any("typed" in words for words in (*lot.notes, *lot.sources))

    def test_without_a_table_it_is_not_evaluated(self):
        """A volume label in the US has no MAV on record: judged on the mean only, not released."""
        facts = job(
            rules="US-HB133-A",
            plan=None,
            unit="mL",
            aim_g=Decimal(257),
            product={"density_g_per_ml": Decimal("1.01")},
        )
        shop = Workshop(facts).to_judged()
        lot = shop.state.lot

        assert (lot.verdict, lot.is_compliant) == ("not-evaluated", None)
        assert [r.result for r in look(shop).rules][1:] == ["not evaluated"]
        assert look(shop).act.order == "Do not release."
        with pytest.raises(BadInput, match=r"not signed for release"):
            shop.sign()
        refused(shop, r"Do not release")

    def test_with_a_value_from_a_document_it_is(self):
        """The user's own value, with edition and page, lets the lot be judged and is cited."""
        given = SuppliedShortageFacts(
            value_label_unit=Decimal(10), edition="an invented handbook", page="12"
        )
        facts = job(
            rules="US-HB133-A",
            plan=None,
            unit="mL",
            aim_g=Decimal(257),
            supplied_shortage=given,
        )
        shop = Workshop(facts).to_judged()

        assert shop.state.lot.verdict == "accepted"
        assert "an invented handbook, page 12" in shop.state.lot.sources


class TestSign:
    """Names under the judgement."""

    def test_one_name_is_enough_where_the_site_says_so(self):
        """A one-person maker signs once."""
        shop = Workshop().to_judged()
        assert (look(shop).act.what, look(shop).act.value) == ("sign", "filled")
        refused(shop, r"A signature is missing")

        shop.sign()

        assert look(shop).act.order == "Release 120."

    def test_two_names_are_two_people(self):
        """Where two are asked, the second is somebody else, however the initials are typed."""
        shop = Workshop(settings=site(signatures=2)).to_judged()
        shop.sign()
        assert (look(shop).act.what, look(shop).act.value) == ("sign", "checked")
        refused(shop, r"A signature is missing")
        with pytest.raises(BadInput, match=r"AB has signed already; a second person checks"):
            shop.sign(AB, "checked")
        with pytest.raises(BadInput, match=r"has signed already"):
            shop.sign(Person(initials=" ab", name="A. Bench"), "checked")

        shop.sign(CD, "checked")

        assert look(shop).act.what == "release"
        assert [s.signed_by for s in look(shop).signatures] == [AB, CD]

    @pytest.mark.parametrize(
        ("person", "role", "words"),
        [
            (Person(initials=" ", name="x"), "filled", r"Give the initials"),
            (AB, "owner", r"not signed for release"),
        ],
    )
    def test_what_is_refused(self, person, role, words):
        """No initials; a role that is none."""
        shop = Workshop().to_judged()

        with pytest.raises(BadInput, match=words):
            shop.sign(person, role)

    def test_nothing_is_signed_before_it_is_judged(self):
        """A name stands under a judgement."""
        shop = Workshop().to_finished()

        with pytest.raises(BadInput, match=r"not judged yet"):
            shop.sign()

    @pytest.mark.parametrize("shorts", [2, 3])
    def test_a_lot_that_may_not_go_is_not_signed(self, shorts):
        """Neither while a second sample is owed nor when it is rejected."""
        shop = Workshop().to_judged(*["-11.1"] * shorts)

        with pytest.raises(BadInput, match=r"not signed for release"):
            shop.sign()


class TestClosed:
    """The end of the lot."""

    def test_released_is_counted(self):
        """How many went out stands in the entry; then it is stripped."""
        shop = Workshop().to_released()
        seen = look(shop)

        assert shop.state.released == Released(outcome="released", containers=120)
        assert (seen.headline, seen.act.what) == ("Released 120.", "strip")
        assert seen.act.why == "120 released."

    def test_giveaway_is_told(self):
        """Above the label in each, and in the whole lot in kilograms: 1.93 x 120 is 0.23 kg."""
        seen = look(Workshop().to_judged())

        assert seen.giveaway_g == pytest.approx(seen.mean_g - 250)
        assert seen.giveaway_words.startswith("1.9 g above the label in each jar, 0.23 kg")

    def test_closing_without_release_needs_a_reason(self):
        """Any time, with a reason, once."""
        shop = Workshop().to_judged("-11.1", "-11.1", "-11.1")
        with pytest.raises(BadInput, match=r"Say why the lot is not released"):
            release.close(shop.desk, shop.number, " ", shop.press)

        seen = release.close(shop.desk, shop.number, "three short", shop.press)

        assert (seen.headline, seen.act.state) == ("Not released.", "stop")
        assert seen.act.why == "Not released: three short"
        with pytest.raises(BadInput, match=r"closed already"):
            release.close(shop.desk, shop.number, "again", shop.press)

    def test_a_closed_lot_is_not_released(self):
        """What was closed stays closed."""
        shop = Workshop().to_judged("-11.1", "-11.1", "-11.1")
        release.close(shop.desk, shop.number, "three short", shop.press)

        with pytest.raises(BadInput, match=r"The lot is closed"):
            let_go(shop)

    def test_a_closed_lot_keeps_its_record(self):
        """Nothing is added to a closed lot: no name, no pause, no other facts."""
        shop = Workshop().to_released()
        entries = len(shop.entries())
        shop.draw()
        with pytest.raises(BadInput, match=r"The lot is closed"):
            shop.sign()
        with pytest.raises(BadInput, match=r"closed: its facts stay as they are"):
            change_facts(shop.desk, shop.number, job(lot_code="x"), "", shop.press)

        assert len(shop.entries()) == entries

    def test_a_hold_blocks_a_judged_lot(self):
        """A lot that was accepted and then has a held jar waits."""
        shop = Workshop().to_judged()
        shop.sign()
        last = next(w for w in shop.state.weighings if w.fact.container == 120)
        strike_out(shop.desk, shop.number, last.id, "wrong jar", shop.press)

        assert shop.state.open_spans == (Span(111, 120),)
        refused(shop, r"Held ones are not settled")


def test_next_of_the_sample_is_where_it_stands():
    """Tray and place on it, so that it is found."""
    shop = Workshop().to_finished()
    seen = shop.draw()
    number = seen.still_to_weigh[0]

    assert seen.next_words == (
        f"Jar {number}: tray {(number - 1) // 10 + 1}, place {(number - 1) % 10 + 1}"
    )
    assert seen.act.order == f"Fetch jar {number} and weigh it."


def test_the_judgement_is_one_entry_with_the_last_weight():
    """Weight and verdict are kept in one transaction, in this order."""
    shop = Workshop().to_judged()
    kinds = [type(f) for f in shop.facts_since(0)]

    assert kinds[-1] is LotJudged
    assert shop.entries()[-1].at == shop.entries()[-2].at


class TestTwoMarkets:
    """One label sold under two rule sets: both judge the same jars, the stricter decides."""

    def test_both_markets_judge_the_same_sample(self):
        """The larger sample is drawn; each market uses as many of the first as it asks for."""
        shop = Workshop(job(rules="UK-2006/659", plan=None, second_rules="US-HB133-A"))
        shop.to_judged()
        state = shop.state

        # Lots of 100 to 500 in the UK: 50; lots of 12 to 250 in the US: 12 (from memory).
        assert len(drawn(shop)[0]) == 50
        assert (state.lot.rules, state.lot.n) == ("UK-2006/659", 50)
        assert (state.other_lot.rules, state.other_lot.n) == ("US-HB133-A", 12)
        assert (state.lot.verdict, state.other_lot.verdict) == ("accepted", "accepted")
        assert look(shop).other is state.other_lot
        assert shop.refolded().other_lot == state.other_lot

    def test_the_market_that_turns_the_lot_down_decides(self):
        """One jar 13 g short in the first twelve fails the US and passes the UK: no release."""
        shop = Workshop(job(rules="UK-2006/659", plan=None, second_rules="US-HB133-A"))
        shop.to_finished().draw()
        first = drawn(shop)[0][0]
        shop.weigh("237.2", purpose="sample", container=first)
        shop.weigh_sample()
        state = shop.state

        assert (state.lot.rules, state.lot.verdict) == ("US-HB133-A", "rejected")
        assert (state.other_lot.rules, state.other_lot.verdict) == ("UK-2006/659", "accepted")
        assert look(shop).act.order == "Do not release."
        refused(shop, "Do not release|US-HB133-A|Rejected|short")

    def test_a_second_sample_of_one_market_is_drawn_on(self):
        """The EU wants 60 in all, the UK has drawn 50: ten more are drawn."""
        shop = Workshop(job(second_rules="UK-2006/659")).to_finished()
        shop.draw()
        low = list(drawn(shop)[0][:2])
        for number in low:
            shop.weigh("240.0", purpose="sample", container=number)
        shop.weigh_sample()

        assert shop.state.lot.verdict == "second-sample"
        shop.draw()

        assert [len(numbers) for numbers in drawn(shop)] == [50, 10]
        shop.weigh_sample()
        assert (shop.state.lot.n, shop.state.lot.first_sample_n) == (60, 30)
