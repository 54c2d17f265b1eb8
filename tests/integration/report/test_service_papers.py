"""The papers of service: a strip as it was ticked, and the shelf, whatever the names."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pypdf
import pytest
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.strip.acts import Evidence, begin, see_seal, tick
from fillwright.jobs.strip.guide import guide_of
from fillwright.jobs.strip.papers import shelf_list, strip_record
from fillwright.jobs.strip.shelf import ShelfWishes, shelve
from fillwright.knowledge.procedures_load import shipped_profiles
from fillwright.records.entries import SealSeen, SealsShelved
from fillwright.records.sheets import Paper
from fillwright.report.pdf import print_sheet

PROFILE = next(iter(shipped_profiles()))
FULL = Evidence(
    reading="0", photo="tablet, 1", air_is_off=True, ports=("pull", "none", "none", "push")
)
NAME = "Donaudampfschifffahrtsgesellschaftskapitänscreme"


def text_of(file):
    """Return the pages of a paper and all their text in one line."""
    pages = pypdf.PdfReader(io.BytesIO(file)).pages
    text = re.sub(r"\s+", " ", "".join(page.extract_text() for page in pages))
    return pages, text.replace("\u200b", "")


def looked(shop, position, **seen):
    """Say how a seal looks."""
    usual = {"state": "good", "action": "kept", "reason": ""} | seen
    fact = SealSeen(
        job="", machine="", product="", position=position, material="", size="", **usual
    )
    see_seal(shop.desk, shop.number, fact, shop.press)


@pytest.fixture(scope="module")
def shop():
    """A guided strip that has come to the seals, one of which was replaced."""
    shop = Workshop().to_released()
    begin(shop.desk, shop.number, PROFILE, shop.press)
    while (
        step := guide_of(shop.desk, shop.state, person="AB").open_steps[0]
    ).id != "inspect_seals":
        tick(shop.desk, shop.number, step.id, FULL, shop.press)
    for place, row in enumerate(guide_of(shop.desk, shop.state, person="AB").seals):
        worn = {"state": "worn", "action": "replaced", "reason": "due"} if not place else {}
        looked(shop, row.place.position, **worn)
    return shop


def test_without_a_strip_there_is_no_record():
    """The page says where to begin."""
    none = Workshop().to_released()

    with pytest.raises(BadInput, match="Begin on the page Strip"):
        strip_record(none.desk, none.number)


@pytest.mark.parametrize("paper", Paper)
def test_the_record_of_a_strip_holds_steps_seals_and_what_is_open(shop, paper):
    """Who did what and when, with the evidence; what is not done says so; the same bytes again."""
    sheet = strip_record(shop.desk, shop.number)
    file = print_sheet(sheet, paper=paper)
    _, text = text_of(file)

    assert sheet.is_sound is None
    assert {line.person for line in sheet.steps if line.at} == {"AB"}
    assert any(line.at is None for line in sheet.steps)
    for words in (
        "Strip and rebuild, East filler",
        "After job 0417, Hand cream",
        "Not finished yet",
        "air looked at: off and vented",
        "photo: tablet, 1",
        "not done",
        "replaced: it was due",
        "never a finger in a port",
    ):
        assert words in text
    assert print_sheet(sheet, paper=paper) == file


def test_long_and_foreign_names_are_whole(shop):
    """A long name breaks, a right-to-left one prints, a letter that is lacking is named."""
    sheet = strip_record(shop.desk, shop.number)
    long = replace(sheet, product=f"{NAME} קרם ידיים 手", steps=sheet.steps * 4)
    pages, text = text_of(print_sheet(long))

    assert len(pages) > 3
    assert NAME in text.replace(" ", "")
    assert "[U+624B]" in text
    assert "The letters of this paper lack" in text


def test_a_missing_piece_stands_at_the_top():
    """What is held, and that the strip is not sound."""
    torn = Workshop().to_released()
    begin(torn.desk, torn.number, PROFILE, torn.press)
    while (
        step := guide_of(torn.desk, torn.state, person="AB").open_steps[0]
    ).id != "inspect_seals":
        tick(torn.desk, torn.number, step.id, FULL, torn.press)
    position = guide_of(torn.desk, torn.state, person="AB").seals[0].place.position
    looked(torn, position, state="piece-missing", action="replaced", reason="failed")
    sheet = strip_record(torn.desk, torn.number)
    _, text = text_of(print_sheet(sheet))

    assert sheet.is_sound is False
    assert f"held: torn or missing: {position}." in text
    assert "a piece is missing" in text


@pytest.mark.parametrize("paper", Paper)
def test_the_shelf_list_holds_lots_and_advice(shop, paper):
    """First out of date first; past its date is marked; long lists go over pages."""
    for lot, cured in (("S-2", "2031-01-31"), ("S-1", "2001-03-31"), (NAME[:40], "2031-02-28")):
        shelve(
            shop.desk,
            SealsShelved(seal_lot=lot, material="FKM", size="30 × 3", pieces=7, cured_on=cured),
            shop.press,
        )
    sheet = shelf_list(shop.desk, ShelfWishes(next_job_cycles=420))
    pages, text = text_of(print_sheet(replace(sheet, spares=sheet.spares * 20), paper=paper))

    assert sheet.lots[0].seal_lot == "S-1"
    assert len(pages) > 1
    for words in ("Shelf list", "do not fit!", "none on file", "420 cycles", "seal maker"):
        assert words in text


def test_an_empty_shelf_says_so():
    """Nothing on the list and nothing looked at: two sentences, no empty tables."""
    bare = Workshop().to_released()
    _, text = text_of(print_sheet(shelf_list(bare.desk, ShelfWishes())))

    assert "Nothing is on the shelf list yet." in text
    assert "No seal has been looked at in a strip yet." in text
