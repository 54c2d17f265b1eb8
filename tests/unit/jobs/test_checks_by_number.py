"""The checks by number, as the job card carries them."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from types import MappingProxyType

import pytest
from workshop import Workshop, job

from fillwright.jobs.fault.by_number import check_places, first_looks
from fillwright.jobs.papers import job_card
from fillwright.knowledge.faults_load import fault_book

SHIPPED = (files("fillwright.knowledge") / "data" / "service" / "faults.toml").read_text("utf-8")


def rows_of(book):
    """All checks by their number."""
    return {row.number: row for place in check_places(book) for row in place.checks}


def with_check(key, **changes):
    """The shipped data with one check changed, or one more under another key."""
    book = fault_book()
    check = replace(book.checks.get(key, book.checks["bowl"]), key=key, **changes)
    needs = dict.fromkeys(check.needs, "Long words " * 30) | dict(book.needs)
    return replace(
        book,
        checks=MappingProxyType(dict(book.checks) | {key: check}),
        needs=MappingProxyType(needs),
    )


def test_every_check_is_there_once_by_its_number():
    """All shipped checks, each in one place, in the order of the numbers there."""
    book = fault_book()
    places = check_places(book)
    numbers = [row.number for place in places for row in place.checks]

    assert sorted(numbers) == sorted(check.number for check in book.checks.values())
    for place in places:
        assert [row.number for row in place.checks] == sorted(row.number for row in place.checks)
    assert "Checks of this site" not in [place.name for place in places]
    # The places follow the numbers, so that a number is found without reading.
    assert numbers == sorted(numbers)


@pytest.mark.parametrize(
    ("number", "marks", "first"),
    [
        (14, ("standing",), ()),
        (13, ("moving",), ()),
        (35, ("vented",), ()),
        (8, ("standing",), ("product surfaces covered",)),
        (25, ("vented", "moving"), ("hopper drained", "nozzle off")),
        (30, ("vented",), ("hopper drained", "two people")),
    ],
)
def test_a_check_says_what_comes_first(number, marks, first):
    """Each has the mark of the state that it wants, and what else has to be done."""
    row = rows_of(fault_book())[number]

    assert (row.marks, row.first) == (marks, first)


def test_no_check_with_hands_inside_lacks_its_mark():
    """Whatever wants the air off says so, and no check is without a mark."""
    book = fault_book()
    rows = rows_of(book)

    assert all(row.marks for row in rows.values())
    for check in book.checks.values():
        if "Isolate and vent" in check.caution or "air_vented" in check.needs:
            assert "vented" in rows[check.number].marks


def test_a_check_of_the_site_stands_last_and_is_kept_short():
    """Its own words and preconditions are cut at a word, with dots."""
    long = "Is the third lamp of the second row lit while the belt stands still " * 5
    book = with_check("third_lamp", number=77, ask=long, needs=("belt_locked", "qualified"))
    place = check_places(book)[-1]
    [row] = place.checks

    assert (place.name, row.number, row.marks) == ("Checks of this site", 77, ("standing",))
    assert len(row.words) <= 140
    assert row.words.endswith(" …")
    assert row.first[0].startswith("Long words")
    assert len(row.first[0]) <= 60
    assert row.first[1] == "qualified technician only"


def test_one_long_word_is_cut_too():
    """Words without a blank are cut where the room ends."""
    [row] = check_places(with_check("x", number=78, ask="W" * 300))[-1].checks

    assert row.words == "W" * 138 + " …"


def test_the_first_looks_bear_the_numbers_of_the_data():
    """The front of the card names checks by the numbers that the site's data give them."""
    assert [line.numbers for line in first_looks(fault_book())] == [(1, 2, 3), (14, 15), (21, 39)]

    renumbered = with_check("wheel_lock", number=114)
    assert first_looks(renumbered)[1].numbers == (15, 114)

    bare = replace(fault_book(), checks=MappingProxyType({}))
    assert [line.numbers for line in first_looks(bare)] == [(), (), ()]
    assert check_places(bare) == ()


def test_the_card_takes_the_data_of_the_site(tmp_path):
    """A site's own file gives the words of the back."""
    shop = Workshop(job()).to_run()
    own = tmp_path / "faults.toml"
    text = SHIPPED.replace("Is the wheel lock tight?", "Is the blue clamp tight?", 1)
    own.write_text(text, encoding="utf-8")
    desk = replace(shop.desk, faults_at=own)
    assert desk.faults.file == "faults.toml"

    words = [row.words for place in job_card(desk, shop.state).places for row in place.checks]

    assert "Is the blue clamp tight?" in words
    assert len(words) == len(fault_book().checks)
