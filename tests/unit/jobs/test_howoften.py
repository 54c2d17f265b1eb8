"""How often to weigh: from the spread, the price of a weighing and what can be weighed again."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.opening import change_facts
from fillwright.jobs.run import how_often as howoften
from fillwright.jobs.run.how_often import Costs


def test_without_a_spread_it_asks_for_a_proof():
    """Nothing is known: the job's own number stands, and why is said."""
    shop = Workshop(job(expected_sd_pct=None))
    seen = howoften.look(shop.desk, shop.state)

    assert (seen.planned, seen.act.what) == (None, "next")
    assert seen.act.order.startswith("Prove first")
    assert f"one in {shop.facts.weigh_every} is weighed" in seen.act.why


def test_the_proved_spread_gives_the_interval_and_one_press_takes_it():
    """Spread, room and shift stand behind it; the change is on record with its reason."""
    shop = Workshop()
    shop.to_run()
    seen = howoften.look(shop.desk, shop.state)
    facts = {fact.name: fact.words for fact in seen.why.facts}

    assert "proved in this job" in facts["Spread (1 s)"]
    assert facts["Shift that must not go on"].endswith("half of that")
    assert seen.planned != shop.facts.weigh_every
    assert seen.act.main == f"Weigh one in {seen.planned}"
    assert seen.together.startswith("One at a time")

    howoften.weigh_one_in(shop.desk, shop.number, seen.planned, shop.press)

    assert shop.state.known.weigh_every == seen.planned
    assert howoften.look(shop.desk, shop.state).act.order == f"One in {seen.planned} is right."
    assert shop.state.run is not None
    assert shop.refolded().known.weigh_every == seen.planned


def test_a_dearer_weighing_is_made_less_often_and_a_bound_sets_it():
    """Four times the price, half as often; a bound on what can be weighed again goes first."""
    shop = Workshop()
    shop.to_run()

    def planned(**costs):
        return howoften.look(shop.desk, shop.state, Costs(**costs)).planned

    cheap = planned(weighing_containers=Decimal("0.2"))
    assert planned(weighing_containers=Decimal("0.8")) == pytest.approx(2 * cheap, abs=1)
    bound = howoften.look(shop.desk, shop.state, Costs(most_containers=cheap))
    assert bound.planned < cheap
    assert "What can be weighed again sets it." in bound.act.why


def test_what_cannot_be_is_refused():
    """A number beyond the lot, and a bound that no plan keeps."""
    shop = Workshop()
    shop.to_run()
    with pytest.raises(BadInput, match="One in 0 cannot be"):
        howoften.weigh_one_in(shop.desk, shop.number, 0, shop.press)
    with pytest.raises(BadInput, match="give 1 to"):
        howoften.weigh_one_in(shop.desk, shop.number, 10**6, shop.press)
    with pytest.raises(BadInput, match="weighing every one lets more than that pass") as refused:
        howoften.look(shop.desk, shop.state, Costs(most_containers=1))
    assert refused.value.field == "most_to_look_at"


def test_after_the_run_nothing_is_changed():
    """What was weighed stays as it is."""
    shop = Workshop()
    shop.to_finished()
    with pytest.raises(BadInput, match="The run is finished"):
        howoften.weigh_one_in(shop.desk, shop.number, 5, shop.press)


def test_weighing_more_often_asks_for_no_look_at_the_next_jar():
    """A jar is filled as before; another aim does ask."""
    shop = Workshop()
    shop.to_run()
    howoften.weigh_one_in(shop.desk, shop.number, 5, shop.press)
    assert shop.state.lots.look_due is None

    change_facts(
        shop.desk, shop.number, replace(shop.facts, tray_size=7), "other trays", shop.press
    )
    assert shop.state.lots.look_due == "facts"
    assert shop.refolded() is not None
