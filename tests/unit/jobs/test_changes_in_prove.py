"""Another carton, drum or person while shots of a proving run are weighed."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import CD, Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.catalogue import list_person
from fillwright.jobs.opening import change_facts
from fillwright.jobs.papers import batch_record
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.run import changes
from fillwright.jobs.run import stage as run
from fillwright.jobs.trace.both_ways import trace
from fillwright.jobs.traveller import next_act, purpose_now
from fillwright.records.fold import fold_job


@pytest.fixture
def shop():
    """A proving run with five shots weighed, an average empty taken off."""
    shop = Workshop(job(unit="mL", nominal=Decimal(245))).to_prove()
    mean = replace(shop.facts, tare_way="mean")
    change_facts(shop.desk, shop.number, mean, "empties are alike", shop.press)
    for weight in ("40.0", "40.2") * 5:
        shop.weigh(weight, purpose="tare")
    prove.begin(shop.desk, shop.number, shop.press)
    for deviation in (0.3, -0.2, 0.1, -0.5, 0.4):
        shop.off(deviation, purpose="proof", basis="net")
    return shop


def drum(shop, density, **given):
    """Take a new drum into use."""
    value = None if density is None else Decimal(density)
    return changes.take_drum(
        shop.desk, shop.number, "D-2", shop.press, density_g_per_ml=value, **given
    )


def test_a_carton_asks_for_its_empties_and_the_proof_goes_on(shop):
    """The tare before stays with what was filled before; the plan is the same one."""
    last, plan = shop.state.filled_to, shop.state.proof_plan
    changes.take_lot(shop.desk, shop.number, "container", "K-2", shop.press, last_filled=last)
    act = next_act(shop.desk, shop.state)
    assert (act.stage.value, act.what) == ("prove", "weigh-empty")
    assert purpose_now(shop.state) == "tare"
    with pytest.raises(BadInput, match="no tare yet"):
        shop.weigh("293", purpose="proof", basis="gross")

    for weight in ("41.1", "40.9", "41.3", "41.0", "40.7"):
        shop.weigh(weight)
    kept = shop.weigh("293.0", basis="gross")

    assert kept.weighing.purpose == "proof"
    assert (kept.weighing.tare_g, kept.weighing.net_g) == (Decimal("41.00"), Decimal("252.00"))
    assert shop.state.proof_plan == plan
    assert len([s for s in shop.state.proof_shots if s.counts]) == 6
    lots = shop.state.lots
    assert lots.tare_of(last + 1).tare_g == Decimal("41.00")
    assert lots.at("container", last + 1).fact.code == "K-2"
    assert lots.look_due is None


def test_a_drum_of_the_same_density_changes_nothing_of_the_proof(shop):
    """It is on record from the next one on."""
    last = shop.state.filled_to
    drum(shop, None, note="same batch", last_filled=last)

    assert shop.state.proof_plan is not None
    assert shop.state.lots.at("drum", last + 1).fact.code == "D-2"
    assert shop.state.lots.at("drum", last) is None


def test_a_drum_that_moves_the_aim_ends_the_proving_run_as_a_try(shop):
    """Shots at two aims prove nothing together; the next one is the second try."""
    before = shop.state.known.aim_g
    drum(shop, "0.99")

    assert shop.state.known.aim_g != before
    assert shop.state.proof_plan is None
    assert (shop.state.proof_shots, shop.state.tries) == ([], 1)
    assert next_act(shop.desk, shop.state).what == "begin"
    prove.begin(shop.desk, shop.number, shop.press)
    assert shop.state.proof_plan.attempt == 2


def test_lids_and_another_person_are_on_record_where_they_began(shop):
    """The trace knows both; the batch record tells them."""
    last = shop.state.filled_to
    list_person(shop.desk, CD, shop.press)
    changes.take_lot(shop.desk, shop.number, "lid", "L-2", shop.press, last_filled=last)
    changes.change_person(shop.desk, shop.number, "CD", shop.press)

    found = trace(shop.desk, "L-2").jars[0]
    assert found.containers == 0 or str(last + 1) in found.numbers
    shop.off(0.1, purpose="proof", basis="net")
    assert trace(shop.desk, "L-2").jars[0].containers == 1
    told = " ".join(batch_record(shop.desk, shop.state).course)
    assert "L-2" in told
    assert shop.state.proof_plan is not None


def test_nothing_is_taken_before_the_first_plan_or_before_a_shot(shop):
    """No run and no proving run; a number that is weighed already."""
    early = Workshop(job()).to_trim()
    with pytest.raises(BadInput, match="no proving run"):
        changes.take_lot(early.desk, early.number, "lid", "L-2", early.press)
    with pytest.raises(BadInput, match="cannot be the last one filled"):
        changes.take_lot(shop.desk, shop.number, "lid", "L-2", shop.press, last_filled=2)


def test_the_fold_is_the_same_again(shop):
    """From the first entry on, and through the run that follows."""
    changes.take_lot(shop.desk, shop.number, "lid", "L-2", shop.press)
    drum(shop, "0.99")
    again = fold_job(shop.number, shop.entries())

    assert (again.lots, again.tries, again.filled_to) == (
        shop.state.lots,
        shop.state.tries,
        shop.state.filled_to,
    )
    run.start(shop.desk, shop.number, shop.press, without_proof="a test")
    assert shop.state.run.started.first_container == shop.state.filled_to + 1
