"""Run: what one weight means, what is held, when the wheel is turned, how it ends."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import SCATTER, Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.turn import advised_turn, due_container
from fillwright.records.entries import AdjustmentMade, ContainersHeld, SignalRaised
from fillwright.records.spans import Span


def look(shop):
    """Return what Run shows."""
    return run.look(shop.desk, shop.state)


def row(shop, *deviations):
    """Weigh a row, each the one that is due."""
    for deviation in deviations:
        kept = shop.off(deviation)
    return kept


def adjust(shop, marks=None):
    """Turn the wheel as ordered."""
    value = Decimal(marks or look(shop).act.value)
    return run.adjust(shop.desk, shop.number, value, shop.press, is_locked=True)


class TestStart:
    """The run begins on a proof, or on a reason."""

    def test_without_a_proof_it_needs_a_reason(self):
        """The reason goes on record."""
        shop = Workshop().to_prove()
        with pytest.raises(BadInput, match=r"The dose is not proved\. Prove it, or say why"):
            run.start(shop.desk, shop.number, shop.press)

        run.start(shop.desk, shop.number, shop.press, without_proof="a sample batch")

        started = shop.state.run.started
        assert (started.without_proof, started.sd_readings) == ("a sample batch", 0)

    def test_it_goes_on_behind_the_proved_ones(self):
        """Proved jars are jars of the batch: the run starts with the next."""
        shop = Workshop().to_run()

        assert shop.state.run.started.first_container == 12
        assert look(shop).next_container == 12

    def test_twice_is_once(self):
        """Starting what runs already changes nothing."""
        shop = Workshop().to_run()
        entries = len(shop.entries())

        run.start(shop.desk, shop.number, shop.press)

        assert len(shop.entries()) == entries

    def test_a_weight_before_the_start_is_refused(self):
        """A dose belongs to a run."""
        with pytest.raises(BadInput, match=r"The run has not started"):
            Workshop().to_proved().off("0", purpose="dose")


class TestDue:
    """Which container is weighed next."""

    def test_the_first_then_the_last_of_each_tray(self):
        """One at once after the start, then every tenth, then the very last."""
        shop = Workshop().to_run()
        weighed = []
        while look(shop).act.what == "weigh":
            weighed.append(look(shop).next_container)
            shop.off(SCATTER[len(weighed) % 13])

        assert weighed == [12, 20, 30, 40, 50, 60, 70, 80, 90, 100, 110, 120]
        assert look(shop).act.what == "finish"
        assert due_container(shop.state) is None

    def test_a_lot_that_is_no_whole_tray_ends_with_its_last(self):
        """The last container is weighed, whole tray or not."""
        shop = Workshop(job(lot_size=25)).to_run()
        row(shop, "0.1", "0.2")

        assert look(shop).next_container == 25

    def test_unproved_the_first_five_are_weighed(self):
        """Where nothing is proved, the first five one after another."""
        shop = Workshop().to_prove()
        run.start(shop.desk, shop.number, shop.press, without_proof="a sample batch")
        weighed = [row(shop, SCATTER[n]).weighing.container for n in range(6)]

        assert weighed == [1, 2, 3, 4, 5, 10]

    @pytest.mark.parametrize("reason", ["pause", "refill", "fault"])
    def test_after_an_interruption_the_next_one(self, reason):
        """A refill, a pause, a fault: the next container is weighed."""
        shop = Workshop().to_run()
        row(shop, "0.1")
        run.pause(shop.desk, shop.number, reason, shop.press, filled_to=15)

        assert look(shop).next_container == 16
        assert look(shop).paused == reason
        shop.look_at_first()
        row(shop, "0.1")
        assert look(shop).paused == ""

    @pytest.mark.parametrize(
        ("value", "words"),
        [(12, r"Jar 12 was passed already; the last weighed was 20"), (1, r"passed already")],
    )
    def test_one_that_was_passed_is_refused(self, value, words):
        """A number that lies behind is a slip."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.1")

        with pytest.raises(BadInput, match=words):
            shop.off("0", container=value)


