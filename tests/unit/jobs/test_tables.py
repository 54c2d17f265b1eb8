"""The journal as tables: every fact a row, with what became of it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.files.tables import TABLES, table_of
from fillwright.jobs.run.weigh import strike_out
from fillwright.jobs.strip.table import IN_CHECKS, NOT_SERVICE
from fillwright.records.entries import (
    FaultAnswered,
    FaultClosed,
    FaultOpened,
    RepairTried,
    SealSeen,
    SealsShelved,
    StripBegan,
    StripTicked,
)


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

    assert kinds == [
        "match",
        "weighing scale",
        "priming judged",
        "trim",
        "proof",
        "lot",
        "release",
    ]


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


SEAL = SealSeen(
    job="0417",
    machine="East filler",
    product="Hand cream",
    position="glide ring",
    material="PTFE",
    size="40x4",
    state="worn",
    action="replaced",
    reason="due",
    life_cycles=41_000,
    seal_lot="L7",
)


@pytest.fixture
def served(shop):
    """The released job after a fault, a guided strip and a seal, with a lot on the shelf."""
    shop.tell(
        FaultOpened(sign="dose-creeps", findings=("lock-loose",)),
        FaultAnswered(check="wheel-lock", present=("lock-loose",)),
        RepairTried(repair="tighten-lock", outcome="cured"),
        FaultClosed(outcome="cured", cause="loose-lock", repair="tighten-lock", note="by hand"),
        FaultOpened(sign="drips"),
        StripBegan(profile="bench"),
        StripTicked(step="air-off", reading="0 bar", isolated=True),
    )
    shop.tell_site(SEAL)
    shop.tell_site(
        SealsShelved(seal_lot="L7", material="PTFE", size="40x4", pieces=3, cured_on="2030-01-01")
    )
    return shop


def test_faults_and_repairs_are_rows_of_their_case(served):
    """Each with its sign, check, repair or cause, what came of it, and the number of the case."""
    rows = [row for row in rows_of(served, "service") if row["case"]]

    assert [(row["kind"], row["part or step"], row["outcome"], row["case"]) for row in rows] == [
        ("fault opened", "dose-creeps", "", 1),
        ("fault answer given", "wheel-lock", "", 1),
        ("repair tried", "tighten-lock", "cured", 1),
        ("fault closed", "tighten-lock", "cured", 1),
        ("fault opened", "drips", "", 2),
    ]
    assert rows[3]["reason"] == "by hand"
    assert rows[3]["details"] == "cause: loose-lock"
    assert "lock-loose" in rows[1]["details"]


def test_strips_and_seals_are_rows_with_their_evidence(served):
    """A step with its reading; a seal with its place, state, cycles and lot."""
    rows = {row["kind"]: row for row in rows_of(served, "service")}

    ticked, seal = rows["strip step ticked"], rows["seal seen"]
    assert (ticked["part or step"], ticked["reading"]) == ("air-off", "0 bar")
    assert "isolated: yes" in ticked["details"]
    assert (seal["job"], seal["machine"], seal["part or step"]) == (
        "0417", "East filler", "glide ring",
    )  # fmt: skip
    assert (seal["state"], seal["outcome"], seal["cycles"], seal["seal lot"]) == (
        "worn", "replaced", 41_000, "L7",
    )  # fmt: skip
    assert (rows["seals shelved"]["job"], rows["strip begun"]["details"]) == (
        "site", "profile: bench",
    )  # fmt: skip


def test_one_job_alone_has_its_own_seals_and_no_others(served):
    """What the site keeps for all jobs is left out."""
    kinds = {row["kind"] for row in rows_of(served, "service", served.number)}

    assert "seal seen" in kinds
    assert "seals shelved" not in kinds


def test_every_entry_is_in_one_table(served):
    """What is no weighing, no check and no description is service, and nothing is told twice."""
    entries = served.journal.log
    told = [row["entry id"] for row in rows_of(served, "service")]

    assert sorted(told) == sorted(
        entry.id for entry in entries if not isinstance(entry.payload, NOT_SERVICE)
    )
    judged = [e for e in entries if isinstance(e.payload, IN_CHECKS) and e.stream != "site"]
    assert len(rows_of(served, "checks")) == len(judged)
