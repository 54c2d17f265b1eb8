"""The first one after a stop is looked at, as the one after a start or a change is."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.fault import stage as fault
from fillwright.jobs.held.by_hand import hold_by_hand
from fillwright.jobs.papers import batch_record
from fillwright.jobs.run import acts as runacts
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import weigh
from fillwright.jobs.strip.acts import begin as begin_strip
from fillwright.jobs.trace.both_ways import lot_trace
from fillwright.jobs.traveller import next_act
from fillwright.records.capture import Capture
from fillwright.records.codec import new_id
from fillwright.records.entries import Entry, RunPaused, RunPausedFirst, StepDone
from fillwright.records.fold import fold_job


@pytest.fixture
def shop():
    """A run under way, its first one looked at and one weighed."""
    shop = Workshop().to_run()
    shop.off("0.1")
    return shop


def pause(shop, reason="pause", **told):
    """Stop the run."""
    run.pause(shop.desk, shop.number, reason, shop.press, **told)


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        ("pause", "First jar since the run was stopped."),
        ("refill", "First jar since the hopper was refilled."),
        ("fault", "First jar since the run was stopped for a fault."),
    ],
)
def test_the_page_asks_and_says_why(shop, reason, words):
    """Before the next weight: the next one filled, and what it is the first after."""
    pause(shop, reason, filled_to=15)
    act = next_act(shop.desk, shop.state)

    assert (act.what, act.value) == ("first-look", "16")
    assert act.why.startswith(words)
    shop.look_at_first()
    assert next_act(shop.desk, shop.state).order == "Weigh jar 16."
    shop.off("0")
    assert shop.state.lots.look_due is None


def test_a_program_is_refused_until_somebody_looked(shop):
    """It is told which one, the first since what, and what to do; the same id is taken then."""
    pause(shop, "fault")
    capture = Capture(weighing_id=new_id(shop.clock.now()), value=Decimal("252.0"), source="scale")
    with pytest.raises(BadInput, match="is the first since the run was stopped for a fault"):
        weigh(shop.desk, shop.number, capture, shop.press, waits_for_look=True)

    shop.look_at_first()

    kept = weigh(shop.desk, shop.number, capture, shop.press, waits_for_look=True)
    assert not kept.is_repeat


def test_the_record_says_why_it_was_looked_at(shop):
    """Each with the stop before it; a skip with its reason."""
    pause(shop)
    shop.look_at_first()
    shop.off("0")
    pause(shop, "refill")
    firstjar.skip_look(shop.desk, shop.number, "same minute, lid was not off", shop.press)
    told = batch_record(shop.desk, shop.state).course

    assert any("looked at by AB, the run was stopped: all 9 right" in line for line in told)
    assert any("(the hopper was refilled) skipped: same minute" in line for line in told)


def test_what_is_wrong_holds_from_the_first_after_the_stop(shop):
    """Jars that were filled on before anybody looked are held with it."""
    pause(shop, filled_to=15)
    hold_by_hand(shop.desk, shop.number, "a crack", shop.press, numbers="17", last_filled=18)
    shop.look_at_first(label="last week's")

    assert [(s.first, s.last) for s in shop.state.open_spans] == [(16, 19)]


@pytest.mark.parametrize(
    "stopped",
    [
        lambda shop: runacts.check_scale(shop.desk, shop.number, Decimal(150), shop.press),
        lambda shop: fault.begin(shop.desk, shop.number, "drips", (), shop.press),
        lambda shop: fault.note(shop.desk, shop.number, "drips", "nozzle wiped", shop.press),
    ],
)
def test_a_stop_that_another_page_makes_counts(shop, stopped):
    """A scale that is off, a search for a fault, a fault that was found at once."""
    stopped(shop)

    assert shop.state.lots.look_due == "fault"


def test_a_machine_that_was_opened_counts(shop):
    """A strip in the middle of a run, step by step or not, and no stop was pressed."""
    begin_strip(shop.desk, shop.number, next(iter(shop.desk.profiles.by_name)), shop.press)
    assert shop.state.lots.look_due == "strip"
    shop.look_at_first()

    shop.tell(StepDone(step="strip", outcome="done", reading="every seal accounted for"))

    assert shop.state.lots.look_due == "strip"


def test_a_stop_before_the_first_leaves_the_look_of_the_start():
    """One look stands for both, and the record names both."""
    shop = Workshop().to_proved()
    run.start(shop.desk, shop.number, shop.press)
    pause(shop)

    assert shop.state.lots.look_due == "start"
    assert shop.state.lots.look_for == ("start", "pause")


def test_a_stop_outside_a_run_asks_for_nothing():
    """A fault in Trim, and the end of a run that was stopped."""
    trimming = Workshop().to_trim()
    fault.note(trimming.desk, trimming.number, "drips", "nozzle wiped", trimming.press)
    ended = Workshop().to_run()
    pause(ended)
    run.finish(ended.desk, ended.number, 11, ended.press, reason="drum empty")

    assert trimming.state.lots.look_due is None
    assert ended.state.lots.look_due is None


def test_a_trace_names_it_once_one_is_filled(shop):
    """While nothing was filled since the stop, there is nothing to look at."""
    pause(shop, "refill", filled_to=15)
    before = lot_trace(shop.desk, shop.state).holes
    hold_by_hand(shop.desk, shop.number, "a crack", shop.press, numbers="16", last_filled=16)
    after = lot_trace(shop.desk, shop.state).holes

    assert not any("not looked at" in line for line in before)
    assert "Jar 16 was not looked at, the first since the run was stopped." in after


def test_stops_of_an_older_journal_ask_for_nothing(shop):
    """Nobody was asked then: what was kept then reads as it read."""
    pause(shop)
    new = shop.entries()
    fact = new[-1].payload
    assert isinstance(fact, RunPaused)
    first = RunPausedFirst(reason=fact.reason, after_container=fact.after_container)
    old: list[Entry] = [*new[:-1], replace(new[-1], payload=first)]

    state = fold_job(shop.number, old)

    assert (fact.version, first.version) == (2, 1)
    assert state.lots.look_due is None
    assert state.run.paused == first
    assert state.run.check_next
