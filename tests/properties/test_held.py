"""Whatever is done to held containers: each is in one state, none is lost, nothing is deleted."""

from __future__ import annotations

from contextlib import suppress
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import Workshop, differences, settled_watch

from fillwright.errors import BadInput, Conflict
from fillwright.jobs.held import acts as settleacts
from fillwright.jobs.held import settle
from fillwright.jobs.held.by_hand import hold_by_hand
from fillwright.jobs.held.fates import fate_lines, fates_of
from fillwright.jobs.held.orders import doubt_at, due_held
from fillwright.jobs.held.pick import held_on
from fillwright.jobs.held.relabel import relabel
from fillwright.jobs.held.table import became_of, held_rows
from fillwright.jobs.held.take_back import strike_settling, take_back
from fillwright.jobs.held.use import held_use
from fillwright.jobs.release.keep_sample import keep_sample
from fillwright.jobs.release.lot import view_of
from fillwright.jobs.run.acts import strike
from fillwright.jobs.run.weigh import undo
from fillwright.jobs.trace.both_ways import trace
from fillwright.records.entries import ContainersHeld
from fillwright.records.spans import Span, count, overlap

TRAYS = st.integers(1, 13).map(str) | st.sampled_from(["", "2-4", "0", "x"])
PLACES = st.none() | st.integers(1, 11)
COUNTS = st.none() | st.integers(0, 12)
ACTS = st.tuples(
    st.sampled_from(
        [
            "hold",
            "by-hand",
            "by-hand",
            "scrap",
            "release",
            "top-up",
            "empty",
            "relabel",
            "weigh",
            "weigh",
            "strike",
            "back",
            "keep",
        ]
    ),
    TRAYS,
    PLACES,
    COUNTS,
    st.integers(-30, 20),
)


def numbers(spans):
    """The containers of spans, one by one."""
    return {n for span in spans for n in range(span.first, span.last + 1)}


def hold_some(shop, act):
    """Hold some for what the machine did, or by hand."""
    what, tray, place, many, figure = act
    first = abs(figure * 7) % shop.state.filled_to + 1
    if what == "hold":
        last = min(first + (many or 0), shop.state.filled_to)
        shop.tell(ContainersHeld(first=first, last=last, reason="looked odd"))
        return
    which = {"numbers": f"{first}-{first + (many or 0)}"} if place else {"tray": tray}
    by_weight = figure % 2 == 0
    hold_by_hand(shop.desk, shop.number, "odd", shop.press, weight_settles=by_weight, **which)


def do(shop, act):
    """Do one thing to held containers, as far as it can be done."""
    what, tray, place, many, figure = act
    desk, number, press = shop.desk, shop.number, shop.press
    shop.clock.go(1)
    if what in ("hold", "by-hand"):
        hold_some(shop, act)
    elif what == "weigh":
        shop.off(Decimal(figure), purpose="held")
    elif what == "strike":
        strike_settling(desk, number, abs(figure), "wrong tray", press)
    elif what == "back":
        take_back(desk, number, press)
    elif what == "keep":
        keep_sample(desk, number, str(abs(figure) * 3 + 1), "shelf", "", press)
    else:
        spans = held_on(shop.state, tray, place, many)
        if what == "scrap":
            settle.settle(desk, number, spans, "scrapped", "cracked", press)
        elif what == "release":
            settle.settle(desk, number, spans, "released-with-reason", "full", press)
        elif what == "top-up":
            settleacts.top_up(desk, number, spans, "short", press)
        elif what == "empty":
            settleacts.empty_back(desk, number, spans, "hopper", "wrong lid", press)
        else:
            relabel(desk, number, spans, Decimal(240 + figure), "short", press)


def check(shop):
    """Hold the job against everything that is true of held containers at any time."""
    state = shop.state
    fates = {fate: numbers(spans) for fate, spans in fates_of(state).items()}
    # Every one filled is in one state, and none is in two.
    assert sum(len(one) for one in fates.values()) == state.filled_to
    assert set().union(*fates.values()) == set(range(1, state.filled_to + 1))
    assert sum(line.containers for line in fate_lines(state)) == state.filled_to
    # What is held is not settled, and what waits for a weight is held.
    settled = numbers(Span(first, last) for first, last, _ in state.held.standing)
    assert not settled & numbers(state.open_spans)
    assert sum(b - a + 1 for a, b, _ in state.held.standing) == len(settled)
    assert numbers(state.held.topped) <= numbers(state.open_spans)
    due = due_held(state)
    assert (due in numbers(state.open_spans)) if state.open_spans else due is None
    # A table, and one container looked up, tell the same.
    tell = became_of(state)
    assert {n: tell(n) for one in fates.values() for n in one} == {
        n: fate for fate, one in fates.items() for n in one
    }
    # The lot test counts what carries the label of the job and goes out.
    out = fates.get("settled", set()) | fates.get("topped up", set()) | fates.get("waiting", set())
    lot = view_of(shop.desk, state)
    assert set(lot.eligible) == out
    assert lot.relabelled == len(fates.get("re-labelled", set()))
    used = held_use(shop.desk, state)
    assert sum(row.containers for row in used.rows) == len(settled)
    assert used.lost_kg >= 0


