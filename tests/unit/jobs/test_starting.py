"""What to start with, and what timed strokes change of it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from described import described_job, described_machine, described_shop, thick_job
from workshop import MACHINE, Workshop

from fillwright.errors import BadInput
from fillwright.jobs.act import Expects
from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.opening import change_facts
from fillwright.jobs.papers import job_card
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.setup.rig import conductance_at, rig_of, turns_for
from fillwright.jobs.setup.settings import start_marks
from fillwright.jobs.setup.starting import start_look
from fillwright.jobs.setup.steps import STROKES_STEP
from fillwright.jobs.setup.stroke_plan import plan_of
from fillwright.jobs.setup.stroke_times import StrokeReading
from fillwright.records.entries import MachineChanged, StepDone, StrokesTimed


def seen(shop):
    """What Set up says of the start."""
    return start_look(shop.desk, shop.state, start_marks(shop.desk, shop.facts))


def facts_of(look):
    """What to start with, by name."""
    return {fact.name: fact.words for fact in look.facts}


def to_strokes(shop, *, air="6", product="22"):
    """Do every step before the strokes are timed."""
    for step in setup.steps_of(shop.desk, shop.state):
        if step.key == STROKES_STEP:
            return
        reading = {"air": air, "product": product}.get(step.key, "")
        shop.tell(StepDone(step=step.key, outcome="done", reading=f"{reading} x".strip(" x")))


def test_a_machine_that_is_not_described_says_so_and_goes_on():
    """Setting and target are there; strokes are not, and the step asks as it always did."""
    shop = Workshop()

    look = seen(shop)

    assert not look.is_described
    assert look.plan is None
    assert "Ten strokes" not in facts_of(look)
    assert "252.0 g net" in facts_of(look)["Target"]
    strokes = next(s for s in setup.steps_of(shop.desk, shop.state) if s.key == STROKES_STEP)
    assert strokes.order == "Time ten strokes by the watch."


def test_ten_strokes_are_fill_recharge_and_valve():
    """The aim is ten times both strokes and two turns of the valve, at whole quarter turns."""
    shop = described_shop()

    plan = seen(shop).plan

    assert plan.ten_s == pytest.approx(10 * (plan.fill_s + plan.recharge_s + 0.6))
    assert plan.fill_turns * 4 == int(plan.fill_turns * 4)
    strokes = next(s for s in setup.steps_of(shop.desk, shop.state) if s.key == STROKES_STEP)
    assert strokes.order == f"Time ten strokes: aim {plan.ten_s:.0f} s."
    assert strokes.expects is Expects.READING


def test_a_later_description_counts_for_a_job_that_is_open():
    """The machine is described after the job was opened on it: Set up says strokes at once."""
    shop = Workshop()
    keep_thing(shop.desk, described_machine(), shop.press)

    assert seen(shop).plan is not None


def test_density_at_the_fill_sets_the_wheel_and_that_at_20_the_label():
    """A hot product wants a longer stroke: 38 K at 0.0003 are 1.15 %, by hand."""
    hot = described_job()
    hot = replace(hot, product=replace(hot.product, product_c=Decimal(58)))

    facts = facts_of(seen(described_shop(hot)))

    assert "set by 0.9985 g/mL at 58 °C" in facts["Wheel and density"]
    assert "1.2 % longer" in facts["Wheel and density"]


def test_a_path_that_would_burst_lowers_the_air():
    """A blocked nozzle puts air times area ratio on the path: the weakest piece decides."""
    machine = described_machine()
    weak = replace(machine, plate=replace(machine.plate, wet_bar_g=Decimal(5)))
    shop = Workshop(replace(described_job(), machine=weak))

    look = seen(shop)

    # 5 bar times (61.8/62)² is 4.97 bar of air, rounded down.
    assert "4.9 bar, no more" in facts_of(look)["Air"]
    assert any("rated for 5 bar" in words for words in look.warnings)


def test_turns_and_conductance_are_each_other():
    """A control set to the turns that a conductance wants passes no more than it, and near it."""
    control = described_machine().air.fill

    for needle in (1e-9, 2.7e-9, 8e-9):
        turns = turns_for(control, needle)
        assert conductance_at(control, float(turns)) <= needle * 1.03
        assert conductance_at(control, float(turns) + 0.26) > needle


def test_times_as_aimed_change_nothing():
    """What comes out as it was aimed at leaves the model alone, and says so."""
    shop = described_shop()
    to_strokes(shop)
    aim = seen(shop).plan.ten_s

    setup.done(shop.desk, shop.number, STROKES_STEP, f"{aim:.1f}", shop.press)

    timed = shop.state.start.timed
    assert timed.because.endswith("Near enough: nothing is changed.")
    assert timed.fill_needle_factor == pytest.approx(1.0, abs=0.08)
    assert seen(shop).changed == timed.because
    assert shop.refolded().start.timed == timed
    assert shop.desk.book.site().strokes["Hand cream", "East filler"] == timed


def test_a_slow_fill_and_recharge_narrow_the_controls_and_the_next_job_knows():
    """Both strokes a third longer: both controls pass less; the next job opens them wider."""
    shop = described_shop()
    to_strokes(shop)
    before = seen(shop).plan
    reading = StrokeReading(
        fill_s=Decimal(str(round(1.4 * before.fill_s, 2))),
        recharge_s=Decimal(str(round(1.4 * before.recharge_s, 2))),
    )

    setup.done(
        shop.desk, shop.number, STROKES_STEP, f"{1.3 * before.ten_s:.0f}", shop.press,
        strokes=reading,
    )  # fmt: skip

    timed = shop.state.start.timed
    assert timed.fill_needle_factor < 0.85
    assert timed.recharge_needle_factor < 0.9
    assert "the fill control passes 0." in timed.because
    after = plan_of(rig_of(shop.desk, shop.state))
    assert after.fill_turns > before.fill_turns
    assert after.fill_s == pytest.approx(before.fill_s, rel=0.25)


def test_a_product_that_holds_the_fill_is_learnt_for_itself_only():
    """A long fill of a syrup makes the syrup thicker; another product keeps its own."""
    shop = described_shop(thick_job())
    to_strokes(shop)
    plan = seen(shop).plan
    assert plan.held_by == "product"
    known = rig_of(shop.desk, shop.state).flow.consistency_pa_s

    longer = 0.3 * plan.fill_s
    setup.done(
        shop.desk, shop.number, STROKES_STEP, f"{plan.ten_s + 10 * longer:.1f}", shop.press,
        strokes=StrokeReading(fill_s=Decimal(str(round(plan.fill_s + longer, 2)))),
    )  # fmt: skip

    learnt = rig_of(shop.desk, shop.state).flow
    assert learnt.consistency_pa_s > 1.04 * known
    assert "corrected by timed strokes" in learnt.words
    other = rig_of(described_shop().desk, described_shop().state).flow
    assert "corrected" not in other.words


def test_describing_the_machine_of_an_open_job_reopens_nothing():
    """Bores and a wet path change no dose: a trimmed job picks the description up and stays so."""
    shop = Workshop().to_prove()
    machine = described_machine()
    same = replace(
        MACHINE, air=machine.air, suction=machine.suction, outward=machine.outward,
        hoppers=machine.hoppers, plate=machine.plate, cylinders=machine.cylinders,
    )  # fmt: skip
    facts = replace(shop.facts, machine=same, cylinder=machine.cylinders[1], lot_size=130)

    change_facts(shop.desk, shop.number, facts, "more jars", shop.press)

    assert shop.state.trim is not None
    assert shop.state.reopened == {}
    other = replace(facts, machine=replace(same, last_mark=Decimal(80)))
    change_facts(shop.desk, shop.number, other, "another scale", shop.press)
    assert shop.state.trim is None


def test_a_machine_that_was_changed_begins_from_its_tables_again():
    """What strokes taught of the machine as it was is not used any more; it stays on record."""
    shop = described_shop()
    to_strokes(shop)
    aim = seen(shop).plan.ten_s
    setup.done(shop.desk, shop.number, STROKES_STEP, f"{1.4 * aim:.0f}", shop.press)
    assert rig_of(shop.desk, shop.state).fill_needle_factor < 0.95

    shop.tell_site(MachineChanged(machine="East filler", change="repaired"))

    assert rig_of(shop.desk, shop.state).fill_needle_factor == 1.0
    assert shop.state.start.timed is not None


def test_ten_strokes_shorter_than_the_valve_are_refused():
    """A slip of the key is named at its field, and nothing is kept."""
    shop = described_shop()
    to_strokes(shop)
    revision = shop.state.revision

    with pytest.raises(BadInput, match="less than the valve alone takes") as error:
        setup.done(shop.desk, shop.number, STROKES_STEP, "4", shop.press)

    assert error.value.field == "reading"
    assert shop.state.revision == revision


def test_the_card_beside_the_machine_has_the_controls():
    """Before the strokes are timed as planned, after it as they stood and went; else nothing."""
    shop = described_shop()
    plan = seen(shop).plan
    planned = {line.name: line.words for line in job_card(shop.desk, shop.state).settings}
    assert planned["Fill control"].startswith(f"{plan.fill_turns.normalize():f} turn")

    to_strokes(shop)
    setup.done(
        shop.desk, shop.number, STROKES_STEP, f"{plan.ten_s:.0f}", shop.press,
        strokes=StrokeReading(fill_turns=Decimal("2.25")),
    )  # fmt: skip

    timed = {line.name: line.words for line in job_card(shop.desk, shop.state).settings}
    assert timed["Fill control"].startswith("2.25 turns open, ")
    bare = Workshop()
    assert job_card(bare.desk, bare.state).settings == ()


def test_an_undescribed_machine_keeps_the_reading_only():
    """Ten strokes are on record as they always were; no model, no judgement."""
    shop = Workshop()
    to_strokes(shop)

    setup.done(shop.desk, shop.number, STROKES_STEP, "44", shop.press)

    assert shop.state.steps[STROKES_STEP].reading == "44 s"
    assert shop.state.start.timed is None
    assert not any(isinstance(e.payload, StrokesTimed) for e in shop.entries())
