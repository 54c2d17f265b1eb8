"""Cleaning: which of the three cleans is wanted, what may be kept, and what the record says."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs import papers
from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.day import cleaning
from fillwright.jobs.opening import open_job
from fillwright.records.entries import CleanDone, ProductTraits

CLEAN = CleanDone(
    machine="East filler", after_job="", after_product="", before_job="",
    clean="full-strip", wanted="", agent="alkaline cleaner", agent_batch="C-7",
    residue="swab-good", discarded_l=Decimal("2.5"),
)  # fmt: skip


def filled(*, allergen="none"):
    """A shop that has filled a product, with the next job open."""
    shop = Workshop().to_released()
    keep_thing(shop.desk, shop.facts.machine, shop.press)
    traits = ProductTraits(
        product="Hand cream", allergen=allergen, colour="light", scent="none", base="water"
    )
    shop.tell_site(traits)
    product = replace(shop.facts.product, name="Plain cream")
    open_job(shop.desk, replace(shop.facts, number="0500", product=product), shop.press)
    return shop


def test_a_machine_that_has_filled_nothing_needs_no_clean():
    """It says so; a clean may be kept all the same."""
    shop = Workshop()
    keep_thing(shop.desk, shop.facts.machine, shop.press)
    seen = cleaning.look(shop.desk, "East filler")

    assert (seen.wanted, seen.bears) == ("", "")
    assert cleaning.keep_clean(shop.desk, CLEAN, shop.press).wanted == ""


@pytest.mark.parametrize(
    ("allergen", "wanted"), [("none", "flush-through"), ("nut", "full-strip")]
)
def test_the_next_job_decides_which_clean_is_wanted(allergen, wanted):
    """The same kind again is flushed through, after an allergen it is stripped."""
    shop = filled(allergen=allergen)
    seen = cleaning.look(shop.desk, "East filler")

    assert (seen.bears, seen.next_job, seen.wanted) == ("Hand cream", "0500", wanted)
    assert not seen.is_done
    cleaning.keep_clean(shop.desk, replace(CLEAN, clean=wanted), shop.press)
    assert cleaning.look(shop.desk, "East filler").is_done


def test_what_was_kept_says_of_what_and_for_what():
    """After which job, for which, with cleaner, batch, residue and litres."""
    shop = filled(allergen="nut")
    kept = cleaning.keep_clean(shop.desk, replace(CLEAN, reading="below 5 ppm"), shop.press)

    assert (kept.after_job, kept.before_job, kept.wanted) == ("0417", "0500", "full-strip")
    [row] = cleaning.look(shop.desk, "East filler").rows
    assert row.state == "on"
    assert row.words == (
        "Full strip after Hand cream, job 0417; cleaner alkaline cleaner, batch C-7; swab, good "
        "(below 5 ppm); 2.5 L discarded."
    )


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"clean": "a wipe"}, "none of flush-through"),
        ({"residue": "tasted"}, "none of rinse-clear"),
        ({"next_due_on": "soon"}, "is no date"),
        ({"agent": ""}, "Type the cleaner"),
        ({"clean": "flush-through"}, "A full strip is wanted here"),
        ({"residue": "rinse-clear"}, "Nut was in the machine: test"),
        ({"residue": "swab-bad", "because": "late"}, "clean again"),
        ({"machine": "North"}, "There is no machine"),
        ({"before_job": "9999"}, "is not on East filler"),
    ],
)
def test_a_clean_that_leaves_something_out_is_refused(changes, said):
    """One sentence, and nothing is kept."""
    shop = filled(allergen="nut")
    with pytest.raises(BadInput, match=said):
        cleaning.keep_clean(shop.desk, replace(CLEAN, **changes), shop.press)

    assert shop.desk.book.site().cleans == []


def test_less_with_a_reason_is_kept_as_a_warning():
    """It is on record with why; the machine does not count as clean for the next job."""
    shop = filled(allergen="nut")
    less = replace(CLEAN, clean="wet-end-clean", because="same nut follows")
    cleaning.keep_clean(shop.desk, less, shop.press)
    seen = cleaning.look(shop.desk, "East filler")

    assert (seen.rows[0].state, seen.is_done) == ("warn", False)
    assert "same nut follows." in seen.rows[0].words


def test_a_date_that_has_passed_is_said():
    """Due by date though nothing was filled."""
    shop = filled()
    cleaning.keep_clean(shop.desk, replace(CLEAN, next_due_on="2001-01-31"), shop.press)
    seen = cleaning.look(shop.desk, "East filler")

    assert (seen.due_words, seen.is_overdue) == ("Due again on 2001-01-31.", True)


def test_the_batch_record_says_how_the_machine_was_cleaned_before():
    """The last clean before the first shot; a later one is not of this batch."""
    shop = Workshop().to_released()
    for days, agent in ((-1, "alkaline cleaner"), (2, "acid cleaner")):
        shop.clock.go(days * 86400)
        shop.tell_site(replace(CLEAN, agent=agent))

    notes = papers.batch_record(shop.desk, shop.state).notes
    [said] = [note for note in notes if note.startswith("Cleaned before")]
    assert said == (
        "Cleaned before, 2031-03-04 by AB: Full strip; cleaner alkaline cleaner, batch C-7; swab, "
        "good; 2.5 L discarded."
    )