class TestOneOddWeight:
    """One low jar can be a bad recharge; two more tell."""

    def test_it_asks_for_two_more_and_no_turn(self):
        """Held from the one after the last good; no turn is offered on one weight."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2")
        kept = row(shop, "-5")
        act = look(shop).act

        assert kept.weighing.state == "low"
        assert shop.state.open_spans == (Span(21, 30),)
        assert act.order.startswith("Fill two more and weigh both. Nothing leaves the bench.")
        assert (act.what, look(shop).next_container) == ("weigh", 31)
        assert look(shop).wheel_words == "Hands off the wheel."
        assert look(shop).turn is None

    def test_two_good_ones_leave_the_wheel_alone(self):
        """It was an odd one: the wheel stays, what was held stays held."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2", "-5", "0.3", "-0.1")

        assert shop.state.run.pending is None
        assert look(shop).wheel_words == "Leave the wheel alone."
        assert shop.state.open_spans == (Span(21, 30),)
        assert look(shop).next_container == 40

    def test_two_low_ones_turn_it_up(self):
        """Two more agree: a turn up, and all since the last good are held."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2", "-5", "-5.2", "-4.9")
        act = look(shop).act

        assert act.what == "adjust"
        assert act.order.startswith("Turn the wheel up to")
        assert act.why.endswith("two more weights agree.")
        assert shop.state.open_spans == (Span(21, 32),)

    def test_two_high_ones_turn_it_down_and_up(self):
        """From above the way is past the setting and up again."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2", "4", "4.2", "3.9")
        act = look(shop).act

        assert act.order.startswith("Turn the wheel down and up to")
        assert "first, then come up to" in act.steps[1]
        assert act.state_words == "High"

    def test_one_on_each_side_stops_the_filling(self):
        """Low, then high: it jumps about. Nothing is gained by turning."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2", "-5", "5", "0")
        act = look(shop).act

        assert act.order == "Stop filling. The dose jumps about."
        assert (act.what, act.value) == ("pause", "fault")
        run.pause(shop.desk, shop.number, "fault", shop.press, note="air bled")
        shop.look_at_first()
        assert look(shop).act.what == "weigh"
        assert look(shop).next_container == 33
        # What jumped before the cause was found says nothing of the level after it.
        row(shop, "0.1")
        assert look(shop).wheel_words == "Leave the wheel alone."

    def test_a_slight_move_that_the_wheel_cannot_set(self):
        """Moved, but by less than half a tick: leave it and look at the lock."""
        shop = Workshop(job(machine={"step_marks": Decimal(4)})).to_run()
        row(shop, "0.1", "0.2", "-2.6", "-2.6", "-2.6")
        act = look(shop).act

        assert act.order.startswith("Leave the wheel at")
        assert act.value == format(shop.state.setting_marks.normalize(), "f")

    @pytest.mark.parametrize(
        ("deviation", "signal", "words"),
        [
            ("-11.1", "short", "Short"),
            ("-20.1", "far-short", "Far short"),
            ("31", "overfull", "Overfull"),
        ],
    )
    def test_a_reject_is_tagged_and_held(self, deviation, signal, words):
        """Short, far short, overfull: tag and hold come first, then two more."""
        shop = Workshop().to_run()
        row(shop, "0.1", deviation)
        act = look(shop).act

        assert act.order.startswith("Tag and hold jars 13 to 20. Fill two more")
        assert (act.state, act.state_words) == ("short", words)
        [raised] = shop.state.signals
        assert (raised.signal, raised.container) == (signal, 20)

    def test_exactly_on_t1_is_not_short(self):
        """241.0 g of 250 g is the limit itself: low, never short."""
        shop = Workshop().to_run()

        assert row(shop, "-11.0").weighing.state == "low"
        assert shop.state.signals[-1].signal == "band"

    def test_what_was_filled_since_is_held_too(self):
        """Jars filled while the odd one was on the scale are held with it."""
        shop = Workshop().to_run()
        row(shop, "0.1")
        shop.off("-5", filled_to=23)

        assert shop.state.open_spans == (Span(13, 23),)
        assert look(shop).next_container == 24

    def test_a_signal_carries_its_limit_and_its_weight(self):
        """The entry says which weight, which side, which limit, and why in a sentence."""
        shop = Workshop().to_run()
        shop.off("-5", entry_id="w-1")
        [raised] = [f for f in shop.facts_since(0) if isinstance(f, SignalRaised)]

        assert (raised.weighing_id, raised.side, raised.limit_g) == ("w-1", "low", 249.5)
        assert raised.because == "247.0 g is low."


class TestInBandSignals:
    """Weights inside the band that still say something."""

    def test_three_sd_in_the_band_asks_for_two_more(self):
        """A quiet machine that jumps inside its band is looked into."""
        shop = Workshop().to_run()
        row(shop, *SCATTER[:4])
        kept = row(shop, "2.2")

        assert kept.weighing.state == "high"
        assert shop.state.signals[-1].signal == "beyond-3sd"
        assert look(shop).act.order.startswith("Fill two more")

    def test_small_steps_to_one_side_add_up(self):
        """The sums pass their limit: a turn, and suspects back to where it may have begun."""
        shop = Workshop().to_run()
        row(shop, "0.3", "-0.3", "0.3")
        while not shop.state.signals:
            row(shop, "-0.8")
        raised = shop.state.signals[-1]
        held = shop.state.open_spans[0]

        assert (raised.signal, raised.side) == ("cusum", "low")
        assert look(shop).act.what == "adjust"
        assert look(shop).act.why.endswith("the weights add up to a shift.")
        # The sum was last zero at container 30; with 95 % the shift came after 12.
        assert held == Span(13, raised.container)
        assert held.first <= shop.state.run.last_good

    def test_suspects_do_not_reach_behind_a_turn(self):
        """The sums began anew with the turn: what was filled before it is another matter."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2", "-5", "-5.2", "-4.9")
        adjust(shop)
        before = shop.state.open_spans
        row(shop, "0.1", "3")

        assert before == (Span(21, 32),)
        assert shop.state.signals[-1].container == 40
        # Both weights of the new block are on one side since its start.
        assert shop.state.open_spans == (Span(21, 40),)
        assert shop.state.holds[-1].first == 33

    def test_the_weight_that_tipped_the_sum_is_not_good(self):
        """Its own container is held with the rest."""
        shop = Workshop().to_run()
        while not shop.state.signals:
            row(shop, "-0.8")

        assert shop.state.run.last_good < shop.state.signals[-1].container


