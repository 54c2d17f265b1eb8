"""A small lot: every jar is offered to be weighed by one key; and two markets to the end."""

from __future__ import annotations

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.papers import batch_record
from fillwright.jobs.release import stage as release
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.every_jar import small_words, weigh_every_one
from fillwright.jobs.run.turn import due_container


def test_the_start_offers_it_and_says_why():
    """One key; then every one is due, and the offer is gone."""
    shop = Workshop(job(lot_size=40, weigh_every=10)).to_proved()
    act = run.look(shop.desk, shop.state).act
    assert act.what == "start-run"
    assert [(one.what, one.key) for one in act.options] == [("weigh-all", "*")]
    assert "has no plan for a lot of 40: weigh every jar" in act.why

    weigh_every_one(shop.desk, shop.number, shop.press)
    assert shop.state.known.weigh_every == 1
    assert run.look(shop.desk, shop.state).act.options == ()
    run.start(shop.desk, shop.number, shop.press)
    shop.look_at_first()
    assert due_container(shop.state) == shop.state.filled_to + 1
    assert small_words(shop.desk, shop.state) == ""


def test_a_lot_with_a_plan_is_offered_nothing():
    """And the act is refused where there is nothing to do."""
    shop = Workshop(job(lot_size=400, weigh_every=10)).to_proved()

    assert small_words(shop.desk, shop.state) == ""
    assert run.look(shop.desk, shop.state).act.options == ()
    with pytest.raises(BadInput, match="has a plan"):
        weigh_every_one(shop.desk, shop.number, shop.press)


def test_two_markets_hold_through_release_and_record():
    """Judged under both, the stricter aim; the names stand under both judgements."""
    shop = Workshop(job(second_rules="US-HB133-A")).to_judged()
    state = shop.state

    assert {state.lot.rules, state.other_lot.rules} == {"EU-76/211", "US-HB133-A"}
    record = batch_record(shop.desk, state)
    assert (record.lot.rules, record.other_lot.rules) == (state.lot.rules, state.other_lot.rules)
    assert [limit.name for limit in record.limits].count("T1 alone") == 2
    shop.sign()
    release.release(shop.desk, shop.number, shop.press)
    assert shop.state.released.outcome == "released"
