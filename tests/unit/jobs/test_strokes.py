"""Strokes that the journal tells: what wears the seals of a machine."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from workshop import SCATTER, Workshop

from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.field.trial_fill import keep_trial
from fillwright.jobs.run.weigh import undo
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.strip.strokes import jobs_of, strokes_after, strokes_of
from fillwright.jobs.trim import stage as trim
from fillwright.records.entries import TrialFilled


def trial(machine):
    """A trial fill of three shots on a machine of the bench."""
    return TrialFilled(
        trial=0,
        machine=0,
        machine_name=machine,
        filled_with="water",
        product="",
        fitted="",
        setting="",
        asked_g=None,
        nets_g=(Decimal(250), Decimal(251), Decimal(249)),
    )


def test_shots_that_fill_no_container_are_strokes_too():
    """Trim shots and a spoilt one count, one struck out as mistyped does not."""
    shop = Workshop().to_trim()
    before = strokes_after(shop.state, None)
    shop.off(0, purpose="shot")
    shop.off(0, purpose="shot", set_aside="spilled")
    assert strokes_after(shop.state, None) == before + 2

    shop.off(1, purpose="shot")
    undo(shop.desk, shop.number, shop.press)

    assert strokes_after(shop.state, None) == before + 2


def test_shots_stay_when_the_trim_is_done_anew():
    """What is trimmed again has stroked all the same."""
    shop = Workshop().to_prove()
    before = strokes_after(shop.state, None)
    trim.trim_again(shop.desk, shop.number, "another look", shop.press)

    assert strokes_after(shop.state, None) == before


def test_timed_strokes_count_as_many_as_were_timed():
    """Ten where ten whole ones were timed."""
    shop = Workshop().to_trim()
    before = strokes_after(shop.state, None)
    setup.done(shop.desk, shop.number, "strokes", "44", shop.press)

    assert strokes_after(shop.state, None) == before + 10


def test_only_what_was_filled_after_a_look_counts_after_it():
    """A seal looked at in the midst of a run has the jars before it behind it."""
    shop = Workshop().to_run()
    for place in range(3):
        shop.off(SCATTER[place])
    then, filled = shop.clock.now(), shop.state.filled_to
    assert strokes_after(shop.state, then) == 0
    shop.clock.go(1)
    shop.off(SCATTER[3])

    assert strokes_after(shop.state, then) == shop.state.filled_to - filled > 0
    assert strokes_after(shop.state, shop.clock.now() + timedelta(seconds=1)) == 0


def test_trial_fills_count_on_their_own_machine():
    """Those on another machine do not."""
    shop = Workshop().to_trim()
    name = shop.facts.machine.name
    keep_thing(shop.desk, shop.facts.machine, shop.press)
    jobs = jobs_of(shop.desk, name)
    before = strokes_of(shop.desk, name, jobs, None)
    keep_trial(shop.desk, trial(name), shop.press)

    assert strokes_of(shop.desk, name, jobs, None) == before + 3
    assert strokes_of(shop.desk, "West filler", (), None) == 0
    assert strokes_of(shop.desk, name, (), shop.clock.now() + timedelta(seconds=1)) == 0