class TestDeadBand:
    """The wheel is left alone for what it cannot better."""

    def test_inside_it_no_turn(self):
        """A level of a third of a gram off asks for nothing."""
        shop = Workshop().to_run()
        row(shop, "0.3", "0.2", "0.4", "0.3", "0.1", "0.3")

        assert look(shop).act.what == "weigh"
        assert look(shop).wheel_words == "Leave the wheel alone."
        assert "inside its dead band" in look(shop).wheel_why
        assert not advised_turn(shop.state, shop.state.run).is_due

    def test_its_width_is_the_largest_of_three(self):
        """Twice the spread of the level, the wheel's own spread, or 15 % of the tolerance.

        By hand: tolerance 2.52 g, 15 % is 0.378 g; the wheel 0.05 % of 450 mL by
        1.0094 g/mL is 0.227 g; the level 2 x 0.3754 x sqrt(0.2/1.8) = 0.250 g.
        """
        shop = Workshop().to_run()

        assert advised_turn(shop.state, shop.state.run).dead_band_g == pytest.approx(0.378)

    def test_one_check_before_a_second_move(self):
        """After a turn one is weighed before the wheel may be touched again."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2", "-5", "-5.2", "-4.9")
        adjust(shop)
        seen = look(shop)

        assert seen.act.what == "weigh"
        assert seen.next_container == shop.state.filled_to + 1
        assert seen.turn is None

    def test_the_correction_is_shrunk(self):
        """The wheel is turned by what is believed of the deviation, not by all of it."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2", "-5", "-5.2", "-4.9")
        turn = look(shop).turn
        marks = float(turn.to_marks - shop.state.setting_marks)

        assert 0.8 < turn.believed_share < 1.0
        assert turn.mean_deviation_g == pytest.approx(-(5 + 5.2 + 4.9) / 3)
        # One mark is 5 mL of 1.0094 g/mL.
        assert marks == pytest.approx(turn.believed_share * 5.0333 / 5.047, abs=0.03)


