"""The fold: a job as its entries say it stands, and strike-outs that work everything out anew."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import AB, Workshop, differences, settled_watch

from fillwright.jobs.opening import change_facts
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import strike_out
from fillwright.jobs.trim import stage as trim
from fillwright.records.entries import (
    ContainersHeld,
    ContainersSettled,
    FactsChanged,
    LotJudged,
    RunPaused,
    SampleDrawn,
    WeighingTaken,
)
from fillwright.records.fold import JobState, fold_job
from fillwright.records.spans import Span


def last_id(shop):
    """Return the id of the last weight."""
    return shop.state.weighings[-1].id


def strike(shop, entry_id, reason="typed wrong"):
    """Strike a weight out."""
    return strike_out(shop.desk, shop.number, entry_id, reason, shop.press)


def test_a_job_that_was_never_opened_has_no_facts():
    """Asking for the facts of nothing is our own mistake and says so."""
    with pytest.raises(LookupError, match=r"0417 was never opened"):
        _ = JobState("0417").known


def test_a_whole_job_folds_from_its_entries():
    """Folded anew from the first entry, a released job is what it was step by step."""
    shop = Workshop().to_released()

    assert differences(settled_watch(shop.refolded()), settled_watch(shop.state)) == []


@pytest.mark.parametrize("cut", range(0, 70, 7))
def test_a_fold_is_carried_on_from_any_place(cut):
    """The state after some entries, carried on with the rest, is the whole state."""
    shop = Workshop().to_released()
    entries = shop.entries()
    early = settled_watch(fold_job(shop.number, entries[:cut]))

    carried = fold_job(shop.number, entries[cut:], onto=early)

    assert differences(settled_watch(carried), settled_watch(shop.refolded())) == []


def test_set_aside_is_kept_and_not_used():
    """A spoilt weight is on record, its container filled and held, and no figure uses it."""
    shop = Workshop().to_run()
    at = shop.state.filled_to
    shop.weigh(100, set_aside="spilled")
    state = shop.state

    assert not state.weighings[-1].counts
    assert state.filled_to == at + 1
    assert state.open_spans == (Span(at + 1, at + 1),)
    assert list(state.run.deviations_g) == []


class TestHeld:
    """Held containers in the order in which things happened."""

    def test_settled_ones_are_open_no_more(self):
        """What was settled leaves the held ones; the rest stays."""
        shop = Workshop()
        shop.tell(
            ContainersHeld(first=3, last=9, reason="low"),
            ContainersSettled(first=3, last=4, outcome="weighed-good"),
            ContainersSettled(first=9, last=9, outcome="scrapped", reason="low"),
        )

        assert shop.state.open_spans == (Span(5, 8),)
        assert shop.state.scrapped == (Span(9, 9),)

    def test_a_later_hold_opens_what_was_settled(self):
        """A container that was let go and is held again waits again: the later word stands."""
        shop = Workshop()
        shop.tell(
            ContainersHeld(first=3, last=9, reason="low"),
            ContainersSettled(first=3, last=9, outcome="released-with-reason", reason="looked at"),
            ContainersHeld(first=8, last=12, reason="the sums passed their limit"),
        )

        assert shop.state.open_spans == (Span(8, 12),)

    def test_a_scrapped_one_is_not_held_again(self):
        """What is in the bin cannot wait on the bench."""
        shop = Workshop()
        shop.tell(
            ContainersHeld(first=3, last=9, reason="low"),
            ContainersSettled(first=5, last=6, outcome="scrapped", reason="low"),
            ContainersHeld(first=1, last=9, reason="again"),
        )

        assert shop.state.open_spans == (Span(1, 4), Span(7, 9))


class TestStruckInTheRun:
    """A weight of the run that is struck out is as if it had never counted."""

    def test_the_run_is_worked_out_without_it(self):
        """Level, last good one and watch are those of the other weights."""
        shop = Workshop().to_run()
        for deviation in ("0.3", "-0.2", "0.1"):
            shop.off(deviation)
        twin = Workshop().to_run()
        for deviation in ("0.3", "-0.2"):
            twin.off(deviation)

        strike(shop, last_id(shop))

        assert differences(settled_watch(shop.state).run, settled_watch(twin.state).run) == []

    def test_its_signal_goes_with_it(self):
        """A signal that a mistyped weight raised does not wait any more; the hold stays."""
        shop = Workshop().to_run()
        shop.off("0.2")
        good = shop.state.run.last_good
        shop.off("-5")
        assert shop.state.run.pending.outcome() == "waiting"

        strike(shop, last_id(shop))

        assert shop.state.run.pending is None
        assert shop.state.run.last_good == good
        assert shop.state.open_spans != ()

    def test_one_of_the_two_more_is_owed_again(self):
        """With one of the two struck out, one more is owed."""
        shop = Workshop().to_run()
        shop.off("-5")
        shop.off("0")
        strike(shop, last_id(shop))

        assert shop.state.run.pending.seen == []
        assert run.look(shop.desk, shop.state).act.order.startswith("Fill two more")

    def test_a_later_signal_keeps_its_own_weight(self):
        """With the first signal struck out, the next odd weight waits for its own two more."""
        shop = Workshop().to_run()
        shop.off("-5")
        first = last_id(shop)
        shop.off("0")
        shop.off("0")
        shop.off("-4")
        strike(shop, first)
        pending = shop.state.run.pending

        assert pending.container == shop.state.run.last_weighed
        assert pending.deviations_g == [-4.0]

    def test_a_number_typed_wrong_is_free_again(self):
        """After a strike-out the next container is the one after what is still on record."""
        shop = Workshop().to_run()
        at = shop.state.filled_to
        shop.off("0.1", container=100)
        assert shop.state.filled_to == 100

        strike(shop, last_id(shop))

        assert shop.state.filled_to == at
        assert run.look(shop.desk, shop.state).next_container == at + 1

    def test_what_was_told_since_stays_filled(self):
        """A pause after the weight says that so many were filled, whatever the weight was."""
        shop = Workshop().to_run()
        shop.off("0.1", container=20)
        run.pause(shop.desk, shop.number, "refill", shop.press)

        strike(shop, shop.state.weighings[-1].id)

        assert shop.state.filled_to == 20

    def test_a_proving_shot_leaves_the_watch_too(self):
        """The run's watch started on the proof: a struck shot is taken out of it."""
        shop = Workshop().to_run()
        shop.off("0.2")
        checks = shop.state.run.watch.checks

        strike(shop, shop.state.proof_shots[3].id)

        assert shop.state.run.watch.checks == checks - 1

    def test_a_strike_out_undoes_the_judgement_of_the_lot(self):
        """A lot was judged on figures that do not stand any more: it is judged again."""
        shop = Workshop().to_judged()

        strike(shop, shop.state.weighings[-1].id)

        assert shop.state.lot is None


