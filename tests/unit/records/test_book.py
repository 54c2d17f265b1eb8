"""The book of states, the weight on its way in, and the fold of the site."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, replace
from decimal import Decimal

import pytest
from workshop import AB, CD, MemoryJournal, Workshop, differences, job, settled_watch, site

from fillwright.records.book import SITE, Book, stream_of
from fillwright.records.capture import Capture
from fillwright.records.entries import (
    ContainerKept,
    MachineKept,
    PersonListed,
    ProductKept,
    RunPaused,
    ScaleKept,
    SiteSettingsChanged,
    StepDone,
)
from fillwright.records.sitefold import fold_site


def test_a_job_that_is_not_there_is_none():
    """Asking for it makes nothing."""
    book = Book(MemoryJournal())

    assert book.job("0417") is None
    assert book.numbers() == ()


def test_jobs_are_listed_as_they_were_opened():
    """Numbers without the stream's prefix; the site is no job."""
    shop = Workshop(settings=site())
    other = Workshop(job("0300"))
    shop.journal.append(
        [replace_stream(entry, shop) for entry in other.journal.log if entry.stream != SITE]
    )

    assert shop.desk.book.numbers() == ("0417", "0300")
    assert stream_of("0300") == "job/0300"


def replace_stream(entry, shop):
    """Return an entry of another journal as a draft for this one."""
    [draft] = shop.drafts(entry.payload, stream=entry.stream)
    return draft


def test_a_state_is_brought_up_to_date_when_asked_for():
    """What another book appended is seen with the next question."""
    shop = Workshop()
    before = shop.state.revision
    shop.tell(StepDone(step="nozzle", outcome="done"))

    assert shop.desk.book.job("0417").revision == before + 1
    assert "nozzle" in shop.state.steps


def test_two_books_agree():
    """One that followed every entry and one that reads them at once hold the same."""
    shop = Workshop().to_run()
    for deviation in ("0.1", "-5", "0.2", "0.1"):
        shop.off(deviation)
    fresh = Book(shop.journal).job("0417")

    assert differences(settled_watch(fresh), settled_watch(shop.state)) == []


class TestCarryOn:
    """Entries that were just stored, taken without reading them back."""

    def test_the_next_ones_are_taken(self):
        """They follow on from the state."""
        shop = Workshop()
        state = shop.state
        stored = shop.tell(StepDone(step="nozzle", outcome="done"))

        assert shop.desk.book.carry_on(state, stored).revision == 2
        assert "nozzle" in state.steps

    def test_repeats_are_passed_over(self):
        """An entry that the state has already is not taken twice."""
        shop = Workshop()
        stored = shop.tell(RunPaused(reason="pause", after_container=3))
        state = shop.state

        assert shop.desk.book.carry_on(state, stored).revision == 2

    def test_a_gap_is_read_from_the_journal(self):
        """With somebody else's entry in between, the journal is read."""
        shop = Workshop()
        state = shop.state
        shop.tell(StepDone(step="nozzle", outcome="done"))
        stored = shop.tell(StepDone(step="air", outcome="done"))

        carried = shop.desk.book.carry_on(state, stored)

        assert carried.revision == 3
        assert set(carried.steps) == {"nozzle", "air"}


def test_the_site_keeps_the_latest_of_each():
    """People by initials, things by name, the settings as last set."""
    facts = job()
    shop = Workshop()
    heavier = replace(facts.container, tare_g=Decimal(41))
    for fact in (
        PersonListed(listed=AB),
        PersonListed(listed=CD),
        ProductKept(product=facts.product),
        ContainerKept(container=facts.container),
        ContainerKept(container=heavier),
        MachineKept(machine=facts.machine),
        ScaleKept(scale=facts.scale),
        SiteSettingsChanged(settings=site(signatures=2)),
        RunPaused(reason="pause", after_container=1),
    ):
        shop.tell_site(fact)
    state = shop.desk.book.site()

    assert (state.people, state.products) == ({"AB": AB, "CD": CD}, {"Hand cream": facts.product})
    assert state.containers == {"250 mL jar": heavier}
    assert (list(state.machines), list(state.scales)) == (["East filler"], ["Bench scale"])
    assert state.settings.signatures == 2
    assert differences(state, fold_site(shop.journal.entries(SITE))) == []


def test_a_weight_on_its_way_in_cannot_be_changed():
    """What the scale showed is passed on as it is, gross or net left to the job."""
    capture = Capture(weighing_id="w-1", value=Decimal("252.10"))

    assert (capture.unit, capture.basis, capture.source) == ("g", None, "typed")
    assert str(capture.value) == "252.10"
    with pytest.raises(FrozenInstanceError, match="value"):
        capture.value = Decimal(1)
