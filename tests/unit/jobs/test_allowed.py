"""Who may turn, settle and release, by name; and practice, which touches nothing real."""

from __future__ import annotations

import pytest
from workshop import AB, CD, Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press, keep_on_site
from fillwright.jobs.people import allowed
from fillwright.jobs.people.allowing import allow as allow_list
from fillwright.jobs.release import stage as release
from fillwright.jobs.trim import stage as trim
from fillwright.records.book import is_practice, stream_of
from fillwright.records.entries import PersonAllowed, SealSeen

PRACTICE = "practice-1"


def allow(shop, initials, **rights):
    """Say what a person may do."""
    none = {"turns": False, "settles": False, "releases": False}
    shop.tell_site(PersonAllowed(initials=initials, **{**none, **rights}))


def staffed(shop):
    """Put two people on the list, once the shop is where it should be."""
    for person in (AB, CD):
        list_person(shop.desk, person, shop.press)
    return shop


@pytest.fixture
def shop():
    """A workshop with two people."""
    return staffed(Workshop())


def test_where_nothing_is_set_everybody_may(shop):
    """A bench without names locks nobody out; so does one whose last name was taken off."""
    site = shop.desk.book.site
    assert all(allowed.may(site(), "CD", right) for right in allowed.RIGHTS)

    allow(shop, "AB", turns=True)
    assert not allowed.may(site(), "CD", "turns")
    assert allowed.may(site(), "CD", "settles")
    allow(shop, "AB")
    assert allowed.may(site(), "CD", "turns")


def test_the_wheel_is_turned_by_those_who_are_named():
    """The refusal says who may; nothing is kept; the one who may turns on."""
    shop = staffed(Workshop().to_trim())
    start = shop.state.setting_marks
    allow(shop, "CD", turns=True)
    before = shop.state.revision

    told = r"AB may not turn the wheel at this bench: fetch CD \(C. Drum\)"
    with pytest.raises(BadInput, match=told):
        trim.moved(shop.desk, shop.number, start + 1, Press(person="AB"), is_locked=True)
    assert shop.state.revision == before
    trim.moved(shop.desk, shop.number, start + 1, Press(person="CD"), is_locked=True)
    assert shop.state.setting_marks == start + 1


def test_the_release_is_guarded_too():
    """Releasing asks for its own names."""
    shop = staffed(Workshop().to_judged())
    shop.sign()
    allow(shop, "CD", settles=True, releases=True)

    with pytest.raises(BadInput, match="AB may not release a lot"):
        release.release(shop.desk, shop.number, Press(person="AB"))
    release.release(shop.desk, shop.number, Press(person="CD"))
    assert shop.state.released is not None


def test_in_practice_nobody_is_kept_from_the_wheel():
    """Who may not turn in a real job learns it in practice."""
    shop = Workshop(job(PRACTICE))
    shop.to_trim()
    allow(shop, "CD", turns=True)
    start = shop.state.setting_marks
    trim.moved(shop.desk, PRACTICE, start + 1, Press(person="AB"), is_locked=True)

    assert shop.state.setting_marks == start + 1


@pytest.mark.parametrize(
    ("number", "is_one"),
    [("practice-1", True), ("practice-", False), ("0417", False), ("practice-1x", False)],
)
def test_the_number_is_the_mark(number, is_one):
    """The mark is the number itself, and its stream stands apart."""
    assert is_practice(number) is is_one
    assert stream_of(number).startswith("practice/" if is_one else "job/")


def test_practice_is_not_among_the_jobs_and_teaches_the_site_nothing():
    """No list of jobs has it; what its strokes and flushes teach is not kept for others."""
    shop = Workshop(job(PRACTICE))
    shop.to_released()
    seal = SealSeen(
        job=PRACTICE, machine="East filler", product="Hand cream", position="piston",
        material="PTFE", size="60", state="worn", action="replaced", reason="failed",
    )  # fmt: skip
    keep_on_site(shop.desk, [seal], shop.press)

    assert shop.desk.book.numbers() == ()
    assert shop.desk.book.practice_numbers() == (PRACTICE,)
    assert shop.state.released is not None
    site = shop.desk.book.site()
    assert (site.seals, site.primings, site.strokes) == ([], {}, {})


def test_the_list_is_changed_by_those_who_may_release(shop):
    """Anybody names the first ones; after that the list is theirs."""
    both = [
        PersonAllowed(initials="AB", turns=True, settles=False, releases=False),
        PersonAllowed(initials="CD", turns=True, settles=True, releases=True),
    ]
    assert allow_list(shop.desk, both, Press(person="AB")) == 2
    assert allow_list(shop.desk, both, Press(person="CD")) == 0

    with pytest.raises(BadInput, match="AB may not release a lot"):
        allow_list(shop.desk, both, Press(person="AB"))
    stranger = [PersonAllowed(initials="XY", turns=True, settles=False, releases=False)]
    with pytest.raises(BadInput, match="XY is not on the list"):
        allow_list(shop.desk, stranger, Press(person="CD"))
