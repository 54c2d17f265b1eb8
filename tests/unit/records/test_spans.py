"""Spans of container numbers against plain sets."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fillwright.errors import BadInput
from fillwright.records.spans import Span, count, join, minus, typed, words

SPANS = st.lists(
    st.tuples(st.integers(1, 40), st.integers(0, 9)).map(lambda t: Span(t[0], sum(t))), max_size=8
)


def numbers(spans):
    """Return the containers of spans as a set."""
    return {n for span in spans for n in range(span.first, span.last + 1)}


@given(spans=SPANS, taken=SPANS)
def test_spans_are_sets(spans, taken):
    """Joined, taken away and counted, spans hold what the sets of their numbers hold."""
    assert numbers(join(spans)) == numbers(spans)
    assert numbers(minus(spans, taken)) == numbers(spans) - numbers(taken)
    assert count(spans) == len(numbers(spans))


@given(spans=SPANS)
def test_joined_spans_are_in_order_and_apart(spans):
    """Between two joined spans lies at least one number; joining again changes nothing."""
    joined = join(spans)

    assert all(a.last + 1 < b.first for a, b in itertools.pairwise(joined))
    assert join(joined) == joined


@pytest.mark.parametrize(
    ("spans", "said"),
    [
        ([], "none"),
        ([Span(7, 7)], "7"),
        ([Span(61, 70)], "61 to 70"),
        ([Span(61, 70), Span(75, 75)], "61 to 70 and 75"),
        ([Span(75, 75), Span(1, 2), Span(61, 70)], "1 to 2, 61 to 70 and 75"),
        ([Span(1, 5), Span(6, 9)], "1 to 9"),
    ],
)
def test_spans_are_said_as_people_say_them(spans, said):
    """Single numbers, ranges, an "and" before the last; touching ones are one."""
    assert words(spans) == said


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("40", {40}),
        (" 40-42 ", {40, 41, 42}),
        ("12, 14-16 3", {3, 12, 14, 15, 16}),
        ("12 \u2013 14; 20 and 40 to 41", {12, 13, 14, 20, 40, 41}),
        ("3 -5 9", {3, 4, 5, 9}),
        ("0", {0}),
    ],
)
def test_numbers_are_read_as_people_type_them(text, read):
    """Single ones and rows, parted by commas, semicolons, "and" or blanks."""
    assert numbers(typed(text, field="numbers", word="jar")) == read


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "'' names no jars. Type 40, 40-60, or 40-60, 72."),
        ("40,", "'' names no jars"),
        ("the third", "'the third' names no jars"),
        ("4x", "'4x' names no jars"),
        ("-3", "'-3' names no jars"),
        ("12345678", "'12345678' names no jars"),
        ("1.5", "'1.5' names no jars"),
        ("\u0663", "'\u0663' names no jars"),
        ("60-40", "60 to 40 runs backwards. Type the smaller number first."),
        (",".join("5" * 51), "'5' names no jars"),
    ],
)
def test_what_names_no_numbers_is_refused(text, told):
    """In one sentence, with the field that it was typed in."""
    with pytest.raises(BadInput, match="^" + re.escape(told)) as refused:
        typed(text, field="kept_numbers", word="jar")

    assert refused.value.field == "kept_numbers"


@given(spans=SPANS.filter(bool))
def test_what_is_said_in_words_can_be_typed(spans):
    """The words of spans are read back as the same spans."""
    assert typed(words(spans), field="numbers", word="jar") == join(spans)
