"""Describing a machine: begun from the nearest, answered one by one, kept at the end."""

from __future__ import annotations

from decimal import Decimal

import pytest
from described import described_machine
from workshop import MACHINE, Workshop

from fillwright.errors import BadInput
from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.machines.questions import question_at, questions_of
from fillwright.jobs.machines.shipped import (
    begun,
    capacity_ml,
    nearest,
    shipped_machine,
    stroke_mm,
)
from fillwright.jobs.machines.wizard import added, answered, dropped, keep_described
from fillwright.records.codec import payload_from_json, payload_to_json
from fillwright.records.entries import MachineKept


@pytest.fixture
def shop():
    """A workshop."""
    return Workshop()


def values(question):
    """What stands in the fields of a question."""
    return {ask.field: ask.value for ask in question.asks}


@pytest.mark.parametrize("size", ["small", "medium", "large"])
def test_answering_as_it_stands_changes_nothing_but_the_name(shop, size):
    """Every question of a shipped machine, answered with what it shows, gives it back."""
    start = shipped_machine(size)
    draft = answered(shop.desk, start, "name", {"name": "Third filler"})

    for question in questions_of(draft)[1:]:
        draft = answered(shop.desk, draft, question.key, values(question))

    assert draft.name == "Third filler"
    assert not draft.is_invented
    assert draft.suction == start.suction
    assert draft.outward == start.outward
    assert draft.nozzles == start.nozzles
    assert [c.bore_mm for c in draft.cylinders] == [c.bore_mm for c in start.cylinders]
    for mine, theirs in zip(draft.cylinders, start.cylinders, strict=True):
        assert abs(mine.capacity_ml / theirs.capacity_ml - 1) < Decimal("0.002")
    assert draft.air == start.air


@pytest.mark.parametrize(
    ("key", "changes", "field", "told"),
    [
        ("air", {"rod_mm": "70"}, "rod_mm", "no thinner than the bore of the air cylinder"),
        ("cylinder-1", {"stroke_mm": "0"}, "stroke_mm", "The stroke cannot be 0"),
        ("cylinder-1", {"bore_mm": "wide"}, "bore_mm", "'wide' is not a number"),
        ("cylinder-2", {"bore_mm": ""}, "bore_mm", "The bore is missing"),
        ("scale", {"step_marks": "200"}, "step_marks", "as long as the whole scale"),
        ("wheel", {"clockwise": "sideways"}, "clockwise", "Choose which way from the list"),
        ("controls", {"fill_turns": "-1"}, "fill_turns", "The fill control cannot be -1"),
        ("limits", {"usual_bar": "9"}, "usual_bar", "above the plate's 7 bar"),
        ("suction-2", {"kind": "pump"}, "kind", "Choose what the piece is"),
        ("outward-1", {"length_mm": "-3"}, "length_mm", "zero or more"),
        ("nozzle-1", {"bore_mm": "30"}, "bore_mm", "no narrower than the outside"),
        ("hopper", {"low_above_mm": "900"}, "low_above_mm", "higher than when full"),
        ("valve", {"valve_kind": "tap"}, "valve_kind", "Choose which valve is fitted"),
        ("name", {"name": " "}, "name", "The machine's name is missing"),
    ],
)
def test_what_cannot_be_names_its_field(shop, key, changes, field, told):
    """A figure that no machine can have is refused at its field, with what would do."""
    draft = shipped_machine("medium")
    question = questions_of(draft)[question_at(draft, key)]

    with pytest.raises(BadInput, match=r".") as error:
        answered(shop.desk, draft, key, {**values(question), **changes})

    assert error.value.field == field
    assert told in error.value.message


def test_bore_and_stroke_give_the_volume_and_what_a_mark_moves(shop):
    """A cylinder of 50 mm over 120 mm sweeps 235.6 mL, by hand: pi/4 · 25 cm² · 12 cm."""
    draft = answered(shop.desk, shipped_machine("medium"), "scale",
                     {"last_mark": "120", "step_marks": "0.5"})  # fmt: skip
    draft = answered(shop.desk, draft, "cylinder-2", {"bore_mm": "50", "stroke_mm": "120"})

    cylinder = draft.cylinders[1]
    assert cylinder.capacity_ml == Decimal("235.6")
    assert cylinder.ml_per_mark * 120 == pytest.approx(Decimal("235.6"))
    assert stroke_mm(cylinder) == Decimal("120.0")
    assert capacity_ml(Decimal(50), Decimal(120)) == Decimal("235.6")


