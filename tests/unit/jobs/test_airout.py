"""After the flush: the first shots say when the air is out, and the next start knows it."""

from __future__ import annotations

import math

from workshop import Workshop, job

from fillwright.jobs.opening import open_job
from fillwright.jobs.run.weigh import undo
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.setup.steps import AIR_OUT
from fillwright.jobs.trim import air_out as airout
from fillwright.jobs.trim import stage as trim
from fillwright.records.entries import PrimingJudged
from fillwright.records.sitefold import fold_site

# Deviations in grams, invented; the shortfall dies away within a few shots.
NOISE = ("0.2", "-0.3", "0.1", "0.3", "-0.2", "0", "-0.1", "0.2", "-0.3", "0.1", "0.2", "-0.1")


def to_air(shop):
    """Set up all but the first shots."""
    shop.to_setup()
    start = str(setup.look(shop.desk, shop.state).start_marks)
    readings = {"setting": start, "air": "5.8", "product": "22", "strokes": "44", "scale": "200"}
    for step in setup.steps_of(shop.desk, shop.state):
        if step.key != AIR_OUT:
            setup.done(shop.desk, shop.number, step.key, readings.get(step.key, ""), shop.press)
    return shop


def air(shop):
    """Return what Set up says of the air."""
    return setup.look(shop.desk, shop.state).air


def purge(shop, count=None):
    """Weigh first shots that climb to their level, until they show no sign of air."""
    for place in range(len(NOISE) * 2 if count is None else count):
        if AIR_OUT in shop.state.steps:
            break
        short = 9 * math.exp(-place / 1.5)
        shop.weigh(f"{248 - short + float(NOISE[place % 12]):.1f}")
    return shop


def test_before_the_first_shot_it_asks_for_one():
    """The step waits for a weight and may be gone past unweighed."""
    act = setup.look((shop := to_air(Workshop())).desk, shop.state).act

    assert (act.what, act.order) == ("weigh", "Fill one jar and weigh it.")
    assert [option.what for option in act.options] == ["done"]


def test_shot_by_shot_until_there_is_no_sign_of_air():
    """Carry on with a reason, then done by itself; the probability stands behind the why."""
    shop = purge(to_air(Workshop()), 4)
    early = setup.look(shop.desk, shop.state)
    assert early.act.why == "Too few doses to say: make 6 at least."
    assert early.act.state_words == "Not out yet"
    assert "probability" not in early.act.why

    purge(shop)
    late = setup.look(shop.desk, shop.state)

    assert late.now is None
    assert late.air.verdict == "primed"
    assert late.air.words.startswith("No sign of air in the last ")
    assert "probability" not in late.air.words
    assert "probability 0.83" in " ".join(fact.words for fact in late.air.why.facts)
    assert 6 <= shop.state.priming.shots <= 24
    assert shop.state.steps[AIR_OUT].reading == f"{shop.state.priming.shots} shots"
    assert shop.state.shots == []


def test_what_it_learnt_is_kept_for_the_next_start():
    """The next job of the product on the machine begins with it, also after a restart."""
    shop = purge(to_air(Workshop()))
    [kept] = [
        e.payload for e in shop.journal.entries("site") if isinstance(e.payload, PrimingJudged)
    ]
    assert kept == shop.state.priming
    assert kept.learnt.starts == 1

    open_job(shop.desk, job("0418"), shop.press)
    shop.number = "0418"
    to_air(shop)
    assert air(shop).before == f"Last time the air was out after {kept.shots} shots."

    purge(shop)
    assert shop.state.priming.learnt.starts == 2
    site = fold_site(shop.journal.entries("site"))
    assert site.primings["Hand cream", "East filler"] == shop.state.priming


def test_another_product_starts_from_the_defaults():
    """What one product taught says nothing of another."""
    shop = purge(to_air(Workshop()))
    open_job(shop.desk, job("0418", product={"name": "Shower gel"}), shop.press)
    shop.number = "0418"

    assert air(to_air(shop)).before == ""


def test_a_shot_taken_back_takes_the_verdict_with_it():
    """The step opens again, and the strike-out is on record."""
    shop = purge(to_air(Workshop()))

    undo(shop.desk, shop.number, shop.press)

    assert shop.state.priming is None
    assert AIR_OUT not in shop.state.steps
    assert len(air(shop).shots_g) == len(shop.state.purges) - 1


def test_going_past_it_is_on_record_as_what_it_was():
    """Unweighed is not the same as shown to be out."""
    bare, some = to_air(Workshop()), purge(to_air(Workshop()), 3)
    for shop in (bare, some):
        setup.done(shop.desk, shop.number, AIR_OUT, "", shop.press)

    assert bare.state.steps[AIR_OUT].reading == "not weighed"
    assert some.state.steps[AIR_OUT].reading == "3 shots, not shown to be out"


def test_air_that_does_not_leave_is_looked_for():
    """After thirty shots with low ones among them the order changes."""
    shop = to_air(Workshop())
    for place in range(30):
        shop.weigh("248.0" if place % 3 else "236.0")
    act = setup.look(shop.desk, shop.state).act

    assert act.order == "Look for where air comes in."
    assert act.state_words == "Still air"


def test_once_the_trim_began_the_step_is_past():
    """First shots cannot be weighed after the wheel was moved for the aim."""
    shop = to_air(Workshop())
    shop.off("-4", purpose="shot")

    assert AIR_OUT not in [step.key for step in setup.steps_of(shop.desk, shop.state)]


def test_what_the_flush_said_of_the_air_is_handed_to_the_trim():
    """The trim starts from the chance that the flush left, not from one trim in twenty."""
    shop = purge(to_air(Workshop()))
    left = 1 - shop.state.priming.p_primed
    told = next(
        fact.words
        for fact in trim.look(shop.desk, shop.state).why.facts
        if fact.name == "Air still leaving at the start"
    )

    assert airout.air_chance(shop.desk, shop.state) == left
    assert told == f"probability {left:.2f}"


def test_a_flush_not_shown_to_be_out_is_handed_over_too():
    """Gone on as it is after four shots: the chance of air is what they leave, short of sure."""
    shop = purge(to_air(Workshop()), 4)

    assert 0.1 < airout.air_chance(shop.desk, shop.state) <= 0.95
    assert airout.air_chance((none := to_air(Workshop())).desk, none.state) is None
