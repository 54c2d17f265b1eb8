"""Enquiries held against every machine, and trial fills outside of any job."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import MACHINE, Workshop

from fillwright.errors import BadInput
from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.desk import Press
from fillwright.jobs.field import enquiry
from fillwright.jobs.field import register as field
from fillwright.jobs.field import trial_fill as trialfill
from fillwright.records.entities import Container, Cylinder, Product, RunsLike
from fillwright.records.entries import EnquiryTaken, FieldMachineKept, TrialFilled
from fillwright.report import pdf
from fillwright.wiring import maker

PRESS = Press(person="AB")
CREAM = Product(name="Hand cream", density_g_per_ml=Decimal("1.01"), product_c=Decimal(22))
JAR = Container(name="250 mL jar", brim_ml=Decimal(280), mouth_mm=Decimal(58))
WANTED = EnquiryTaken(
    enquiry=0, who="the mill", product=CREAM, container=JAR, dose_ml=Decimal(250)
)
TINY = Cylinder(capacity_ml=Decimal(40), ml_per_mark=Decimal("0.5"))
SMALL = replace(MACHINE, name="Small filler", cylinders=(TINY,))


@pytest.fixture
def shop():
    """A workshop with a machine that is too small, one that suits, and a described one."""
    shop = Workshop()
    for machine in (SMALL, MACHINE, replace(maker.MACHINES[0], name="Middle filler")):
        keep_thing(shop.desk, machine, PRESS)
    line = FieldMachineKept(machine=0, serial="E-2207", profile=MACHINE.name)
    field.keep_machine(shop.desk, line, PRESS)
    return shop


def test_every_machine_is_held_against_it_and_the_best_leads(shop):
    """The one that is too small comes last and says why; the register's machines stand beside."""
    number = enquiry.take_enquiry(shop.desk, WANTED, PRESS)
    seen = enquiry.look(shop.desk, number)

    assert {one.machine.name for one in seen.machines} == {
        "Small filler",
        "East filler",
        "Middle filler",
    }
    assert (seen.machines[0].state, seen.machines[-1].state) == ("on", "stop")
    assert "Fit another cylinder" in seen.machines[-1].why[0]
    assert seen.headline == f"Suits: {seen.machines[0].machine.name}."
    by_name = {one.machine.name: one for one in seen.machines}
    assert by_name["East filler"].field_numbers == (1,)
    assert by_name["Middle filler"].look.expects


def test_the_nozzle_that_suits_is_found(shop):
    """Of a machine's nozzles the one with the best verdict stands, not simply the widest."""
    wide = replace(MACHINE.nozzles[1], outside_mm=Decimal(50), bore_mm=Decimal(48))
    machine = replace(maker.MACHINES[0], name="Two tips")
    machine = replace(machine, nozzles=(wide, *machine.nozzles))
    keep_thing(shop.desk, machine, PRESS)
    oil = replace(CREAM, runs_like=RunsLike.OIL)
    number = enquiry.take_enquiry(shop.desk, replace(WANTED, product=oil), PRESS)
    seen = enquiry.look(shop.desk, number)

    best = next(one for one in seen.machines if one.machine.name == "Two tips")
    assert best.state == "on"
    assert not any("50 mm" in part.words for part in best.look.parts)


def test_nothing_of_an_enquiry_is_a_job(shop):
    """It stands in the register's stream; no job comes of it."""
    jobs = shop.desk.book.numbers()
    enquiry.look(shop.desk, enquiry.take_enquiry(shop.desk, WANTED, PRESS))

    assert shop.desk.book.numbers() == jobs
    assert shop.journal.streams()[-1] == "field"


def test_without_a_machine_it_says_what_to_do():
    """An empty bench asks for a description and prints the questions all the same."""
    shop = Workshop()
    burns = replace(WANTED, product=replace(CREAM, is_flammable=True))
    number = enquiry.take_enquiry(shop.desk, burns, PRESS)
    seen = enquiry.look(shop.desk, number)

    assert "Describe one" in seen.headline
    assert "certified" in seen.cautions[0].words
    assert pdf.print_sheet(enquiry.enquiry_sheet(shop.desk, number)).startswith(b"%PDF")