def test_a_machine_of_the_job_form_goes_on_from_the_nearest(shop):
    """What it lacks is that of the shipped machine with the nearest cylinder; the rest stays."""
    keep_thing(shop.desk, MACHINE, shop.press)

    draft = begun(shop.desk, "East filler")

    assert draft.cylinders == MACHINE.cylinders
    assert draft.suction == shipped_machine("medium").suction
    assert nearest(Decimal(450)) == "medium"
    assert nearest(Decimal(90)) == "small"
    assert nearest(Decimal(2000)) == "large"
    with pytest.raises(BadInput, match="There is no machine 'North filler'"):
        begun(shop.desk, "North filler")


def test_a_plate_and_a_calliper_must_agree(shop):
    """A cylinder kept by its plate keeps its volume, unless bore and stroke say another."""
    keep_thing(shop.desk, MACHINE, shop.press)
    draft = begun(shop.desk, "East filler")

    fits = answered(shop.desk, draft, "cylinder-2", {"bore_mm": "61.8", "stroke_mm": "150"})

    assert fits.cylinders[1].capacity_ml == Decimal(450)
    assert fits.cylinders[1].bore_mm == Decimal("61.8")
    with pytest.raises(BadInput, match="but this cylinder is kept as 450 mL"):
        answered(shop.desk, draft, "cylinder-2", {"bore_mm": "50", "stroke_mm": "150"})


def test_pieces_are_added_and_left_out():
    """One more piece stands behind the one in hand; the last one of a side stays."""
    draft = shipped_machine("small")

    more, key = added(draft, "suction-2")
    assert key == "suction-3"
    assert len(more.suction) == len(draft.suction) + 1
    assert more.suction[2].name == "New piece"

    less, key = dropped(more, "suction-3")
    assert less.suction == draft.suction
    assert key == "suction-3"
    for _ in range(len(less.outward) + 2):
        less, _ = dropped(less, "outward-1")
    assert len(less.outward) == 1


def test_a_question_tells_what_is_known_in_a_line():
    """Labels, figures and units as the machine's page lists them; a choice by its words."""
    told = {question.title: question.words for question in questions_of(described_machine())}

    assert told["Air cylinder"] == "bore of the air cylinder 62 mm, its rod 21 mm"
    assert told["Wheel"] == "the pointer moves 2.2 marks, bigger"
    assert told["Valve, suction"] == "bore 24 mm, length 60 mm, valve, flow turns"
    assert told["Name"] == ""


def test_the_end_keeps_it_and_a_taken_name_does_not(shop):
    """Nothing is kept without a name of its own, nor over another machine."""
    draft = shipped_machine("large")
    with pytest.raises(BadInput, match="name is missing"):
        keep_described(shop.desk, draft, shop.press)

    named = answered(shop.desk, draft, "name", {"name": "Third filler"})
    keep_described(shop.desk, named, shop.press)

    assert shop.desk.book.site().machines["Third filler"] == named
    with pytest.raises(BadInput, match="There is a machine 'Third filler' already"):
        answered(shop.desk, draft, "name", {"name": "Third filler"})


def test_a_described_machine_comes_back_from_the_journal():
    """Every part survives the journal's own JSON, and an older machine without parts is read."""
    machine = described_machine()

    text = payload_to_json(MachineKept(machine=machine))
    assert payload_from_json("machine kept", 1, text) == MachineKept(machine=machine)

    old = payload_from_json(
        "machine kept",
        1,
        '{"machine":{"name":"Old","cylinders":[{"capacity_ml":"450","ml_per_mark":"5"}],'
        '"nozzles":[{"outside_mm":"14","bore_mm":"11","kind":"plain"}]}}',
    )
    assert not old.machine.is_described
