"""The back of the job card: every check by its number on one page, whatever the words."""

from __future__ import annotations

import io
import re

import pypdf
import pytest

from fillwright.jobs.fault.by_number import check_places
from fillwright.knowledge.faults_load import fault_book
from fillwright.language import Way
from fillwright.records.sheets import Paper
from fillwright.records.sheets_checks import CheckPlace, CheckRow
from fillwright.report.pdf import print_sheet

LEAST_PT = 8


def pages_of(file):
    """The text of each page, in one line."""
    return [
        re.sub(r"\s+", " ", page.extract_text().replace("\u200b", ""))
        for page in pypdf.PdfReader(io.BytesIO(file)).pages
    ]


def letters_of(file, page):
    """Each piece of text of a page with its size and its place from the left and the bottom."""
    found = []

    def keep(text, of_page, of_text, _font, size):
        if text.strip():
            scale = abs(of_text[3] * of_page[3])
            left = of_text[4] * of_page[0] + of_page[4]
            high = of_text[5] * of_page[3] + of_page[5]
            found.append((text.strip(), size * scale, left, high))

    reader = pypdf.PdfReader(io.BytesIO(file))
    reader.pages[page].extract_text(visitor_text=keep)
    return found, reader.pages[page].mediabox


def many(count, words):
    """So many checks of a site, all alike but for their numbers."""
    rows = (CheckRow(number=100 + i, words=words, marks=("standing",)) for i in range(count))
    return CheckPlace(name="Checks of this site", checks=tuple(rows))


@pytest.mark.parametrize("paper", list(Paper))
@pytest.mark.parametrize("language", ["en", "de", "x-wrapped", "x-leftward"])
def test_one_sheet_in_every_language(card, paper, language):
    """Two pages, all numbers on the second, no letters under 8 points and none off the page."""
    places = check_places(fault_book())
    file = print_sheet(card(places=places), paper=paper, way=Way(language=language))
    _, back = pages_of(file)
    letters, box = letters_of(file, 1)

    numbers = {word for text, *_ in letters for word in re.findall(r"\d+", text)}
    assert {str(row.number) for place in places for row in place.checks} <= numbers
    assert min(size for _, size, *_ in letters) >= LEAST_PT - 0.01
    assert all(0 < left < float(box.width) for _, _, left, _ in letters)
    assert all(25 < high < float(box.height) for *_, high in letters)
    assert "…" not in back


@pytest.mark.parametrize("paper", list(Paper))
def test_the_back_says_what_the_data_say(card, paper):
    """Each check once with its words, cautions at the head, the hand-over rule at the foot."""
    places = check_places(fault_book())
    file = print_sheet(card(places=places), paper=paper)
    front, back = pages_of(file)

    for place in places:
        assert back.count(place.name) >= 1
        for row in place.checks:
            assert back.count(row.words) == 1, row
    for words in (
        "Invented data, not a real lot",
        "Hot product, 72 °C: gloves and sleeve.",
        "Fingers never into a port",
        "Air off and vented, gauge reads 0, before you begin.",
        "hopper drained, nozzle off",
        "three repairs without a cure",
    ):
        assert words in back
    assert "Weights by hand" in front
    assert "Check 14: Dose creeps" in front
    sizes = [size for text, size, *_ in letters_of(file, 1)[0] if "wheel lock" in text]
    assert min(sizes) >= 8.5


def test_the_back_comes_out_the_same_each_time(card):
    """The same sheet gives the same bytes, and another back gives others."""
    places = check_places(fault_book())

    assert print_sheet(card(places=places)) == print_sheet(card(places=places))
    assert print_sheet(card(places=places)) != print_sheet(card(places=places[:-1]))


@pytest.mark.parametrize("paper", list(Paper))
def test_long_checks_of_a_site_still_fit(card, paper):
    """Twelve checks more, each of 140 letters: smaller, or named as not being here."""
    long = "Is the third lamp of the second row lit while the belt stands still, and do both "
    long += "counters show what they showed when the run was begun? Yes."
    places = (*check_places(fault_book()), many(12, long))
    _, back = pages_of(print_sheet(card(places=places), paper=paper))

    for number in range(100, 112):
        assert len(re.findall(rf"\b{number}\b", back)) == 1


@pytest.mark.parametrize("paper", list(Paper))
def test_what_has_no_room_is_named(card, paper):
    """Ninety checks of a site: as many as fit, the rest by number; still one sheet."""
    places = (*check_places(fault_book()), many(60, "Is the lamp of this row lit? " * 3))
    file = print_sheet(card(places=places), paper=paper)
    _, back = pages_of(file)

    assert "For want of room not here, but on the Fault pages: checks" in back
    for number in range(100, 160):
        assert len(re.findall(rf"\b{number}\b", back)) == 1


def test_few_checks_and_none(card):
    """One check makes a back; without any there is none."""
    assert len(pages_of(print_sheet(card(places=(many(1, "Is the lamp lit?"),))))) == 2
    assert len(pages_of(print_sheet(card()))) == 1