class TestAdjust:
    """A turn on record."""

    def test_advice_and_turn_are_kept_apart(self):
        """What was advised, what was done, and what it was done for."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2", "-5", "-5.2", "-4.9")
        advised = look(shop).turn
        before = shop.state.setting_marks
        adjust(shop, before + 2)
        fact = shop.entries()[-1].payload

        assert isinstance(fact, AdjustmentMade)
        assert (fact.from_marks, fact.to_marks) == (before, before + 2)
        assert fact.advised_marks == advised.to_marks
        assert fact.after_container == 32
        assert shop.state.setting_marks == before + 2

    def test_left_as_it_is_is_on_record_too(self):
        """Leaving the wheel where it stands is an answer."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2", "-5", "-5.2", "-4.9")
        stay = next(o for o in look(shop).act.options if o.label.startswith("Leave it"))

        adjust(shop, stay.value)

        assert shop.state.run.pending is None
        assert look(shop).act.what == "weigh"

    @pytest.mark.parametrize(
        ("marks", "locked", "words"),
        [
            ("0", True, r"runs to 90; 0 is not on it"),
            ("90.5", True, r"runs to 90"),
            ("50", False, r"Lock the wheel before the next fill"),
        ],
    )
    def test_what_is_refused(self, marks, locked, words):
        """Off the scale, or unlocked."""
        shop = Workshop().to_run()

        with pytest.raises(BadInput, match=words):
            run.adjust(shop.desk, shop.number, Decimal(marks), shop.press, is_locked=locked)

    @pytest.mark.parametrize("stage", ["to_proved", "to_finished"])
    def test_only_in_an_open_run(self, stage):
        """Before and after the run there is nothing to turn."""
        shop = getattr(Workshop(), stage)()

        with pytest.raises(BadInput, match=r"No run is open in this job"):
            run.adjust(shop.desk, shop.number, Decimal(50), shop.press, is_locked=True)


class TestPause:
    """Interruptions."""

    @pytest.mark.parametrize("filled_to", [131, 10**9])
    def test_more_than_the_lot_is_refused(self, filled_to):
        """A number beyond the lot is a slip of the key."""
        shop = Workshop().to_run()

        with pytest.raises(BadInput, match=r"is beyond this lot of 120"):
            run.pause(shop.desk, shop.number, "refill", shop.press, filled_to=filled_to)

    def test_a_reason_that_is_none_of_the_three(self):
        """Pause, refill or fault."""
        shop = Workshop().to_run()

        with pytest.raises(BadInput, match=r"pause, refill or fault"):
            run.pause(shop.desk, shop.number, "lunch", shop.press)

    def test_fewer_than_known_changes_nothing(self):
        """What is known to be filled stays filled."""
        shop = Workshop().to_run()
        run.pause(shop.desk, shop.number, "refill", shop.press, filled_to=3)

        assert shop.state.filled_to == 11


