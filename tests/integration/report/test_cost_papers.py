"""The quote and the costs of a job on paper: what the pages say, and what it rests on."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from decimal import Decimal

import pypdf
import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.money import costs, quotes
from fillwright.jobs.money.papers import cost_sheet, quote_sheet
from fillwright.jobs.money.prices import keep_prices
from fillwright.records.entries import PricesKept
from fillwright.records.sheets import Paper
from fillwright.report.pdf import print_sheet


def text_of(file):
    """Return all text of a paper in one line."""
    pages = pypdf.PdfReader(io.BytesIO(file)).pages
    text = re.sub(r"\s+", " ", "".join(page.extract_text() for page in pages))
    return text.replace("\u200b", "")


def priced(shop):
    """Say what product, container and work cost."""
    keep_prices(
        shop.desk,
        shop.facts,
        PricesKept(money="EUR", work_cost_per_h=Decimal(36)),
        shop.press,
        product_cost_per_kg=Decimal(8),
        container_cost_each=Decimal("0.35"),
    )
    return shop


@pytest.fixture(scope="module")
def shop():
    """A finished run of invented data with prices."""
    return priced(Workshop(replace(job(), is_invented=True)).to_finished())


@pytest.mark.parametrize("paper", list(Paper))
def test_a_quote_has_every_lot_size_and_what_it_rests_on(shop, paper):
    """The figures of the page; what is invented says so, and what has no price."""
    sheet = quote_sheet(shop.desk, shop.number, (60, 120, 480))
    look = quotes.look(shop.desk, shop.number, (60, 120, 480))
    text = text_of(print_sheet(sheet, paper=paper))

    assert [line.each for line in sheet.lines] == [line.each for line in look.lines]
    for line in look.lines:
        assert f"{line.lot_size} jars" in text
        assert line.whole.replace("\u202f", " ") in text.replace("\u202f", " ")
    assert f"Job {shop.number};" in text
    assert "no range can be told" in text
    assert "An hour of work 36.00 EUR" in text
    assert "No price for a litre of cleaner" in text
    assert "Invented data" in text


def test_the_costs_of_a_job_are_those_of_its_page(shop):
    """The dearest first, what the buyer gets, what was not counted, the minutes behind it."""
    look = costs.look(shop.desk, shop.number)
    text = text_of(print_sheet(cost_sheet(shop.desk, shop.number)))

    assert look.headline in text
    assert look.lines[0].name[1:] in text
    for words in ("What the buyer gets", "Not counted", "Going out 120", "A kilogram of"):
        assert words in text


def test_what_the_pages_refuse_has_no_paper(shop):
    """No prices, no such job."""
    with pytest.raises(BadInput, match="There is no job"):
        cost_sheet(shop.desk, "9999")
    with pytest.raises(BadInput, match="one or more"):
        quote_sheet(shop.desk, shop.number, ())
    with pytest.raises(BadInput, match="Nothing has a price"):
        quote_sheet(Workshop().to_finished().desk, shop.number, (60,))
    with pytest.raises(BadInput, match="practice"):
        quote_sheet(shop.desk, "practice-1", (60,))
