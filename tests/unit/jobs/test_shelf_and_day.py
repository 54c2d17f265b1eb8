"""The shelf and the day: life by place, shelf dates, and the order of the open jobs."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.day import cleaning
from fillwright.jobs.day import order as day
from fillwright.jobs.held import settle
from fillwright.jobs.opening import open_job
from fillwright.jobs.papers import batch_record
from fillwright.jobs.release import stage as release
from fillwright.jobs.strip import shelf
from fillwright.jobs.strip import stage as strip
from fillwright.jobs.strip.life import jobs_since_sound_strip
from fillwright.records.entries import CleanDone, ProductTraits, SealSeen, SealsShelved
from fillwright.records.spans import Span

ROTOR = SealSeen(
    job="0417",
    machine="East filler",
    product="cordial",
    position="valve rotor",
    material="FKM",
    size="224",
    state="worn",
    action="replaced",
    reason="failed",
)


def life(shop, cycles, reason="failed"):
    """Keep that a seal was replaced after so many cycles."""
    shop.tell_site(replace(ROTOR, life_cycles=cycles, reason=reason))


def row(shop, **wishes):
    """Return the one row of the shelf."""
    (only,) = shelf.look(shop.desk, shelf.ShelfWishes(**wishes)).rows
    return only


def test_under_three_failures_no_life_is_fitted():
    """The belief is said with its shape; three failures give a fit with its interval."""
    shop = Workshop()
    life(shop, 9000)
    life(shop, 11_000, "due")
    assert "no fit under 3" in row(shop).life_words
    assert (row(shop).failed, row(shop).good) == (1, 1)

    life(shop, 12_000)
    life(shop, 8000)
    assert row(shop).life_words.startswith("Mean ")
    assert "best age" in row(shop).advice


def test_a_seal_is_changed_at_the_strip_before_its_best_age():
    """With a long way to the next strip it is changed, with a short one it stays."""
    shop = Workshop()
    for cycles in (9000, 10_000, 11_000, 10_500):
        life(shop, cycles)

    shop.tell_site(replace(ROTOR, action="kept", reason="", state="good", life_cycles=5000))
    assert row(shop, next_strip_cycles=500).advice.startswith("Leave it in")
    assert row(shop, next_strip_cycles=9000).advice.startswith("Change at the next strip")


def test_only_seals_of_one_place_material_and_product_make_a_life():
    """Another product or another material is a life of its own."""
    shop = Workshop()
    life(shop, 9000)
    shop.tell_site(replace(ROTOR, life_cycles=9000, material="EPDM"))
    shop.tell_site(replace(ROTOR, life_cycles=9000, product="oil"))

    assert len(shelf.look(shop.desk, shelf.ShelfWishes()).rows) == 3


@pytest.mark.parametrize(
    ("cured_on", "state", "words"),
    [("2026-01-01", "on", "In date"), ("2010-02-28", "stop", "do not fit")],
)
def test_a_lot_past_its_shelf_date_is_not_fitted(cured_on, state, words):
    """Rubber counts its years from the date of cure."""
    shop = Workshop()
    lot = SealsShelved(seal_lot="B-7", material="NBR", size="224", pieces=2, cured_on=cured_on)
    shelf.shelve(shop.desk, lot, shop.press)

    (one,) = shelf.look(shop.desk, shelf.ShelfWishes()).lots
    assert one.state == state
    assert words in one.words


def test_a_new_seal_leaves_the_shelf():
    """Fitting one of a lot takes it from the count, and never below none."""
    shop = Workshop()
    lot = SealsShelved(seal_lot="B-7", material="FKM", size="224", pieces=1, cured_on="2026-01-01")
    shelf.shelve(shop.desk, lot, shop.press)
    for _ in range(2):
        shop.tell_site(replace(ROTOR, seal_lot="B-7", life_cycles=10))

    assert shop.desk.book.site().shelf["B-7"].pieces == 0


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"seal_lot": " "}, "lot of the seals"),
        ({"material": "cheese"}, "no material"),
        ({"cured_on": "2026-02-30"}, "date of cure"),
    ],
)
def test_a_lot_that_cannot_be_is_refused(given, said):
    """A lot without code, an unknown material, a date that is none."""
    lot = SealsShelved(seal_lot="B", material="FKM", size="1", pieces=1, cured_on="2026-01-01")

    with pytest.raises(BadInput, match=said):
        shelf.shelve(Workshop().desk, replace(lot, **given), Workshop().press)


def test_a_missing_piece_holds_every_job_since_the_last_sound_strip():
    """Two jobs on the machine without a strip between: both lots are held."""
    shop = Workshop().to_released()
    machine = shop.state.known.machine.name
    assert [s.number for s in jobs_since_sound_strip(shop.desk, machine)] == [shop.number]
    first = shop.number
    facts = replace(shop.state.known, number="0500", lot_code="L-0500")
    open_job(shop.desk, facts, shop.press)

    strip.stripped(shop.desk, "0500", shop.press, air_is_off=True, missing_piece="valve O-ring")

    held = shop.desk.book.job(first)
    assert held.open_spans == (Span(1, 120),)
    assert held.steps["strip"].reading == "torn or missing: valve O-ring"


def test_a_missing_piece_opens_the_releases_again():
    """What went out is said, on page and record; the lot is settled and released anew."""
    shop = Workshop().to_released()
    was = shop.state.released
    strip.stripped(shop.desk, shop.number, shop.press, air_is_off=True, missing_piece="O-ring")

    state = shop.state
    assert (state.released, state.lot, state.signatures) == (None, None, [])
    [(_, person, fact)] = state.reopenings
    assert (person, fact.containers) == ("AB", was.containers)
    seen = release.look(shop.desk, state).act
    assert seen.order == "Settle the held jars first."
    assert "had gone out: tell whoever can call them back" in seen.why
    assert any(
        "Released and opened again" in note for note in batch_record(shop.desk, state).notes
    )

    settle.settle(shop.desk, shop.number, Span(1, 120), "scrapped", "O-ring", shop.press)
    release.close(shop.desk, shop.number, "a piece is missing", shop.press)
    assert shop.state.released.outcome == "not-released"
    assert shop.refolded().reopenings == shop.state.reopenings


def test_a_sound_strip_ends_the_jobs_in_doubt():
    """What was filled before a sound strip is not held for a piece missing later."""
    shop = Workshop().to_released()
    shop.clock.at += timedelta(minutes=5)
    strip.stripped(shop.desk, shop.number, shop.press, air_is_off=True, missing_piece="")

    assert jobs_since_sound_strip(shop.desk, shop.state.known.machine.name) == []


def clean(**changes):
    """A full strip with a good swab."""
    return replace(
        CleanDone(
            machine="East filler", after_job="", after_product="", before_job="",
            clean="full-strip", wanted="", agent="alkaline cleaner", agent_batch="C-7",
            residue="swab-good",
        ),
        **changes,
    )  # fmt: skip


def test_the_day_lists_open_jobs_and_what_was_typed():
    """An open job is in the order; a released one is not; typed minutes count."""
    shop = Workshop()
    typed = {shop.number: {"minutes": "45", "due_min": "30"}}
    seen = day.look(shop.desk, day.DayWishes(typed=typed))

    [east] = seen.machines
    assert [one.row.number for one in east.order] == [shop.number]
    assert (east.order[0].done_min, east.order[0].late_min) == (55, 25)
    assert day.look(Workshop().to_released().desk, day.DayWishes(typed={})).machines == ()


def test_an_allergen_rule_turns_the_order():
    """A pair that is forbidden is never ordered, and its cost is not a number."""
    shop = Workshop(job())
    open_job(shop.desk, replace(shop.state.known, number="0500"), shop.press)
    typed = {shop.number: {"allergen": "nut"}}
    seen = day.look(shop.desk, day.DayWishes(typed=typed, forbidden=(("nut", "none"),)))

    [east] = seen.machines
    assert [one.row.number for one in east.order] == ["0500", shop.number]
    assert any(other.extra_min is None for other in east.others)


def test_each_machine_has_an_order_of_its_own():
    """Two machines fill at the same time: neither waits for the other."""
    shop = Workshop(job())
    other = replace(shop.facts, number="0500", machine=replace(shop.facts.machine, name="West"))
    open_job(shop.desk, other, shop.press)
    seen = day.look(shop.desk, day.DayWishes(typed={}))

    assert [one.machine for one in seen.machines] == ["East filler", "West"]
    assert {one.order[0].gap_min for one in seen.machines} == {10}


def test_what_the_machine_bears_costs_the_first_job_and_a_clean_on_record_does_not():
    """After nuts the first job waits for a full strip; once it is kept, for setting up only."""
    shop = Workshop().to_released()
    product = replace(shop.facts.product, name="Plain cream")
    nuts = {shop.number: {"allergen": "nut"}}
    open_job(shop.desk, replace(shop.facts, number="0500", product=product), shop.press)
    shop.tell_site(
        ProductTraits(
            product=shop.facts.product.name, allergen="nut", colour="light", scent="none",
            base="water",
        )
    )  # fmt: skip
    keep_thing(shop.desk, shop.facts.machine, shop.press)

    first = day.look(shop.desk, day.DayWishes(typed=nuts)).machines[0].order[0]
    assert (first.gap_min, first.clean) == (70, "full strip (after Hand cream, not cleaned since)")
    apart = day.DayWishes(typed={}, forbidden=(("nut", "none"),))
    with pytest.raises(BadInput, match="forbid"):
        day.look(shop.desk, apart)

    cleaning.keep_clean(shop.desk, clean(), shop.press)
    first = day.look(shop.desk, day.DayWishes(typed={})).machines[0].order[0]
    assert (first.gap_min, first.clean) == (10, "set up (after Hand cream: full strip on record)")
    assert day.look(shop.desk, apart).machines[0].order[0].gap_min == 10


def test_words_of_a_product_are_kept_for_the_next_day():
    """Typed once, they stand there again; the same words are not kept twice."""
    shop = Workshop()
    wishes = day.DayWishes(typed={shop.number: {"allergen": "milk"}})
    day.keep_traits(shop.desk, wishes, shop.press)
    day.keep_traits(shop.desk, wishes, shop.press)

    [row] = day.look(shop.desk, day.DayWishes(typed={})).rows
    assert row.words["allergen"] == "milk"
    site = shop.desk.journal.entries("site")
    assert len([e for e in site if isinstance(e.payload, ProductTraits)]) == 1


def test_a_time_that_is_none_is_refused():
    """Words where minutes belong name the job."""
    shop = Workshop()
    with pytest.raises(BadInput, match=f"Job {shop.number}"):
        day.look(shop.desk, day.DayWishes(typed={shop.number: {"minutes": "soon"}}))


def test_the_headline_of_the_shelf_names_the_machine():
    """Two machines with the same place: each is named with what is due on it."""
    shop = Workshop()
    assert shelf.look(shop.desk, shelf.ShelfWishes()).headline == "No seal was looked at yet."
    for machine in ("East filler", "West filler"):
        for cycles in (9000, 10_000, 11_000, 10_500):
            shop.tell_site(replace(ROTOR, machine=machine, life_cycles=cycles))
        kept = replace(ROTOR, machine=machine, action="kept", reason="", state="good")
        shop.tell_site(replace(kept, life_cycles=5000 if machine == "East filler" else 1))

    def headline(cycles):
        return shelf.look(shop.desk, shelf.ShelfWishes(next_strip_cycles=cycles)).headline

    assert headline(1) == "No seal is due: East filler, West filler."
    assert headline(4000) == "Change at the next strip: East filler, valve rotor."
    assert headline(9000) == (
        "Change at the next strip: East filler, valve rotor; West filler, valve rotor."
    )
