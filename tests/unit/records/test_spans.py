"""Spans of container numbers against plain sets."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fillwright.records.spans import Span, count, join, minus, words

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
