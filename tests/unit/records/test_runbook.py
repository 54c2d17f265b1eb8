"""What a run remembers: the last good one, what is pending, blocks, posts."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import SCATTER, differences

from fillwright.records.entries import (
    AdjustmentMade,
    RunPaused,
    RunStarted,
    SignalRaised,
    WeighingTaken,
)
from fillwright.records.runbook import Pending, RunBook

AIM = 252


def weighed(container, deviation="0", state="on"):
    """Return one weight of the run."""
    net = AIM + Decimal(deviation)
    return WeighingTaken(
        purpose="dose",
        value=str(net),
        unit="g",
        basis="net",
        tare_g=Decimal(0),
        net_g=net,
        container=container,
        state=state,
    )


def signalled(container, signal="band", side="low"):
    """Return the signal that a container raised."""
    return SignalRaised(
        weighing_id=f"w{container}",
        signal=signal,
        side=side,
        container=container,
        limit_g=249.5,
        because="Low.",
    )


def turned(after, to="51"):
    """Return a turn of the wheel."""
    return AdjustmentMade(
        after_container=after,
        from_marks=Decimal("50.8"),
        to_marks=Decimal(to),
        advised_marks=Decimal(to),
        mean_deviation_g=-1.0,
        believed_share=1.0,
    )


@pytest.fixture
def book():
    """A run that starts on a proof of eleven shots."""
    begun = RunBook(aim_g=float(AIM))
    proved = [weighed(n, str(SCATTER[n % 13])) for n in range(1, 12)]
    begun.start(RunStarted(first_container=12, sd_g=0.39, sd_readings=11), proved)
    return begun


def test_a_run_starts_on_its_proof(book):
    """The proving shots are the watch's first readings; the drift line starts without them."""
    assert book.watch.checks == 11
    assert list(book.check_containers) == list(range(1, 12))
    assert list(book.positions) == []
    assert (book.last_good, book.last_weighed, book.check_next) == (11, 11, True)


def test_a_proof_that_alarmed_does_not_alarm_the_run():
    """A run that was started knowing its proof begins with its sums at zero."""
    begun = RunBook(aim_g=float(AIM))
    proved = [weighed(n, str(SCATTER[n % 13])) for n in range(1, 12)] + [weighed(12, "6", "high")]

    begun.start(RunStarted(first_container=13, sd_g=0.4, sd_readings=12), proved)

    assert not begun.watch.alarmed
    assert (begun.watch.up, begun.watch.down) == (0.0, 0.0)


def test_a_good_weight_moves_the_last_good_one(book):
    """A weight in the band covers all before it."""
    book.take(weighed(20))

    assert (book.last_good, book.last_weighed, book.check_next) == (20, 20, False)
    assert list(book.deviations_g) == [0.0]


def test_the_weight_that_raised_a_signal_is_not_good(book):
    """The last good one is that before it, also when the weight itself was in the band."""
    book.take(weighed(20))
    book.take(weighed(30))
    book.signal(signalled(30, "cusum"))

    assert book.last_good == 20
    assert book.last_weighed == 30


def test_two_good_ones_take_a_signal_back(book):
    """One odd weight, then two good ones: nothing is pending and the watch is clear."""
    book.take(weighed(20, "-4", "low"))
    book.signal(signalled(20))
    assert book.pending.outcome() == "waiting"

    book.take(weighed(21))
    assert book.pending.outcome() == "waiting"
    book.take(weighed(22))

    assert book.pending is None
    assert book.last_good == 22
    assert not book.watch.alarmed
    # One odd weight says nothing of the level; the two that took it back do.
    assert list(book.positions) == [21.0, 22.0]
    assert list(book.deviations_g) == [0.0, 0.0]


@pytest.mark.parametrize(
    ("side", "seen", "outcome"),
    [
        ("low", [], "waiting"),
        ("low", ["on"], "waiting"),
        ("low", ["low"], "waiting"),
        ("low", ["on", "on"], "odd-one"),
        ("low", ["low", "low"], "moved"),
        ("low", ["low", "on"], "moved"),
        ("low", ["on", "short"], "moved"),
        ("low", ["far-short", "on"], "moved"),
        ("low", ["high", "on"], "jumps"),
        ("low", ["low", "high"], "jumps"),
        ("high", ["overfull", "high"], "moved"),
        ("high", ["on", "low"], "jumps"),
    ],
)
def test_two_more_weights_say_odd_moved_or_jumps(side, seen, outcome):
    """Both good is an odd one; off on the signal's side only is moved; anything else jumps."""
    pending = Pending("band", side, 20, "w20", list(seen), [])

    assert pending.outcome() == outcome


def test_sums_that_passed_their_limit_need_no_two_more():
    """Small deviations that added up have had their many weights: the level has moved."""
    assert Pending("cusum", "low", 20, "w20", [], []).outcome() == "moved"


