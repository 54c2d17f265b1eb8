"""A repeat job: the kept proof, five doses against it, and a machine that was changed."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal

import pytest
from tests.fakes.workshop import MACHINE, Workshop

from fillwright.errors import BadInput
from fillwright.jobs import traveller
from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.machines.card import machine_card
from fillwright.jobs.machines.change import keep_change, last_change
from fillwright.jobs.opening import open_job
from fillwright.jobs.papers import batch_record, proof_sheet
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.prove.kept import begin_check, find_kept
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import strike_out
from fillwright.jobs.trim.history import history, start_words
from fillwright.records.entries import SealSeen
from fillwright.records.keepsake import state_from_bytes, state_to_bytes
from fillwright.report.machine_words import machine_blocks

STEADY = ("0.3", "-0.2", "0.1", "-0.4", "0.2")


def repeated(**changes):
    """Return a workshop whose first job is proved, standing at the Prove stage of a second."""
    shop = Workshop().to_proved()
    keep_thing(shop.desk, shop.facts.machine, shop.press)
    first = shop.facts
    shop.clock.go(86_400)
    facts = replace(first, number="0500", lot_code="L-0500", **changes)
    open_job(shop.desk, facts, shop.press)
    shop.number = "0500"
    shop._trim()
    return shop


def seen(shop):
    """Return what Prove shows."""
    return prove.look(shop.desk, shop.state)


def five(shop, deviations=STEADY):
    """Begin the check and weigh five."""
    begin_check(shop.desk, shop.number, shop.press)
    for deviation in deviations:
        shop.off(deviation)
    return shop.state.again


def test_a_repeat_job_is_offered_five_shots():
    """The order names the job that it was proved in; a run of its own stays open."""
    shop = repeated()

    act = seen(shop).act

    assert act.order == "Fill and weigh 5 jars against the kept proof."
    assert "Proved in job 0417" in act.why
    assert [option.what for option in act.options] == ["begin"]


def test_no_figures_are_shown_before_the_fifth():
    """The page counts to five, says how often the check misleads, and tells no spread."""
    shop = repeated()
    begin_check(shop.desk, shop.number, shop.press)
    for deviation in STEADY[:4]:
        shop.off(deviation)

    page = seen(shop)

    assert (page.planned, page.weighed, page.verdict, page.spread) == (5, 4, None, "")
    assert "at most 5 times in 100" in " ".join(page.needs_words)
    assert "twice as wide is overlooked about" in " ".join(page.needs_words)


def test_five_that_agree_let_the_run_start_on_the_kept_proof():
    """The proof of the first job holds here, with its own spread; the record says whose it is."""
    shop = repeated()

    book = five(shop)
    state = shop.state

    assert (book.checked.verdict, book.kept_from) == ("agrees", "0417")
    assert state.proof == shop.desk.book.job("0417").proof
    assert "The proof of job 0417 holds here too" in seen(shop).act.why
    assert traveller.stage_now(state).value == "run"
    run.start(shop.desk, shop.number, shop.press)
    assert shop.state.run.started.sd_g == state.proof.dose_sd_g
    notes = batch_record(shop.desk, shop.state).notes
    assert any("Proof of job 0417 held against 5 doses" in note for note in notes)
    with pytest.raises(BadInput, match="that of job 0417"):
        proof_sheet(shop.desk, shop.state)


@pytest.mark.parametrize(
    ("deviations", "words"),
    [
        (("2.0", "1.8", "2.1", "1.6", "2.2"), "middle has moved"),
        (("2.4", "-2.2", "1.9", "-2.5", "2.3"), "spread has grown"),
    ],
)
def test_five_that_disagree_ask_for_a_proof_of_its_own(deviations, words):
    """The page says what has changed, and offers the whole run only."""
    shop = repeated()

    book = five(shop, deviations)
    page = seen(shop)

    assert (book.checked.verdict, shop.state.proof) == ("disagrees", None)
    assert words in book.checked.because
    assert page.act.what == "begin"
    assert words in page.kept
    with pytest.raises(BadInput, match="Prove it anew"):
        begin_check(shop.desk, shop.number, shop.press)


def test_a_short_one_ends_the_check_and_is_held():
    """Nothing below T1 goes on: the check ends, the jars are held."""
    shop = repeated()
    begin_check(shop.desk, shop.number, shop.press)
    shop.off(STEADY[0])
    shop.off("-12")

    assert shop.state.again.checked.verdict == "disagrees"
    assert [(s.first, s.last) for s in shop.state.open_spans] == [(1, 2)]


def test_a_struck_shot_takes_the_kept_proof_back():
    """Four do not speak for it: Prove begins again."""
    shop = repeated()
    five(shop)
    strike_out(shop.desk, shop.number, shop.state.proof_shots[0].id, "wrong jar", shop.press)

    assert (shop.state.proof, shop.state.proof_plan) == (None, None)
    assert seen(shop).act.what == "begin-check"


@pytest.mark.parametrize(
    "changes",
    [
        {"aim_g": Decimal("253.0")},
        {"claim_pct": Decimal(2)},
        {"nozzle": MACHINE.nozzles[1]},
    ],
)
def test_another_aim_claim_or_nozzle_has_no_kept_proof(changes):
    """What was not proved is not checked."""
    shop = repeated(**changes)

    assert find_kept(shop.desk, shop.state).job == ""
    assert seen(shop).act.what == "begin"


def test_a_machine_that_came_back_from_repair_has_no_kept_proof_and_no_history():
    """Start and proof are a guess again, and the pages say so, with the day and the note."""
    shop = repeated()
    assert history(shop.desk, shop.facts) is not None
    assert start_words(shop.desk, shop.facts).startswith("Job 0417 ended at")

    shop.clock.go(60)
    keep_change(shop.desk, "East filler", "repaired", "new lead screw", shop.press)

    assert history(shop.desk, shop.facts) is None
    assert all(key[1] != "East filler" for key in shop.desk.book.site().primings)
    words = start_words(shop.desk, shop.facts)
    assert words.startswith("A guess again: East filler came back from repair on 2031-03-06")
    assert "(new lead screw)" in words
    page = seen(shop)
    assert page.act.what == "begin"
    assert "The proof of job 0417 is a guess now." in page.kept
    card = machine_card(shop.desk, "East filler")
    text = json.dumps(machine_blocks(card))
    assert "came back from repair" in text
    assert " guess" in text


def test_a_new_seal_takes_the_kept_proof_back():
    """A replaced seal reopens the proof; the start of the trim stays."""
    shop = repeated()
    shop.tell_site(
        SealSeen(
            job="0417",
            machine="East filler",
            product="Hand cream",
            position="piston",
            material="FKM",
            size="25 x 2",
            state="worn",
            action="replaced",
        )
    )

    assert "The seal at piston was replaced" in find_kept(shop.desk, shop.state).why_not
    assert history(shop.desk, shop.facts) is not None


def test_what_happened_must_be_one_of_the_list():
    """Neither another machine nor another word is kept."""
    shop = repeated()

    with pytest.raises(BadInput, match="no machine"):
        keep_change(shop.desk, "Nowhere", "repaired", "", shop.press)
    with pytest.raises(BadInput, match="pick one from the list"):
        keep_change(shop.desk, "East filler", "painted", "", shop.press)
    assert last_change(shop.desk, "East filler") is None


def test_the_check_is_folded_alike_from_the_start_and_from_a_kept_state():
    """Replay and kept bytes give the same check."""
    shop = repeated()
    five(shop)
    state = shop.state

    again = shop.refolded()
    kept = state_from_bytes(state_to_bytes(state))

    assert again.again == state.again == kept.again
    assert (again.proof, again.proof_plan) == (state.proof, state.proof_plan)
