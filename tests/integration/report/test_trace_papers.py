"""The recall sheet and the paper of a complaint, whatever the codes are."""

from __future__ import annotations

import io
import re

import pypdf
import pytest
from workshop import Workshop

from fillwright.jobs.release.keep_sample import keep_sample
from fillwright.jobs.run import changes
from fillwright.jobs.trace.both_ways import trace
from fillwright.jobs.trace.complaint import Told, complaint
from fillwright.records.sheets import Paper
from fillwright.report.pdf import print_sheet

CODE = 'K-"1" <b>\u2013{}'


def text_of(file):
    """Return all text of a paper in one line."""
    pages = pypdf.PdfReader(io.BytesIO(file)).pages
    text = re.sub(r"\s+", " ", "".join(page.extract_text() for page in pages))
    return text.replace("\u200b", "")


@pytest.fixture(scope="module")
def shop():
    """A released lot out of a carton with an odd code, two of it kept."""
    shop = Workshop()
    changes.tell_lots(shop.desk, shop.number, {"container": CODE}, shop.press)
    shop.to_judged()
    keep_sample(shop.desk, shop.number, "3, 9", "shelf 4", "2032-03-05", shop.press)
    shop.sign()
    return shop


@pytest.mark.parametrize("paper", list(Paper))
def test_the_recall_sheet_has_all_jars_and_the_holes(shop, paper):
    """Which, how many, what became of them, and where a trace ends."""
    text = text_of(print_sheet(trace(shop.desk, CODE), paper=paper))

    for words in ("Recall sheet", "1 lot concerned", "2 kept: 3 and 9", "no drum on record"):
        assert words in text
    assert 'K-"1" <b>' in text


def test_the_complaint_has_both_sides_and_a_letter(shop):
    """What can be said, what not, and the letter to adapt."""
    told = Told(code=shop.facts.lot_code, container=25)
    text = text_of(print_sheet(complaint(shop.desk, told)))

    for words in ("The record can say", "The record cannot say", "Dear customer,", "jar 25"):
        assert words in text


def test_the_same_trace_gives_the_same_bytes(shop):
    """The paper depends on the sheet alone."""
    sheet = trace(shop.desk, CODE)

    assert print_sheet(sheet) == print_sheet(sheet)