def test_the_two_more_are_kept_from_the_watch(book):
    """What is weighed to look into a signal is not learnt, but counts as weighed."""
    checks = book.watch.checks
    book.take(weighed(20, "-4", "low"))
    book.signal(signalled(20))
    book.take(weighed(21, "-4", "low"))
    book.take(weighed(22, "-4", "low"))

    assert book.watch.checks == checks + 1
    assert book.last_weighed == 22
    assert book.last_good == 11
    assert book.pending.deviations_g == [-4.0, -4.0, -4.0]


def test_a_turn_starts_a_new_block(book):
    """After a turn the drift line is empty, the next one is due, and a post is set."""
    book.take(weighed(20, "-4", "low"))
    book.signal(signalled(20))
    book.adjust(turned(22))

    assert book.pending is None
    assert (list(book.positions), list(book.deviations_g)) == ([], [])
    assert book.check_next
    assert [(p.after_container, p.kind, p.words) for p in book.posts] == [
        (22, "turn", "turn 50.8 to 51")
    ]
    assert not book.watch.alarmed


def test_a_turn_keeps_what_is_known_of_the_spread(book):
    """The scatter of the machine does not change with the wheel: its sd is not learnt anew."""
    before = book.watch
    book.adjust(turned(11))

    assert book.watch.prior_df == before.count - 1
    assert book.watch.prior_sd == pytest.approx((before.m2 / (before.count - 1)) ** 0.5)


def test_a_pause_asks_for_the_next_one(book):
    """After a refill the very next container is weighed, and a post says why."""
    book.take(weighed(20))
    book.pause(RunPaused(reason="refill", after_container=24))

    assert (book.check_next, book.paused.reason) == (True, "refill")
    assert (book.posts[-1].after_container, book.posts[-1].words) == (24, "refill")

    book.take(weighed(25))

    assert (book.check_next, book.paused) == (False, None)


def test_a_fault_that_was_found_ends_what_is_pending(book):
    """With the cause found, the signal does not wait any more; the sums start anew."""
    book.take(weighed(20, "-4", "low"))
    book.signal(signalled(20))
    book.pause(RunPaused(reason="fault", after_container=20, note="lock was loose"))

    assert book.pending is None
    assert not book.watch.alarmed
    assert book.posts[-1].words == "lock was loose"


def test_a_plain_pause_leaves_a_signal_pending(book):
    """A break for lunch answers no question: two more are still owed."""
    book.take(weighed(20, "-4", "low"))
    book.signal(signalled(20))
    book.pause(RunPaused(reason="pause", after_container=20))

    assert book.pending.outcome() == "waiting"


def test_another_aim_starts_a_new_block(book):
    """Deviations are from the new aim; the old ones do not speak of it."""
    book.take(weighed(20, "0.4"))
    book.aim_at(254.0)
    book.take(weighed(21, "2.4"))

    assert book.aim_g == 254.0
    assert list(book.deviations_g) == [pytest.approx(0.4)]


@pytest.mark.parametrize("check", [-1, 0])
def test_there_is_no_container_before_the_first_check(book, check):
    """A sum that was never zero since the first reading goes back to the start."""
    assert book.container_of_check(check) == 0


def test_checks_are_numbered_with_the_proof(book):
    """Check twelve of the watch is the first container weighed in the run."""
    book.take(weighed(20))

    assert [book.container_of_check(n) for n in (1, 11, 12, 99)] == [1, 11, 20, 20]


@pytest.mark.parametrize("asks", [1, 3, 40])
def test_the_watch_may_be_asked_at_any_time(book, asks):
    """Readings handed over in blocks give the same watch as readings one by one."""
    other = RunBook(aim_g=float(AIM))
    other.start(book.started, [weighed(n, str(SCATTER[n % 13])) for n in range(1, 12)])
    for n in range(12, 52):
        for one, every in ((book, 1), (other, asks)):
            one.take(weighed(n, str(SCATTER[n % 13])))
            if n % every == 0:
                assert one.watch is not None

    assert differences(book.watch, other.watch) == []
    assert book.last_signal.kind == other.last_signal.kind


def test_before_its_start_a_run_remembers_nothing():
    """Without a start there is no watch, no signal, and a weight is none of the run's."""
    book = RunBook(aim_g=float(AIM))
    book.take(weighed(1))
    book.adjust(turned(1))
    book.aim_at(254.0)
    book.pause(RunPaused(reason="fault", after_container=1))

    assert (book.watch, book.last_signal, book.container_of_check(1)) == (None, None, 0)
    assert list(book.all_nets_g) == []
    assert [post.kind for post in book.posts] == ["turn", "fault"]


def test_a_weight_without_a_number_is_none_of_the_run(book):
    """A dose has its container; what has none is not taken."""
    book.take(weighed(None))

    assert (book.last_weighed, book.weighed_since_start) == (11, 0)
