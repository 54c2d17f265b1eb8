"""Trace there and back is the identity, and the nearest code is the nearest."""

from __future__ import annotations

from datetime import UTC, datetime

from hypothesis import given
from hypothesis import strategies as st

from fillwright.records.kinds_lots import LotTaken
from fillwright.records.lotbook import LotBook, Use
from fillwright.records.nearest import edit_distance, nearest, plain_code

AT = datetime(2031, 3, 5, 8, 0, tzinfo=UTC)
CODES = st.sampled_from(["", "K-1", "K-2", "k 2", "K-3", "D-1"])
WHATS = st.sampled_from(["container", "lid", "drum"])
USES = st.lists(
    st.tuples(WHATS, CODES, st.integers(0, 40), st.sampled_from(["", "B-1", "B-2"])), max_size=10
)
TEXTS = st.text("ABC-123 ", max_size=8)


def book_of(uses):
    """A book with these cartons and drums, in this order of entry."""
    book = LotBook()
    for what, code, after, batch in uses:
        fact = LotTaken(what=what, code=code, after_container=after, batch=batch)
        book.uses.append(Use(AT, "AB", fact))
    return book


def numbers(spans):
    """The containers of spans, one by one."""
    return {n for span in spans for n in range(span.first, span.last + 1)}


@given(uses=USES, filled=st.integers(0, 50), what=WHATS)
def test_there_and_back_is_the_identity(uses, filled, what):
    """A jar is among those of a code exactly where its own code is that one."""
    book = book_of(uses)
    there = {
        n: "" if (use := book.at(what, n)) is None else plain_code(use.fact.code)
        for n in range(1, filled + 1)
    }
    codes = {plain_code(code) for _, code, _, _ in uses if code}

    back = {code: numbers(book.from_code(what, code, filled)) for code in codes}

    for code in codes:
        assert back[code] == {n for n, own in there.items() if own == code}
    holes = numbers(u.span for u in book.under(what, filled) if u.use is None)
    assert holes == {n for n, own in there.items() if not own}


@given(uses=USES, filled=st.integers(0, 50), what=WHATS)
def test_every_jar_is_under_one_carton_or_one_hole(uses, filled, what):
    """The spans lie end to end from the first to the last, and hold each once."""
    spans = [under.span for under in book_of(uses).under(what, filled)]

    assert [n for s in spans for n in range(s.first, s.last + 1)] == list(range(1, filled + 1))


@given(one=TEXTS, two=TEXTS, three=TEXTS)
def test_the_distance_of_codes_is_one(one, two, three):
    """Nothing between a text and itself, the same both ways, and never shorter by a detour."""
    assert (edit_distance(one, two) == 0) == (one == two)
    assert edit_distance(one, two) == edit_distance(two, one)
    assert edit_distance(one, three) <= edit_distance(one, two) + edit_distance(two, three)
    assert edit_distance(one, two) >= abs(len(one) - len(two))


@given(known=st.lists(TEXTS.filter(str.strip), min_size=1, max_size=8), which=st.integers(0, 99))
def test_a_code_on_record_is_its_own_nearest(known, which):
    """Typed right, it stands first."""
    code = known[which % len(known)]

    assert plain_code(nearest(code, known)[0]) == plain_code(code)
