"""The journal as tables: every fact a row, with what became of it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.tables import TABLES, table_of
from fillwright.jobs.weigh import strike_out


def rows_of(shop, name, number=None):
    """Return the rows of a table as dictionaries."""
    table = table_of(shop.desk, name, number)
    return [dict(zip(table.headers, row, strict=True)) for row in table.rows]


@pytest.fixture
def shop():
    """A released job."""
    return Workshop().to_released()


def test_every_weighing_is_a_row_with_its_exact_amounts(shop):
    """As many rows as weighings; gross less tare is net, to the digit."""
    rows = rows_of(shop, "weighings")

    assert len(rows) == len(shop.state.weighings)
    assert all(r["net (g)"] == r["shown"] - r["tare (g)"] for r in rows if r["unit"] == "g")
    assert {r["job"] for r in rows} == {shop.number}
    assert all(r["time (UTC)"].endswith("Z") for r in rows)


def test_a_weight_that_was_struck_out_keeps_its_row_and_its_reason():
    """Nothing on record is left out."""
    shop = Workshop().to_run()
    shop.off("0.1")
    shop.off("0.2", set_aside="spilled")
    first = next(w for w in shop.state.weighings if w.fact.purpose == "dose")
    strike_out(shop.desk, shop.number, first.id, "typed wrong", shop.press)

    doses = [r for r in rows_of(shop, "weighings") if r["purpose"] == "dose"]

    assert [(r["struck out"], r["set aside"]) for r in doses] == [
        ("typed wrong", ""),
        ("", "spilled"),
    ]


def test_a_job_is_one_row_with_its_verdicts(shop):
    """From the label to the release."""
    [row] = rows_of(shop, "jobs")

    assert (row["job"], row["release"], row["trim"]) == (
        shop.number,
        "released",
        shop.state.trim.verdict,
    )
    assert row["label quantity"] == shop.facts.nominal
    assert isinstance(row["proved within (%)"], Decimal)
    assert row["weighings"] == len(shop.state.weighings)


def test_checks_and_verdicts_are_in_one_table(shop):
    """The weighing scale's checks beside the verdicts, in the order in which they were made."""
    kinds = [row["check"] for row in rows_of(shop, "checks")]

    assert kinds == ["match", "weighing scale", "trim", "proof", "lot", "release"]


def test_steps_are_in_the_service_table(shop):
    """What was done, with its outcome and reading."""
    told = [row["what"] for row in rows_of(shop, "service")]

    assert any(words.startswith("air, done") for words in told)


def test_a_job_that_has_only_been_opened_has_rows_without_verdicts():
    """Nothing is made up for what has not happened."""
    shop = Workshop()
    [row] = rows_of(shop, "jobs", shop.number)

    assert (row["trim"], row["release"], row["proved within (%)"]) == ("", "", None)
    assert rows_of(shop, "weighings") == []


@pytest.mark.parametrize("name", TABLES)
def test_an_unknown_job_is_refused(shop, name):
    """One sentence, before anything is written."""
    with pytest.raises(BadInput, match=r"There is no job 9999\."):
        table_of(shop.desk, name, "9999")


def test_an_unknown_table_is_refused(shop):
    """The message names those that there are."""
    with pytest.raises(BadInput, match="weighings, jobs, checks, service"):
        table_of(shop.desk, "weights")