def test_what_was_told_is_not_asked_again(shop):
    """Each question has what was told beside it, and the sheet leaves out who asked."""
    told = replace(CREAM, particle_mm=Decimal(2), is_flammable=True)
    number = enquiry.take_enquiry(shop.desk, replace(WANTED, product=told), PRESS)
    sheet = enquiry.enquiry_sheet(shop.desk, number)

    answers = {row.question: row.told for row in sheet.asked}
    assert answers["Largest piece in it?"] == "2 mm"
    assert answers["How close must each be?"] == ""
    assert any("certified" in words for words in sheet.cautions)
    assert "mill" not in repr(sheet)


@pytest.mark.parametrize(("dose", "told"), [("0", "above zero"), ("281", "brims at 280 mL")])
def test_a_dose_that_cannot_be_is_refused(shop, dose, told):
    """Nothing, or more than the container holds."""
    with pytest.raises(BadInput, match=told):
        enquiry.take_enquiry(shop.desk, replace(WANTED, dose_ml=Decimal(dose)), PRESS)


TRIAL = TrialFilled(
    trial=0,
    machine=1,
    machine_name="",
    filled_with="water",
    product="not water",
    fitted="450 mL, 14 mm",
    setting="50.8, 6 bar",
    asked_g=Decimal(250),
    nets_g=tuple(map(Decimal, ("250.1", "249.8", "250.4", "250.0", "249.6"))),
)


def test_a_trial_fill_is_kept_and_says_how_little_it_proves(shop):
    """Mean, spread and its range by hand: sd 0.3033, times 0.5991 and 2.8736 for five shots."""
    number = trialfill.keep_trial(shop.desk, TRIAL, PRESS)
    sheet = trialfill.trial_sheet(shop.desk, number)

    assert sheet.says[0] == "Mean of 5 shots: 249.98 g; lowest 249.6, highest 250.4."
    assert "-0.02 g, -0.01 %" in sheet.says[1]
    assert "0.30 g, 0.12 % of the mean" in sheet.says[2]
    assert "between 0.18 and 0.87 g" in sheet.says[2]
    assert sheet.says[3].startswith("Water")
    assert sheet.shots[1] == ("2", "249.8", "-0.2")
    assert {line.name: line.words for line in sheet.facts}["Filled with"] == "water"
    assert pdf.print_sheet(sheet).startswith(b"%PDF")


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"nets_g": (Decimal(1), Decimal(2))}, "Weigh 3 to 30 shots"),
        ({"nets_g": (Decimal(1),) * 31}, "Weigh 3 to 30 shots"),
        ({"nets_g": (Decimal(1), Decimal(0), Decimal(2))}, "A shot of 0 g"),
        ({"filled_with": "product", "product": " "}, "Name the product"),
        ({"machine": 9}, "no machine 9"),
        ({"machine": 0, "machine_name": "elsewhere"}, "Pick the machine"),
    ],
)
def test_a_trial_fill_that_cannot_be_is_refused(shop, changes, told):
    """Too few, too many, a shot that is none, no product, no machine: nothing is kept."""
    with pytest.raises(BadInput, match=told):
        trialfill.keep_trial(shop.desk, replace(TRIAL, **changes), PRESS)
    assert field.register(shop.desk).trials == {}


def test_shots_that_all_weigh_the_same_have_a_spread_of_nothing(shop):
    """A coarse scale shows no scatter, and that is said as it is."""
    same = replace(TRIAL, nets_g=(Decimal(250),) * 3, asked_g=None)
    number = trialfill.keep_trial(shop.desk, same, PRESS)

    assert "0.00 g, 0.00 %" in trialfill.trial_sheet(shop.desk, number).says[1]
