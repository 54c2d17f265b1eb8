"""What belongs to no job as tables: machines, visits, enquiries, trial fills, cases."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.fault import stage as fault
from fillwright.jobs.fault.case import case_file
from fillwright.jobs.field import case as fieldcase
from fillwright.jobs.field import case_sent as casesent
from fillwright.jobs.field import enquiry
from fillwright.jobs.field import register as field
from fillwright.jobs.field.table import FIELD_TABLES
from fillwright.jobs.field.trial_fill import keep_trial
from fillwright.jobs.files.tables import TABLES, table_of
from fillwright.records.case_file import case_to_bytes
from fillwright.records.entries import EnquiryTaken, FieldMachineKept, FieldVisited, TrialFilled


@pytest.fixture
def shop():
    """A bench with one of each."""
    shop = Workshop().to_run()
    desk, press = shop.desk, shop.press
    keep_thing(desk, shop.facts.machine, press)
    line = FieldMachineKept(machine=0, serial="E-2207", owner="North mill")
    field.keep_machine(desk, replace(line, seals=field.seals_from("piston: FKM")), press)
    visit = FieldVisited(machine=1, visited_on="2031-03-01", done="=cmd", next_on="2031-09-01")
    field.visit(desk, replace(visit, seals=field.seals_from("valve: EPDM")), press)
    asked = EnquiryTaken(
        enquiry=0,
        who="a caller",
        product=shop.facts.product,
        container=shop.facts.container,
        dose_ml=Decimal(250),
    )
    enquiry.take_enquiry(desk, asked, press)
    trial = TrialFilled(
        trial=0,
        machine=0,
        machine_name=shop.facts.machine.name,
        filled_with="water",
        product="",
        fitted="450 mL",
        setting="50 marks",
        asked_g=Decimal(250),
        nets_g=(Decimal("250.10"), Decimal("249.9"), Decimal(250)),
    )
    keep_trial(desk, trial, press)
    begun = fieldcase.Begun(machine=1, bench_machine="", sign="drips")
    number = fieldcase.begin(desk, begun, press)
    fieldcase.answer(desk, number, "cutoff_watch", "k_cutoff_late", "no", press)
    owner = Workshop(job("0600")).to_run()
    fault.begin(owner.desk, "0600", "creeps-up", (), press)
    fault.answer(owner.desk, "0600", "wheel_lock", "k_lock_loose", "no", press)
    sent = casesent.receive(desk, case_to_bytes(case_file(owner.desk, "0600")), "a.json", 1, press)
    casesent.reply(desk, sent, "/21", "Slow it.", press)
    casesent.end(desk, sent, "visit", "on Tuesday", press)
    return shop


def rows_of(shop, name):
    """Return the rows of a table as dictionaries."""
    table = table_of(shop.desk, name)
    return [dict(zip(table.headers, row, strict=True)) for row in table.rows]


def test_they_stand_among_the_tables():
    """So that the page and the command line offer them."""
    assert set(FIELD_TABLES) < set(TABLES)


def test_a_machine_has_one_row_with_what_is_fitted_now(shop):
    """Also what a visit put in, and when the next one is."""
    (row,) = rows_of(shop, "register")

    assert (row["serial"], row["owner"], row["retired"]) == ("E-2207", "North mill", "no")
    assert row["seals fitted"] == "piston: FKM; valve: EPDM, 2031-03-01"
    assert (row["visits"], row["next visit"], row["person"]) == (1, "2031-09-01", "AB")


def test_visits_enquiries_and_shots_are_rows_with_exact_amounts(shop):
    """A shot keeps the digits of the scale."""
    assert rows_of(shop, "visits")[0]["done"] == "=cmd"
    asked = rows_of(shop, "enquiries")[0]
    assert (asked["who asked"], asked["dose (mL)"]) == ("a caller", Decimal(250))
    shots = rows_of(shop, "trials")
    assert [(one["shot"], str(one["net (g)"])) for one in shots] == [
        (1, "250.10"),
        (2, "249.9"),
        (3, "250"),
    ]
    assert all(one["time (UTC)"].endswith("Z") for one in shots)


def test_a_struck_visit_is_marked_and_not_counted(shop):
    """Its row stays, with the reason; the register counts without it."""
    assert rows_of(shop, "visits")[0]["struck out"] == ""
    (told,) = field.register(shop.desk).machines[1].told
    field.strike_visit(shop.desk, 1, told.id, "wrong machine", shop.press)

    (visit,) = rows_of(shop, "visits")
    assert (visit["done"], visit["struck out"]) == ("=cmd", "wrong machine")
    (row,) = rows_of(shop, "register")
    assert (row["visits"], row["next visit"], row["seals fitted"]) == (0, "", "piston: FKM")


def test_a_case_has_a_row_for_each_fact(shop):
    """One's own and one that was sent, with what came with the file."""
    rows = rows_of(shop, "cases")
    own, sent = ([row for row in rows if row["case"] == number] for number in (1, 2))

    assert [row["kind"] for row in own] == ["case begun", "fault opened", "fault answer given"]
    assert own[2]["told"] == "not k_cutoff_late"
    assert [row["kind"] for row in sent] == [
        "case received",
        "came with the case",
        "came with the case",
        "case replied",
        "case ended",
    ]
    assert sent[2]["what"].startswith("Check 14:")
    assert (sent[0]["job there"], sent[-1]["outcome"]) == ("0600", "visit")


@pytest.mark.parametrize("name", FIELD_TABLES)
def test_there_is_none_of_them_of_one_job(shop, name):
    """They belong to no job."""
    with pytest.raises(BadInput, match="belongs to no job"):
        table_of(shop.desk, name, shop.number)
    assert list(table_of(Workshop().desk, name).rows) == []
