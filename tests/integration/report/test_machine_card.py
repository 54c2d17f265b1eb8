"""The card of a machine: the latest setting of each product, whatever its name."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pypdf
import pytest
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.machines.card import machine_card
from fillwright.records.sheets import Paper
from fillwright.report import pdf


@pytest.fixture
def shop():
    """A released job on a machine that is kept."""
    shop = Workshop().to_released()
    keep_thing(shop.desk, shop.facts.machine, shop.press)
    return shop


def text_of(data):
    """Return the pages of a paper and all their text in one line."""
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    return pages, re.sub(r"\s+", " ", "".join(page.extract_text() for page in pages))


@pytest.mark.parametrize("paper", Paper)
def test_the_card_says_what_worked(shop, paper):
    """Setting, aim and what was proved, with the job that it is from; the same bytes again."""
    sheet = machine_card(shop.desk, "East filler")
    data = pdf.print_sheet(sheet, paper=paper)
    _, text = text_of(data)

    [line] = sheet.lines
    assert line.setting_marks == shop.state.trim.setting_marks
    for words in ("Machine card, East filler", "Hand cream", "0417", "±1 %", "a starting point"):
        assert words in text
    assert pdf.print_sheet(sheet, paper=paper) == data


def test_a_long_list_goes_over_pages(shop):
    """Long names and many products: nothing is cut."""
    sheet = machine_card(shop.desk, "East filler")
    name = "Donaudampfschifffahrtsgesellschaftskapitänscreme"
    many = tuple(replace(sheet.lines[0], product=f"{name} {i}") for i in range(60))
    pages, text = text_of(pdf.print_sheet(replace(sheet, lines=many)))

    assert len(pages) > 2
    assert text.replace("\u200b", "").replace(" ", "").count(name) == 60


def test_a_setting_that_was_given_up_is_on_no_card(shop):
    """Only what worked is handed on."""
    shop.state.trim = replace(shop.state.trim, verdict="gave-up")

    with pytest.raises(BadInput, match="Nothing has been trimmed in on East filler yet"):
        machine_card(shop.desk, "East filler")


def test_an_unknown_machine_is_refused(shop):
    """One sentence."""
    with pytest.raises(BadInput, match="There is no machine 'West filler'"):
        machine_card(shop.desk, "West filler")
