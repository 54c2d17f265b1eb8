"""The recharge edge: shots at four times, the fit, and what takes its place from then on."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from described import described_job, described_shop, thick_job
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.match.flowing import curve_of
from fillwright.jobs.run.weigh import undo
from fillwright.jobs.setup import recharge_edge as rechargeedge
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.setup.edge_fit import matters, times_to_set
from fillwright.jobs.setup.rig import conductance_at, drive_of, rig_of, suction_of
from fillwright.jobs.setup.stroke_plan import plan_of
from fillwright.records.entities import RunsLike
from fillwright.science.recharge_knee import needle_for_time
from fillwright.science.stroke_times import recharge_times
from fillwright.science.wet_tables import path_table

TRUE_RELEASE = 38_000.0
FULL_G = 252.0


def doses_at(shop, times_s):
    """Doses of a machine whose air comes out at another pressure than was guessed."""
    rig = rig_of(shop.desk, shop.state)
    control = rig.air.recharge
    times = np.array(times_s)
    rows = np.zeros(len(times), dtype=np.intp)
    table = path_table(suction_of(rig), curve_of(rig.flow), rig.density).take(rows)
    head = (rig.low_head_pressure + rig.full_head_pressure) / 2.0
    cavity = np.full(len(times), TRUE_RELEASE)
    start = drive_of(rig, conductance_at(control, 2.0), control)
    needles = needle_for_time(
        times, drive=start, piston_area=rig.piston_area, stroke=rig.stroke, table=table,
        head_pressure=head, cavity_pressure=cavity,
    )  # fmt: skip
    drawn = recharge_times(
        replace(start, meter_out=type(start.meter_out)(conductance=needles)),
        piston_area=rig.piston_area, stroke=rig.stroke, table=table, head=head,
        cavity_pressure=cavity,
    )  # fmt: skip
    return [FULL_G * float(share) for share in drawn.fill_fraction]


def weigh_all(shop, times_s):
    """Set, time and weigh at each of the times."""
    for time_s, dose in zip(times_s, doses_at(shop, times_s), strict=True):
        rechargeedge.timed(shop.desk, shop.number, Decimal(str(round(time_s, 2))), shop.press)
        for off in (-0.2, 0.0, 0.2):
            shop.weigh(f"{dose + off:.1f}", purpose="recharge")


def set_to_dose(shop):
    """Stand the wheel where its stroke is the one that the rig is reckoned with."""
    rig = rig_of(shop.desk, shop.state)
    marks = Decimal(str(round(rig.dose_ml / float(shop.facts.cylinder.ml_per_mark), 2)))
    setup.done(shop.desk, shop.number, "setting", str(marks), shop.press)


def test_a_thin_product_has_no_edge_to_look_for():
    """Where even the thick end of what is known follows, nothing is asked."""
    oil = replace(described_job().product, runs_like=RunsLike.OIL)
    thin = described_shop(replace(described_job(), product=oil))

    assert not matters(rig_of(thin.desk, thin.state))
    syrup = described_shop(thick_job())
    assert matters(rig_of(syrup.desk, syrup.state))


def test_the_edge_that_is_there_is_found_and_used_from_then_on():
    """Air that comes out at 38 kPa instead of 20: found within 3 kPa, and the plan slows down."""
    shop = described_shop(thick_job())
    set_to_dose(shop)
    before = plan_of(rig_of(shop.desk, shop.state))
    times = times_to_set(rig_of(shop.desk, shop.state))
    assert list(times) == sorted(times, reverse=True)

    weigh_all(shop, times)
    assert rechargeedge.look(shop.desk, shop.state).act.what == "judge"
    rechargeedge.judge(shop.desk, shop.number, shop.press)

    edge = shop.state.start.edge
    assert edge.release_kpa == pytest.approx(38.0, abs=3.0)
    assert edge.low_kpa < 38.0 < edge.high_kpa
    assert not edge.is_bound
    assert edge.full_dose_g == pytest.approx(FULL_G, rel=0.003)
    assert edge.full_share[0] > 0.99
    assert edge.full_share[-1] < 0.95
    rig = rig_of(shop.desk, shop.state)
    assert rig.flow.is_edge_known
    assert rig.flow.release_kpa == edge.release_kpa
    after = plan_of(rig)
    assert after.edge_s > before.edge_s
    assert f"A recharge fills from {after.edge_s:.1f} s on" in edge.because
    assert shop.refolded().start.edge == edge
    assert shop.desk.book.site().edges["Syrup", "East filler"] == edge


def test_doses_that_never_fall_give_a_bound_only():
    """Slow recharges all fill: the page says a bound, and the guess stands."""
    shop = described_shop(thick_job())
    set_to_dose(shop)
    edge_s = plan_of(rig_of(shop.desk, shop.state)).edge_s
    for share in (4.0, 3.5, 3.0, 2.6):
        rechargeedge.timed(
            shop.desk, shop.number, Decimal(str(round(share * edge_s, 2))), shop.press
        )
        for off in (-0.2, 0.0, 0.2):
            shop.weigh(f"{FULL_G + off:.1f}", purpose="recharge")

    act = rechargeedge.judge(shop.desk, shop.number, shop.press)

    assert shop.state.start.edge.is_bound
    assert act.state_words == "Bound only"
    assert not rig_of(shop.desk, shop.state).flow.is_edge_known


def test_the_page_leads_by_turns_and_refuses_what_is_out_of_turn():
    """Set, three shots, set again: no weight before a time, no time before three weights."""
    shop = described_shop(thick_job())
    set_to_dose(shop)
    with pytest.raises(BadInput, match="Set the recharge and time it first"):
        shop.weigh("252.0", purpose="recharge")
    first = rechargeedge.look(shop.desk, shop.state).act
    assert first.what == "timed"
    assert first.order.startswith("Recharge 1 of 4: make it about")

    rechargeedge.timed(shop.desk, shop.number, Decimal("3.1"), shop.press)
    assert rechargeedge.look(shop.desk, shop.state).act.order.endswith("1 of 3 at 3.1 s.")
    shop.weigh("252.1", purpose="recharge")
    with pytest.raises(BadInput, match=r"Weigh 3 shots at 3\.1 s first"):
        rechargeedge.timed(shop.desk, shop.number, Decimal("2.5"), shop.press)
    with pytest.raises(BadInput, match="A recharge of 0 s cannot be"):
        rechargeedge.timed(shop.desk, shop.number, Decimal(0), shop.press)
    undo(shop.desk, shop.number, shop.press)
    assert rechargeedge.look(shop.desk, shop.state).act.order.endswith("1 of 3 at 3.1 s.")


def test_too_few_times_are_no_edge():
    """Two times say nothing of an edge; the words say what is missing."""
    shop = described_shop(thick_job())
    set_to_dose(shop)
    weigh_all(shop, (4.0, 3.0))

    with pytest.raises(BadInput, match="Too little to say"):
        rechargeedge.judge(shop.desk, shop.number, shop.press)


def test_a_struck_shot_takes_the_edge_back_and_a_new_time_begins_anew():
    """What hung on a shot goes with it; after a judgement a new time clears the table."""
    shop = described_shop(thick_job())
    set_to_dose(shop)
    weigh_all(shop, times_to_set(rig_of(shop.desk, shop.state)))
    rechargeedge.judge(shop.desk, shop.number, shop.press)
    anew = rechargeedge.look(shop.desk, shop.state, anew=True)
    assert anew.act.what == "timed"
    assert anew.rows == ()

    undo(shop.desk, shop.number, shop.press)
    assert shop.state.start.edge is None
    assert rechargeedge.look(shop.desk, shop.state).act.order.startswith("Fill one jar")

    shop.weigh("190.0", purpose="recharge")
    rechargeedge.timed(shop.desk, shop.number, Decimal("4.0"), shop.press)
    assert len(shop.state.start.groups) == 1


def test_what_will_not_feed_has_no_edge_to_find():
    """A hopper neck of 2 mm brings no syrup: the page says what would, and asks for no shot."""
    facts = thick_job()
    path = facts.machine.suction
    narrow = (path[0], replace(path[1], bore_mm=Decimal(2), length_mm=Decimal(9000)), *path[2:])
    shop = Workshop(replace(facts, machine=replace(facts.machine, suction=narrow)))

    act = rechargeedge.look(shop.desk, shop.state).act

    assert act.order == "It will not feed, so there is no edge to find."
    assert act.what == "next"


def test_an_undescribed_machine_is_led_to_its_page():
    """The page cannot work anything out and says what to do first."""
    shop = Workshop()

    look = rechargeedge.look(shop.desk, shop.state)

    assert not look.is_described
    assert look.act.order == "Describe East filler first."
    with pytest.raises(BadInput, match="Describe it, then work out the edge"):
        rechargeedge.judge(shop.desk, shop.number, shop.press)