class TestStruckBefore:
    """Strike-outs in trim and proof."""

    def test_a_reject_typed_wrong_lets_the_proof_go_on(self):
        """A proving run that a mistyped weight stopped is open again, one shot short."""
        shop = Workshop().to_shots()
        shop.off("0.1")
        shop.off("-40")
        assert shop.state.proof.verdict == "stopped"

        strike(shop, last_id(shop))
        state = shop.state

        assert state.proof is None
        assert "struck out: typed wrong" in state.reopened["prove"]
        assert prove.look(shop.desk, state).weighed == 1
        assert prove.look(shop.desk, state).act.what == "weigh"

    def test_a_proof_does_not_stand_on_a_struck_shot(self):
        """A verdict on eleven shots is no verdict on ten: one more is owed, then it is judged."""
        shop = Workshop().to_proved()
        assert shop.state.proof.verdict == "proved"

        strike(shop, shop.state.proof_shots[4].id)
        assert shop.state.proof is None
        shop.off("0.1")

        assert shop.state.proof.verdict == "proved"
        assert "prove" not in shop.state.reopened

    def test_a_trim_does_not_stand_on_a_struck_shot(self):
        """Before proving, a trim with a struck shot is open again."""
        shop = Workshop().to_prove()
        strike(shop, last_id(shop))

        assert shop.state.trim is None
        assert trim.look(shop.desk, shop.state).face in ("weigh", "turn")

    def test_a_trim_that_was_proved_since_stands(self):
        """Once proving has begun, the proof speaks for the setting."""
        shop = Workshop().to_proved()
        strike(shop, shop.state.shots[0].id)

        assert shop.state.trim is not None

    def test_a_strike_out_of_nothing_is_passed_over(self):
        """An entry that names no weight of this job changes nothing."""
        shop = Workshop().to_run()
        before = settled_watch(shop.refolded())
        entries = shop.entries()
        strike(shop, shop.state.weighings[0].id)
        wrong = replace(shop.entries()[-1].payload, entry_id="of another job")

        after = fold_job(shop.number, [*entries, replace(shop.entries()[-1], payload=wrong)])

        assert differences(settled_watch(after), before, without=MARKS) == []


MARKS = ("revision", "last_hash", "changed_at")


