"""Match: each thing that is compared, and what each outcome orders."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import CYLINDER, MACHINE, NOZZLE, SMALL, Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS, Expects
from fillwright.jobs.match import stage as match
from fillwright.records.entities import Cylinder, Nozzle, RunsLike


def seen(**changes):
    """Return what Match shows for the usual job with changes."""
    shop = Workshop(job(**changes))
    return match.look(shop.desk, shop.state)


def reason(look, name):
    """Return one of the things that were compared."""
    return next(r for r in look.reasons if r.name == name)


def test_the_usual_job_suits():
    """Everything fits: the parts are taken and kept with their reasons."""
    shop = Workshop()
    look = match.look(shop.desk, shop.state)
    assert (look.verdict, look.changes) == ("suits", ())
    assert look.act.what == "take"
    assert look.act.expects is Expects.CONFIRM

    act = match.take(shop.desk, shop.number, shop.press)

    assert (act.what, act.state_words) == ("next", "Suits")
    assert shop.state.match.verdict == "suits"
    assert len(shop.state.match.reasons) == len(look.reasons)


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"nozzle": Nozzle(outside_mm=Decimal("54.1"), bore_mm=Decimal(50))}, "Nozzle"),
        ({"product": {"product_c": Decimal(61)}}, "Temperature"),
        ({"container": {"brim_ml": Decimal(256)}}, "Container"),
        ({"aim_g": Decimal("249.9")}, "Label"),
        ({"cylinder": SMALL}, "Cylinder"),
        (
            {"cylinder": Cylinder(capacity_ml=Decimal(3000), ml_per_mark=Decimal(30))},
            "Cylinder",
        ),
        ({"product": {"is_flammable": True}}, "Flammable"),
    ],
)
def test_what_does_not_suit(changes, name):
    """One thing that cannot be stops the match, says which, and nothing is kept."""
    shop = Workshop(job(**changes))
    look = match.look(shop.desk, shop.state)

    assert look.verdict == "does-not-suit"
    assert [r.name for r in look.reasons if r.state == "stop"] == [name]
    assert (look.act.what, look.act.state) == ("facts", "stop")
    with pytest.raises(BadInput, match=r"Does not suit East filler.*Change the facts first"):
        match.take(shop.desk, shop.number, shop.press)
    assert shop.state.match is None


@pytest.mark.parametrize(
    ("changes", "name", "words"),
    [
        (
            {"cylinder": Cylinder(capacity_ml=Decimal(1500), ml_per_mark=Decimal(15))},
            "Cylinder",
            "a smaller cylinder sets finer",
        ),
        ({"product": {"runs_like": RunsLike.FOAMY}}, "Foam", "let foam settle before weighing"),
        ({"rules": "US-HB133-A", "unit": "mL", "plan": None}, "Short limit", ""),
        (
            {
                "product": {"is_flammable": True},
                "machine": {"is_approved_for_flammables": True},
            },
            "Flammable",
            "Earthed, aired; no tablet, phone or scale in the zone unless certified",
        ),
    ],
)
def test_what_suits_with_changes(changes, name, words):
    """A thing to know does not stop the job; it is named."""
    look = seen(**changes, **({"aim_g": Decimal(256)} if "rules" in changes else {}))

    assert look.verdict == "suits-with-changes"
    assert reason(look, name).state == "warn"
    assert words in reason(look, name).words
    assert look.act.what == "take"


@pytest.mark.parametrize(("mouth", "state"), [("18", "on"), ("17.9", "stop"), ("58", "on")])
def test_a_nozzle_leaves_room_for_air(mouth, state):
    """A 14 mm nozzle wants a mouth of 18 mm: two millimetres all round (common practice)."""
    assert reason(seen(container={"mouth_mm": Decimal(mouth)}), "Nozzle").state == state


@pytest.mark.parametrize(("warm", "state"), [("60", "on"), ("60.1", "stop")])
def test_exactly_at_the_valve_s_limit_suits(warm, state):
    """The limit of the valve is the last temperature that suits."""
    assert reason(seen(product={"product_c": Decimal(warm)}), "Temperature").state == state


def test_the_dose_is_the_volume_at_product_temperature():
    """252 g of 1.01 g/mL at 20 °C, 30 °C warm: 252 / (1.01 x (1 - 0.003)) = 250.25 mL.

    Hand calculation; shown to a tenth.
    """
    facts = job(product={"product_c": Decimal(30)})

    assert match.dose_ml(facts) == Decimal("250.3")


def test_every_cylinder_has_its_lane():
    """A tenth to the whole of each; the fitted one and the best one are marked."""
    lanes = seen().lanes

    assert [(lane.low_ml, lane.high_ml) for lane in lanes] == [
        (Decimal("18.0"), 180),
        (Decimal("45.0"), 450),
    ]
    assert [(lane.is_fitted, lane.is_best) for lane in lanes] == [(False, False), (True, True)]
    assert [lane.words for lane in lanes] == ["too small", "55 % of its stroke"]


@pytest.mark.parametrize(
    ("share", "words"),
    [
        ("0.0999", "too big: under a tenth of its stroke"),
        ("0.10", "10 % of its stroke, a coarse setting"),
        ("0.20", "20 % of its stroke"),
        ("1", "100 % of its stroke"),
        ("1.0001", "too small"),
    ],
)
def test_how_a_dose_stands_in_a_cylinder(share, words):
    """A tenth is the least, a fifth the least that is not coarse, the whole the most."""
    assert match._lane_words(Decimal(share)) == words


class TestCautions:
    """What can hurt somebody is said where it is true, and only there."""

    def test_a_plain_product_has_none(self):
        """Cold cream that cannot burn brings no caution."""
        assert match.cautions_of(job()) == ()

    @pytest.mark.parametrize(("warm", "said"), [("45", False), ("45.1", True), ("58", True)])
    def test_hot_begins_above_45(self, warm, said):
        """Above 45 °C the temperature, gloves and sleeve are named."""
        found = match.cautions_of(job(product={"product_c": Decimal(warm)}))

        assert [c.words for c in found] == ([f"{warm} °C. Gloves and sleeve. Lid on."] * said)

    def test_flammable_product_says_so_everywhere(self):
        """The caution is there also when the job stops."""
        look = seen(product={"is_flammable": True})

        assert CAUTIONS["flammable"] in look.act.cautions
        assert look.act.what == "facts"


def test_the_machine_of_the_tests_is_whole():
    """The job's cylinder and nozzle are among those of its machine."""
    facts = job()

    assert facts.cylinder in facts.machine.cylinders
    assert facts.nozzle in facts.machine.nozzles
    assert replace(facts, cylinder=CYLINDER, nozzle=NOZZLE, machine=MACHINE) == facts