class TestFinish:
    """The end of the run."""

    def test_all_weighed_ends_without_a_hold(self):
        """With the last one weighed good, nothing is suspect."""
        shop = Workshop().to_finished()

        assert (shop.state.filled_to, shop.state.open_spans) == (120, ())
        assert look(shop).act.order == "The run is finished. Go on with Release."

    def test_an_early_end_needs_a_reason(self):
        """Planned for 120 and ended at 40: the record says why."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2", "0.1", "-0.2")
        with pytest.raises(BadInput, match=r"planned for 120; say why it ends at 40"):
            run.finish(shop.desk, shop.number, 40, shop.press)

        run.finish(shop.desk, shop.number, 40, shop.press, reason="out of product")

        assert shop.state.run.finished.reason == "out of product"
        assert shop.state.open_spans == ()

    def test_what_no_weight_covers_is_held(self):
        """Filled after the last weight: nothing says that they are good."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2")
        run.finish(shop.desk, shop.number, 24, shop.press, reason="out of product")

        assert shop.state.open_spans == (Span(21, 24),)

    def test_what_was_told_as_filled_and_never_covered_is_held(self):
        """Filled while the last one settled on the scale, and then it ended."""
        shop = Workshop().to_run()
        row(shop, "0.1")
        shop.off("0.2", filled_to=23)
        run.finish(shop.desk, shop.number, 23, shop.press, reason="out of product")

        assert shop.state.open_spans == (Span(21, 23),)

    def test_after_a_turn_that_nothing_checked_all_since_the_last_good_are_held(self):
        """A turn at the very end is not known to be right."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2", "-5", "-5.2", "-4.9")
        adjust(shop)
        run.finish(shop.desk, shop.number, 36, shop.press, reason="out of product")

        assert shop.state.open_spans == (Span(21, 36),)

    @pytest.mark.parametrize(
        ("filled", "words"),
        [
            (10, r"Jar 20 is filled already, so 10 cannot be all"),
            (131, r"131 is beyond this lot of 120"),
        ],
    )
    def test_a_number_that_cannot_be(self, filled, words):
        """Fewer than weighed; more than a lot of this size can have."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2")

        with pytest.raises(BadInput, match=words):
            run.finish(shop.desk, shop.number, filled, shop.press, reason="x")

    def test_two_more_are_owed_first(self):
        """A signal at the end is looked into before the end."""
        shop = Workshop().to_run()
        row(shop, "0.1", "-5")

        with pytest.raises(BadInput, match=r"Two more jars are owed"):
            run.finish(shop.desk, shop.number, 20, shop.press, reason="x")

    def test_two_more_at_the_end_may_pass_the_plan(self):
        """An odd weight in the last jar: two more are filled, and no reason is asked."""
        shop = Workshop(job(lot_size=20)).to_run()
        row(shop, "0.1", "-5", "0.2", "0.1")
        act = look(shop).act
        assert (act.what, act.value) == ("finish", "22")

        run.finish(shop.desk, shop.number, 22, shop.press)

        assert shop.state.filled_to == 22

    def test_proofs_that_filled_more_than_the_lot_can_be_finished(self):
        """Repeated proving runs of a small lot: what is filled is filled."""
        shop = Workshop(job(lot_size=8, tray_size=2, weigh_every=2)).to_proved()
        prove.again(shop.desk, shop.number, shop.press)
        for step in range(shop.state.proof_plan.shots):
            shop.off(SCATTER[step % 13])
        assert (shop.state.proof.verdict, shop.state.filled_to) == ("proved", 16)
        run.start(shop.desk, shop.number, shop.press)
        act = look(shop).act
        assert (act.what, act.value) == ("finish", "16")

        run.finish(shop.desk, shop.number, 16, shop.press)

        assert (shop.state.filled_to, shop.state.open_spans) == (16, ())

    def test_nothing_is_weighed_after_the_end(self):
        """The run is over: held ones or the sample are next."""
        shop = Workshop().to_finished()

        with pytest.raises(BadInput, match=r"The run is finished"):
            shop.off("0", purpose="dose")


