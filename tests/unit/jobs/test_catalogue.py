"""What the site keeps: people, things, settings."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import AB, CD, Workshop, job, site

from fillwright.errors import BadInput
from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.records.book import SITE
from fillwright.records.entities import Person


def kept(shop):
    """Return the number of entries of the site."""
    return shop.journal.revision(SITE)


@pytest.mark.parametrize("field", ["product", "container", "machine", "scale"])
def test_a_thing_is_kept_by_its_name(field):
    """Kept once; kept again unchanged adds nothing; changed it replaces itself."""
    shop = Workshop()
    thing = getattr(job(), field)
    keep_thing(shop.desk, thing, shop.press)
    keep_thing(shop.desk, thing, shop.press)
    assert kept(shop) == 1

    other = replace(thing, name=thing.name + " two")
    keep_thing(shop.desk, other, shop.press)
    shelf = getattr(shop.desk.book.site(), field + "s")

    assert shelf == {thing.name: thing, other.name: other}


def test_a_thing_without_a_name_is_refused():
    """It is found again by its name."""
    with pytest.raises(BadInput, match=r"Give it a name, as the bench calls it"):
        keep_thing((shop := Workshop()).desk, replace(job().scale, name=" "), shop.press)


def test_people_are_listed_once():
    """The same person again changes nothing."""
    shop = Workshop()
    for person in (AB, AB, CD):
        list_person(shop.desk, person, shop.press)

    assert shop.desk.book.site().people == {"AB": AB, "CD": CD}
    assert kept(shop) == 2


@pytest.mark.parametrize(
    ("initials", "name", "words"),
    [
        (" ", "x", r"one to 4 letters"),
        ("ABCDE", "x", r"one to 4 letters"),
        ("AB", "Another Bench", r"AB is A\. Bench already"),
    ],
)
def test_initials_belong_to_one_person(initials, name, words):
    """Missing, too long, or somebody else's."""
    shop = Workshop()
    list_person(shop.desk, AB, shop.press)

    with pytest.raises(BadInput, match=words) as caught:
        list_person(shop.desk, Person(initials=initials, name=name), shop.press)

    assert caught.value.field == "initials"


def test_settings_are_kept_when_they_change():
    """Each change is an entry; none is kept for nothing."""
    shop = Workshop()
    new = site(signatures=2, rules="UK-2006/659")
    change_settings(shop.desk, new, shop.press)
    change_settings(shop.desk, new, shop.press)

    assert shop.desk.book.site().settings == new
    assert kept(shop) == 1


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"rules": "house"}, r"There is no rule set 'house'"),
        ({"band_pct": Decimal(0)}, r"The band is 0 %"),
        ({"band_pct": Decimal("10.1")}, r"at most 10"),
    ],
)
def test_settings_that_cannot_be(changes, words):
    """A rule set that is not there; a band that is none."""
    shop = Workshop()

    with pytest.raises(BadInput, match=words):
        change_settings(shop.desk, site(**changes), shop.press)
    assert kept(shop) == 0
