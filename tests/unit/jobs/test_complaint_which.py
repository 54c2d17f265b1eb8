"""Which one is complained about: re-labelled ones, trays and places, codes that two jobs have."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.held.relabel import relabel
from fillwright.jobs.opening import open_job
from fillwright.jobs.papers import batch_record
from fillwright.jobs.trace import complaints
from fillwright.jobs.trace.both_ways import trace
from fillwright.jobs.trace.complaint import Told, complaint
from fillwright.jobs.trace.complaint_which import near_lots
from fillwright.jobs.trace.complaints import Telling
from fillwright.language.voice import voice_of
from fillwright.records.entries import LotTaken, RunFinished, SealSeen, SealsShelved
from fillwright.records.spans import Span

CODE, SMALLER = "L-0417", "L-0417-R1"
ROTOR = SealSeen(
    job="0416", machine="East filler", product="cordial", position="valve rotor",
    material="FKM", size="224", state="worn", action="replaced", reason="due", seal_lot="S-1",
)  # fmt: skip


@pytest.fixture
def shop():
    """A run whose jars 21 and 22 were weighed short and carry a smaller label."""
    made = Workshop().to_run()
    for deviation in ("0.1", "0.2", "-5", "0.3", "-0.1", "0.2"):
        made.off(deviation)
    made.fill_up()
    made.tell(RunFinished(filled=made.state.filled_to))
    for container, deviation in ((21, "-12"), (22, "-13.5")):
        made.off(deviation, purpose="held", container=container)
    relabel(made.desk, made.number, (Span(21, 22),), Decimal(238), "sold smaller", made.press)
    return made


def names(sheet):
    """Return what is on record, by name."""
    return {line.name: line.words for line in sheet.facts}


def test_the_code_of_a_relabelled_lot_is_held_to_its_own_label(shop):
    """The jar, its new label, its weight against that label, and the letter with that code."""
    sheet = complaint(shop.desk, Told(code=SMALLER.lower(), container=22))

    assert (sheet.lot_code, sheet.job) == (SMALLER, shop.number)
    assert names(sheet)["Label"].startswith("238 g")
    assert any("the label needs 238" in words for words in sheet.can_say)
    assert any(f"lot {SMALLER}" in words for words in sheet.letter)
    assert SMALLER in near_lots(shop.desk, "L-0417-R2")


def test_one_that_carries_another_label_is_told_so_under_the_code_of_its_job(shop):
    """Whoever reads the first code off the box is told what stands on the jar."""
    assert complaint(shop.desk, Told(code=CODE, container=21)).lot_code == SMALLER
    assert complaint(shop.desk, Told(code=CODE, container=30)).lot_code == CODE


def test_a_jar_of_another_label_is_none_of_the_relabelled_lot(shop):
    """The refusal names those that are; without a number the two of it speak alone."""
    with pytest.raises(BadInput, match="none of this re-labelled lot: it holds 21 to 22"):
        complaint(shop.desk, Told(code=SMALLER, container=80))
    sheet = complaint(shop.desk, Told(code=SMALLER))
    assert "fewer than three" in sheet.cannot_say[0]


def test_a_complaint_about_a_relabelled_one_is_kept_with_its_code(shop):
    """And printed again with the same label."""
    telling = Telling(words="too little")
    number = complaints.take(shop.desk, Told(code=SMALLER, container=22), telling, shop.press)
    sheet = complaints.sheet_of(shop.desk, number)
    assert (sheet.lot_code, sheet.number) == (SMALLER, 22)


@pytest.mark.parametrize(
    ("told", "field", "words"),
    [
        ({"place": 3}, "tray", "Type the tray too"),
        ({"tray": 0, "place": 3}, "tray", "no tray 0"),
        ({"tray": 13, "place": 1}, "tray", "no tray 13: it stood on 12"),
        ({"container": 70, "tray": 2}, "container", "70 stood on tray 7, place 10"),
        ({"container": 70, "tray": 7, "place": 1}, "container", "tray 7, place 10"),
        ({"code": "x" * 50_000}, "code", "No lot has the code"),
    ],
)
def test_what_does_not_go_together_is_said(shop, told, field, words):
    """Never a number that nobody typed, and never a page of what was typed."""
    with pytest.raises(BadInput, match=words) as refused:
        complaint(shop.desk, Told(**{"code": CODE, **told}))
    assert refused.value.field == field
    assert len(refused.value.message) < 250


def test_where_it_stood_is_said_in_german_too(shop):
    """The tray is a word of the program, not a number that somebody typed."""
    with pytest.raises(BadInput, match="70 stood on") as refused:
        complaint(shop.desk, Told(code=CODE, container=70, tray=2))
    said = voice_of("de").said(refused.value.message)
    assert said.startswith("Nummer 70 stand auf Steige 7, Platz 10.")
    sheet = complaint(shop.desk, Told(code=CODE, container=70))
    assert voice_of("de").said(names(sheet)["Stood on"]) == "Steige 7, Platz 10"


def test_more_left_than_was_filled_asks_for_the_empty_one(shop):
    """A weight with its container is no loss of less than nothing."""
    for container in (30, 35):
        told = Told(code=CODE, container=container, found_g=Decimal(312))
        said = " ".join(complaint(shop.desk, told).can_say)
        assert "was the empty container weighed with it?" in said
        assert "-" not in said


def test_times_and_weights_are_as_the_bench_showed_them(shop):
    """By its own clock, which the sheet names; a weight with the digits of the scale."""
    sheet = complaint(shop.desk, Told(code=CODE, container=30))
    known = names(sheet)
    at = shop.clock.now() + timedelta(hours=1)

    assert known["Times by the clock of"] == "Europe/Vienna"
    assert f"{at:%Y-%m-%d %H}" in known["Its own weight"]
    held = next(words for words in sheet.letter if "held" in words)
    assert known["Its own weight"].split(" net")[0] in held


def test_a_code_that_two_jobs_have_is_said(shop):
    """The later one is told of, the other is named."""
    other = replace(shop.state.known, number="0500")
    open_job(shop.desk, other, shop.press)
    sheet = complaint(shop.desk, Told(code=CODE))

    assert sheet.job == "0500"
    assert any("0417 had the same lot code" in words for words in sheet.cannot_say)


def test_a_seal_that_came_after_the_job_was_opened_is_traced():
    """A job is opened ahead: what is fitted before its first jar touched it, later ones not."""
    shop = Workshop()
    shop.tell_site(
        SealsShelved(seal_lot="S-1", material="EPDM", size="224", pieces=2, cured_on="2031-01-01")
    )
    shop.tell_site(replace(ROTOR, seal_lot="S-0"))
    shop.clock.go(600)
    shop.tell_site(ROTOR)
    shop.to_run()
    shop.clock.go(600)
    shop.off(0)
    shop.clock.go(600)
    shop.tell_site(replace(ROTOR, seal_lot="S-9"))
    (lot,) = trace(shop.desk, CODE).lots
    told = {line.name: line.words for line in lot.parts}["Seal, valve rotor"]

    assert told.startswith("EPDM 224, lot S-1, fitted ")
    assert "S-0" not in told
    assert "S-9" not in told


def test_a_drum_without_its_batch_may_be_of_the_batch(shop):
    """A recall of a batch names the jars whose drum nobody told the batch of."""
    shop.tell(LotTaken(what="drum", code="D-1", batch="B-7", after_container=0))
    shop.tell(LotTaken(what="drum", code="D-2", batch="", after_container=40))
    [hole] = trace(shop.desk, "B-7").holes
    assert hole.startswith("Lot L-0417, jar 41 to 120: no batch of product on record")


def test_a_clock_that_was_set_back_is_said_on_every_paper():
    """The complaint doubts the hour, trace and batch record say between which entries."""
    shop = Workshop().to_run()
    shop.clock.go(-3600)
    shop.off(0)

    assert any("the clock of the bench went back" in words for words in doubts(shop))
    [said] = trace(shop.desk, CODE).lots[0].clock
    assert said in batch_record(shop.desk, shop.state).notes
    letter = " ".join(complaint(shop.desk, Told(code=CODE)).letter)
    assert "clock" not in letter


def doubts(shop):
    """Return what the record cannot say of one of the lot."""
    return complaint(shop.desk, Told(code=CODE)).cannot_say