def check_ways(shop):
    """Hold the traces of re-labelled lots, the table and the fold against the entries."""
    state = shop.state
    for fact, spans in state.held.relabelled():
        found = trace(shop.desk, fact.lot_code)
        assert found.traced_as == ("relabelled",)
        assert found.jars[0].containers == count(spans)
        # There and back: whoever is found under the code has it, and nobody else.
        back = {n for n in range(1, state.filled_to + 1) if _code_of(state, n) == fact.lot_code}
        assert back == numbers(spans)
        assert all(overlap(fact.spans, [span]) for span in spans)
    said = [entry.id for entry, _ in held_rows(shop.desk, (shop.number,))]
    assert len(said) == len(set(said)) >= len(state.holds) + len(state.held.settlings)
    assert differences(settled_watch(shop.refolded()), settled_watch(state)) == []


def _code_of(state, container):
    """The code of the re-labelled lot that a container is in; empty for none."""
    one = state.held.at(container)
    return one.fact.lot_code if one is not None and one.outcome == "relabelled" else ""


@settings(max_examples=25)
@given(acts=st.lists(ACTS, min_size=1, max_size=14))
def test_no_container_is_in_two_states_or_in_none(acts):
    """After every act of any sequence: the counts are those of all that were filled."""
    shop = Workshop().to_finished()
    shop.tell(ContainersHeld(first=18, last=43, reason="jar 43: 241.0 g is short."))
    check(shop)
    for act in acts:
        before = len(shop.entries())
        doubted = {n for n in numbers(shop.state.open_spans) if doubt_at(shop.state, n)}
        with suppress(BadInput, Conflict):
            do(shop, act)
        assert len(shop.entries()) >= before
        if act[0] in ("weigh", "top-up", "relabel", "keep"):
            # What was doubted by hand leaves by a word alone.
            assert doubted <= numbers(shop.state.open_spans)
        check(shop)
    check_ways(shop)


@settings(max_examples=25)
@given(acts=st.lists(ACTS, min_size=1, max_size=8))
def test_a_taken_back_act_is_as_if_never_done(acts):
    """What one press did to held containers is undone by one, and all that was said stays."""
    shop = Workshop().to_finished()
    shop.tell(ContainersHeld(first=18, last=43, reason="jar 43: 241.0 g is short."))
    for act in acts:
        held, fates = shop.state.open_spans, fates_of(shop.state)
        topped, said = shop.state.held.topped, len(shop.state.held.settlings)
        with suppress(BadInput):
            do(shop, act)
        if act[0] not in ("scrap", "release", "empty", "relabel", "weigh", "top-up"):
            continue
        if (shop.state.open_spans, shop.state.held.topped) == (held, topped):
            continue
        done = len(shop.state.held.settlings)
        take_back(shop.desk, shop.number, shop.press)

        assert (shop.state.open_spans, fates_of(shop.state)) == (held, fates)
        assert shop.state.held.topped == topped
        assert len(shop.state.held.settlings) == done > said
        with suppress(BadInput):
            do(shop, act)


RUN_ACTS = st.tuples(
    st.sampled_from(["weigh", "weigh", "low", "hold", "more", "undo", "strike", "scrap", "word"]),
    st.integers(0, 40),
    st.integers(0, 9),
)


def do_in_run(shop, act):
    """Do one thing in an open run, as far as it can be done."""
    what, figure, many = act
    desk, number, press = shop.desk, shop.number, shop.press
    shop.clock.go(1)
    filled = shop.state.filled_to
    if what in ("weigh", "low"):
        shop.off("-6" if what == "low" else "0.1", purpose="dose")
    elif what == "hold":
        first = max(filled - figure, 1)
        which = {"numbers": f"{first}-{min(first + many, filled)}"}
        hold_by_hand(desk, number, "odd", press, weight_settles=many % 2 == 0, **which)
    elif what == "more":
        last = filled + many
        which = {"numbers": f"{filled}-{last}", "last_filled": last}
        hold_by_hand(desk, number, "odd", press, **which)
    elif what == "undo":
        undo(desk, number, press)
    elif what == "strike":
        strike(desk, number, max(filled - figure, 1), "typed wrong", press)
    elif what == "scrap":
        settle.settle(desk, number, shop.state.open_spans[:1], "scrapped", "cracked", press)
    else:
        settle.settle(desk, number, held_on(shop.state), "released-with-reason", "whole", press)


@settings(max_examples=25)
@given(acts=st.lists(RUN_ACTS, min_size=1, max_size=14))
def test_held_by_hand_in_a_run_each_is_in_one_state(acts):
    """Filled, weighed, doubted, struck out, settled: a partition of all filled, at any time."""
    shop = Workshop().to_run()
    for act in acts:
        with suppress(BadInput, Conflict):
            do_in_run(shop, act)
        state = shop.state
        fates = {fate: numbers(spans) for fate, spans in fates_of(state).items()}
        assert sum(len(one) for one in fates.values()) == state.filled_to
        assert set().union(*fates.values()) == set(range(1, state.filled_to + 1))
        # What somebody had in hand stays filled, whatever weight is struck out.
        by_hand = [hold.last for hold in state.holds if "by hand" in hold.reason]
        assert max(by_hand, default=0) <= state.filled_to
    assert differences(settled_watch(shop.refolded()), settled_watch(shop.state)) == []