class TestFactsChanged:
    """Other facts, and what they make doubtful."""

    @pytest.mark.parametrize(
        ("stage", "gone"),
        [
            ("match", lambda s: s.match),
            ("setup", lambda s: s.steps),
            ("trim", lambda s: s.trim or s.shots),
            ("prove", lambda s: s.proof or s.proof_plan or s.proof_shots),
        ],
    )
    def test_a_reopened_stage_starts_anew(self, stage, gone):
        """The stage has nothing to show and its cause in words; the journal keeps what was."""
        shop = Workshop().to_proved()
        assert gone(shop.state)

        shop.tell(FactsChanged(facts=shop.facts, reason="another drum", reopens=(stage,)))

        assert not gone(shop.state)
        assert shop.state.reopened == {stage: "another drum"}

    def test_another_aim_in_the_run_starts_a_new_block(self):
        """Deviations are from the new aim, also when a strike-out folds the run again."""
        shop = Workshop().to_run()
        shop.off("0.2")
        change_facts(
            shop.desk,
            shop.number,
            replace(shop.facts, aim_g=Decimal(253)),
            "",
            shop.press,
        )
        shop.off("0.3")
        shop.off("0.1")
        strike(shop, last_id(shop))

        assert shop.state.run.aim_g == 253.0
        assert list(shop.state.run.deviations_g) == [pytest.approx(0.3)]

    def test_other_facts_undo_the_judgement_of_the_lot(self):
        """A lot judged for one label says nothing of another."""
        shop = Workshop().to_judged()
        change_facts(
            shop.desk,
            shop.number,
            replace(shop.facts, nominal=Decimal(245)),
            "re-label",
            shop.press,
        )

        assert shop.state.lot is None


class TestLot:
    """Sample, judgement and names."""

    def test_a_second_sample_joins_the_first(self):
        """A draw that begins after the first sample is the second; one at zero starts anew."""
        shop = Workshop()
        shop.tell(
            SampleDrawn(seed=1, first_sample=0, containers=(4, 2)),
            SampleDrawn(seed=2, first_sample=2, containers=(7, 1)),
        )
        assert [s.containers for s in shop.state.samples] == [(4, 2), (7, 1)]

        shop.tell(SampleDrawn(seed=3, first_sample=0, containers=(5,)))
        assert [s.containers for s in shop.state.samples] == [(5,)]

    def test_a_sample_with_a_scrapped_one_is_drawn_anew(self):
        """What is in the bin goes not out and is not in the sample."""
        shop = Workshop()
        shop.tell(
            SampleDrawn(seed=1, first_sample=0, containers=(4, 2)),
            ContainersHeld(first=2, last=3, reason="cracked"),
            ContainersSettled(first=2, last=2, outcome="scrapped", reason="cracked"),
        )

        assert shop.state.samples == []

    def test_scrapping_others_leaves_the_sample(self):
        """A sample without scrapped ones stays."""
        shop = Workshop()
        shop.tell(
            SampleDrawn(seed=1, first_sample=0, containers=(4, 2)),
            ContainersHeld(first=2, last=3, reason="cracked"),
            ContainersSettled(first=3, last=3, outcome="scrapped", reason="cracked"),
            ContainersSettled(first=2, last=2, outcome="weighed-good"),
        )

        assert [s.containers for s in shop.state.samples] == [(4, 2)]

    def test_names_stand_under_one_judgement(self):
        """A lot that is judged anew is signed anew."""
        shop = Workshop().to_judged()
        shop.sign()
        [(_, signed)] = shop.state.signatures
        assert (signed.role, signed.signed_by) == ("filled", AB)

        judged = next(e.payload for e in shop.entries() if isinstance(e.payload, LotJudged))
        shop.tell(judged)

        assert shop.state.signatures == []

    def test_a_name_given_again_replaces_itself(self):
        """There is one name a role."""
        shop = Workshop().to_judged()
        shop.sign()
        shop.sign()

        assert len(shop.state.signatures) == 1


def test_filled_to_follows_weights_and_pauses():
    """The last one filled is the highest number that anything says is filled."""
    shop = Workshop().to_run()
    shop.off("0.1", container=20, filled_to=23)
    assert shop.state.filled_to == 23

    shop.tell(RunPaused(reason="refill", after_container=26))
    assert shop.state.filled_to == 26

    shop.tell(RunPaused(reason="pause", after_container=20))
    assert shop.state.filled_to == 26


def test_shots_and_empties_are_no_containers_of_the_batch():
    """Only proving shots and doses have a number; shots of the trim are poured back."""
    shop = Workshop().to_prove()

    assert shop.state.filled_to == 0
    kinds = {
        e.payload.purpose: e.payload.container
        for e in shop.entries()
        if isinstance(e.payload, WeighingTaken)
    }
    assert kinds == {"shot": None}
