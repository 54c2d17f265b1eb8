"""The fold, whatever is recorded: replayed from anywhere, and without what was struck out."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import Workshop, differences, settled_watch

from fillwright.jobs.held import settle
from fillwright.jobs.run import changes
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import strike_out
from fillwright.jobs.traveller import next_act
from fillwright.records.fold import fold_job
from fillwright.records.spans import Span

DEVIATIONS = st.integers(-30, 30).map(lambda n: Decimal(n) / 10) | st.sampled_from(
    [Decimal(-5), Decimal(5), Decimal("-11.1"), Decimal("-20.5"), Decimal(31)]
)
STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("weigh"), DEVIATIONS),
        st.tuples(st.just("weigh"), DEVIATIONS),
        st.tuples(st.just("spoilt"), st.just(Decimal(100))),
        st.tuples(st.just("turn"), st.integers(-5, 5).map(Decimal)),
        st.tuples(st.just("pause"), st.sampled_from(["pause", "refill", "fault"])),
        st.tuples(st.just("lot"), st.sampled_from(["container", "lid", "drum"])),
        st.tuples(st.just("look"), st.sampled_from([None, "drips"])),
        st.tuples(st.just("strike"), st.integers(0, 99)),
        st.tuples(st.just("settle"), st.booleans()),
    ),
    min_size=1,
    max_size=14,
)
MARKS = ("revision", "last_hash", "changed_at")


def take(shop, step, given_):
    """Take one step of a run, as far as it can be taken."""
    state = shop.state
    if step == "weigh" and run.look(shop.desk, state).next_container is not None:
        shop.off(given_, purpose="dose")
    elif step == "spoilt" and run.look(shop.desk, state).next_container is not None:
        shop.weigh(given_, purpose="dose", set_aside="spilled")
    elif step == "turn":
        marks = state.setting_marks + given_ / 10
        run.adjust(shop.desk, shop.number, marks, shop.press, is_locked=True)
    elif step == "pause":
        run.pause(shop.desk, shop.number, given_, shop.press)
    elif step == "lot" and given_ == "drum":
        dense = {"density_g_per_ml": Decimal("1.02")}
        changes.take_drum(shop.desk, shop.number, f"D-{state.revision}", shop.press, **dense)
    elif step == "lot":
        changes.take_lot(shop.desk, shop.number, given_, f"K-{state.revision}", shop.press)
    elif step == "look" and next_act(shop.desk, state).what == "first-look":
        shop.look_at_first(leak=given_)
    elif step == "strike":
        open_ones = [w for w in state.weighings if not w.struck]
        one = open_ones[given_ % len(open_ones)]
        strike_out(shop.desk, shop.number, one.id, "typed wrong", shop.press)
    elif step == "settle" and state.open_spans:
        first = state.open_spans[0].first
        outcome = "scrapped"
        span = Span(first, first)
        settle.settle(shop.desk, shop.number, span, outcome, "cracked", shop.press)


@settings(max_examples=20)
@given(steps=STEPS, cut=st.integers(0, 60), looks=st.sets(st.integers(0, 60), max_size=6))
def test_a_run_folds_the_same_from_any_place(steps, cut, looks):
    """Carried on from any prefix, looked at on the way or not, the state is the same.

    The state that the commands worked on, the fold from the first entry, and a fold that is
    carried on from a prefix and asked for its watch now and then, all agree.
    """
    shop = Workshop().to_run()
    for step, given_ in steps:
        take(shop, step, given_)
    entries = shop.entries()
    whole = settled_watch(fold_job(shop.number, entries))

    early = settled_watch(fold_job(shop.number, entries[: cut % len(entries)]))
    for place, entry in enumerate(entries[cut % len(entries) :]):
        early.apply(entry)
        if place in looks:
            settled_watch(early)

    assert differences(settled_watch(early), whole) == []
    assert differences(settled_watch(shop.state), whole) == []


@settings(max_examples=20)
@given(deviations=st.lists(DEVIATIONS, min_size=1, max_size=8), which=st.integers(0, 99))
def test_a_struck_weight_is_as_if_never_weighed(deviations, which):
    """Struck out, a weight leaves the run as a journal without it and its signal would.

    The hold that it raised stays until somebody settles it: a strike-out frees no container.
    """
    shop = Workshop().to_run()
    for deviation in deviations:
        shop.off(deviation, purpose="dose")
    doses = [w for w in shop.state.weighings if w.fact.purpose == "dose"]
    one = doses[which % len(doses)]
    held = shop.state.open_spans
    without = [
        entry
        for entry in shop.entries()
        if entry.id != one.id and getattr(entry.payload, "weighing_id", "") != one.id
    ]
    never = settled_watch(fold_job(shop.number, without))

    strike_out(shop.desk, shop.number, one.id, "typed wrong", shop.press)
    struck = settled_watch(shop.state)

    assert differences(struck.run, never.run) == []
    assert struck.filled_to == never.filled_to
    assert struck.open_spans == held


@settings(max_examples=15)
@given(
    deviations=st.lists(st.integers(-6, 6), min_size=3, max_size=10),
    which=st.integers(0, 99),
)
def test_a_struck_shot_is_as_if_never_weighed(deviations, which):
    """In the proof as well: the next shot has the number, and the count is one less."""
    shop = Workshop().to_shots()
    for deviation in deviations:
        shop.off(Decimal(deviation) / 10)
    one = shop.state.proof_shots[which % len(deviations)]
    without = [entry for entry in shop.entries() if entry.id != one.id]
    never = fold_job(shop.number, without)

    strike_out(shop.desk, shop.number, one.id, "typed wrong", shop.press)
    struck = shop.state

    counted = [s.id for s in struck.proof_shots if s.counts]
    assert counted == [s.id for s in never.proof_shots]
    assert struck.filled_to == never.filled_to
    assert (struck.proof, struck.open_spans) == (never.proof, never.open_spans)