class TestWords:
    """What the page says."""

    def test_the_next_one_is_named_with_its_tray(self):
        """The unit at the bench is the tray."""
        shop = Workshop().to_run()
        row(shop, "0.1")
        seen = look(shop)

        assert seen.act.order == "Fill to jar 20, then weigh it."
        assert seen.next_words == "Jar 20, the last of tray 2"
        assert seen.to_go_words == "8 to fill first, 108 left in all"

    @pytest.mark.parametrize(
        ("deviation", "words", "tag"),
        [
            ("0", "on the aim", "On the aim"),
            ("-0.4", "0.4 g under the aim", "In band"),
            ("0.4", "0.4 g over the aim", "In band"),
            ("-5", "2.5 g below the band", "Low"),
            ("5", "2.5 g above the band", "High"),
        ],
    )
    def test_the_last_weight_is_told_against_aim_or_band(self, deviation, words, tag):
        """In the band against the aim, outside against the band."""
        shop = Workshop().to_run()
        row(shop, deviation)

        assert look(shop).last_words == words
        assert look(shop).act.state_words == tag

    def test_held_ones_are_named_with_their_trays(self):
        """Numbers and trays, and what to do with them."""
        shop = Workshop().to_run()
        row(shop, "0.1", "0.2", "-5")

        assert look(shop).held_words == (
            "Jars 21 to 30 are held, tray 3. Settle them before release."
        )
        assert look(shop).held_count == 10

    def test_a_slow_drift_is_said_before_it_matters(self):
        """In grams for a hundred jars, from the first shot of the proof; none is said as that."""
        steady, creeping = Workshop().to_run(), Workshop().to_run()
        row(steady, *SCATTER[:8])
        row(creeping, *[Decimal("0.1") * n for n in range(1, 9)])

        assert look(steady).drift_words == "No drift seen since jar 1."
        assert look(creeping).drift_words.startswith("Slow drift of +1.")

    def test_before_six_weights_no_drift_is_told(self):
        """A line through a few points says nothing."""
        shop = Workshop().to_run()
        row(shop, *SCATTER[:5])

        assert look(shop).drift_words == ""


class TestCautions:
    """What can hurt in the run."""

    def test_at_the_start_hands_are_clear(self):
        """Guard on before the run starts."""
        assert CAUTIONS["pinch"] in look(Workshop().to_proved()).act.cautions

    def test_a_plain_run_has_none(self):
        """Cold cream into plastic jars: nothing is said that is not true."""
        assert look(Workshop().to_run()).act.cautions == ()

    def test_a_hot_product_is_said_all_along(self):
        """The run's own header names the temperature."""
        shop = Workshop(job(product={"product_c": Decimal(58)})).to_run()

        assert look(shop).act.cautions[0].words.startswith("58 °C. Gloves")

    def test_glass_and_heat(self):
        """Glass breaks, and cracks when filled hot."""
        cold = Workshop(job(container={"name": "250 mL glass jar"})).to_run()
        hot = Workshop(
            job(container={"name": "250 mL glass jar"}, product={"product_c": Decimal(58)})
        ).to_run()

        assert look(cold).act.cautions == (CAUTIONS["glass"],)
        assert CAUTIONS["hot-glass"] in look(hot).act.cautions

    def test_a_refill_is_lifted_with_care(self):
        """After stopping for a refill the lift and the wet floor are said, then no more."""
        shop = Workshop().to_run()
        row(shop, "0.1")
        run.pause(shop.desk, shop.number, "refill", shop.press)
        assert look(shop).act.cautions == (CAUTIONS["refill"],)

        row(shop, "0.1")

        assert look(shop).act.cautions == ()


def test_a_hold_is_never_shorter_than_the_signal():
    """Every signal comes with a hold that reaches from the last good one to the last filled."""
    shop = Workshop().to_run()
    for deviation in ("0.1", "-5", "0.1", "0.2", "-0.8", "3", "0", "0", "-11.5", "-3", "-3"):
        row(shop, deviation)
    facts = shop.facts_since(0)
    signals = [n for n, fact in enumerate(facts) if isinstance(fact, SignalRaised)]

    assert len(signals) >= 3
    for place in signals:
        assert isinstance(facts[place + 1], ContainersHeld)
        assert facts[place + 1].last >= facts[place].container
