"""The error budget of a job: ranked, fed by what was measured, and what a claim takes."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from described import described_job, described_machine, described_shop
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.setup import dose_budget as dosebudget
from fillwright.records.entities import RunsLike
from fillwright.records.entries import TareSet
from fillwright.records.product_parts import DensityWeighed


def rows_of(look):
    """Rows by name."""
    return {row.name: row for row in look.rows}


def test_shares_add_up_and_the_biggest_leads():
    """Shares are of the square of the spread; the order names the first and its cure."""
    look = dosebudget.look(described_shop().desk, described_shop().state)

    assert sum(row.variance_share for row in look.rows) == pytest.approx(1.0)
    sizes = [row.size_g for row in look.rows]
    assert sizes == sorted(sizes, reverse=True)
    assert look.act.order == f"Work on the top one only: {look.rows[0].name}."


def test_the_stop_of_the_stroke_is_its_area():
    """0.02 mm of a 61.8 mm cylinder at 1.0094 g/mL are 0.0606 g, by hand."""
    look = dosebudget.look(described_shop().desk, described_shop().state)

    by_hand = 0.02 * math.pi / 4 * 6.18**2 / 10 * 1.01 * (1 - 0.0003 * 2)
    assert rows_of(look)["stop of the stroke"].size_g == pytest.approx(by_hand, rel=1e-3)


def test_ten_empties_stand_as_they_were_weighed():
    """The measured spread of the empties replaces the one on the container's card."""
    facts = replace(described_job(), tare_way="mean")
    shop = described_shop(facts)
    card = rows_of(dosebudget.look(shop.desk, shop.state))["empties"]
    assert (card.size_g, card.basis) == (pytest.approx(0.05), "read")

    shop.tell(TareSet(tare_g=Decimal("40.01"), sd_g=0.31, empties=10))

    look = dosebudget.look(shop.desk, shop.state)
    row = rows_of(look)["empties"]
    assert (row.size_g, row.basis) == (pytest.approx(0.31), "measured here")
    assert "10 empties: spread 0.31 g" in look.measured


def test_a_proof_has_the_last_word():
    """With a proof, what varies from shot to shot adds up to it: no more, and no less."""
    shop = Workshop().to_proved()
    keep_thing(shop.desk, described_machine(), shop.press)

    look = dosebudget.look(shop.desk, shop.state)

    within = [row.size_g for row in look.rows if row.kind == "from shot to shot"]
    assert math.hypot(*within) == pytest.approx(shop.state.proof.sd_g, rel=1e-6)
    assert f"spread {shop.state.proof.sd_g:.2g} g" in look.measured


def test_a_quiet_proof_brings_the_guesses_down():
    """A foamy product whose proof is quiet: the guessed gas gives way, the scale does not."""
    facts = job(product={"runs_like": RunsLike.FOAMY})
    shop = Workshop(facts)
    loud = rows_of(dosebudget.look(shop.desk, shop.state))["gas in the product"]
    assert (loud.basis, loud.size_g) == ("taken", pytest.approx(0.002 * 252))
    shop.to_proved()

    quiet = rows_of(dosebudget.look(shop.desk, shop.state))

    assert quiet["gas in the product"].basis == "brought down to the proof"
    assert quiet["gas in the product"].size_g < shop.state.proof.sd_g
    assert quiet["weighing scale"].basis == "read"


def test_a_claim_is_answered_by_name():
    """A wide claim holds; a narrow one names what must shrink and to what."""
    shop = described_shop()

    wide = dosebudget.look(shop.desk, shop.state, Decimal(2))
    assert wide.holds
    assert "holds" in wide.takes

    narrow = dosebudget.look(shop.desk, shop.state, Decimal("0.05"))
    assert not narrow.holds
    assert narrow.rows[0].name in narrow.takes
    with pytest.raises(BadInput, match="A claim of ±0 % cannot be"):
        dosebudget.look(shop.desk, shop.state, Decimal(0))


def test_a_nozzle_that_cuts_off_halves_the_drop():
    """The same lip with a cut-off: half the scatter of its last drop."""
    facts = described_job()
    oil = replace(facts.product, runs_like=RunsLike.OIL)
    machine = facts.machine
    plain = replace(facts, product=oil)
    cuts = replace(machine.nozzles[0], kind="cut-off")
    shut = replace(plain, nozzle=cuts, machine=replace(machine, nozzles=(cuts,)))

    drop = "last drop at the nozzle"
    first, second = (described_shop(f) for f in (plain, shut))
    open_row = rows_of(dosebudget.look(first.desk, first.state))[drop]
    shut_row = rows_of(dosebudget.look(second.desk, second.state))[drop]

    assert shut_row.size_g == pytest.approx(open_row.size_g / 2)


def test_a_weighed_density_is_there_and_set_away():
    """Its size is that of volume and weight together; it is no part of the spread."""
    facts = described_job()
    weighed = DensityWeighed(
        volume_ml=Decimal(100), net_g=Decimal(101), volume_sd_ml=Decimal("0.3"),
        net_sd_g=Decimal("0.101"),
    )  # fmt: skip
    shop = described_shop(replace(facts, product=replace(facts.product, weighed=weighed)))
    plain = described_shop()

    look = dosebudget.look(shop.desk, shop.state)

    row = rows_of(look)["density as it was weighed"]
    # 0.3 % and 0.1 % together are 0.316 % of 252 g.
    assert row.size_g == pytest.approx(0.7969, rel=1e-3)
    assert (row.kind, row.variance_share) == ("set away in the trim", 0.0)
    assert row.name not in look.act.order
    without = dosebudget.look(plain.desk, plain.state)
    assert look.spread_pct == pytest.approx(without.spread_pct)


def test_what_is_missing_is_said():
    """A machine that is not described has no stop and no nozzle in its budget."""
    shop = Workshop()

    look = dosebudget.look(shop.desk, shop.state)

    assert look.warning.startswith("The machine is not described")
    assert "stop of the stroke" not in rows_of(look)
