"""Spans of container numbers: joined, taken away, counted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Span", "count", "join", "minus", "overlap", "words"]


@dataclass(frozen=True, slots=True)
class Span:
    """Containers `first` to `last`, both included."""

    first: int
    last: int


def join(spans: Iterable[Span]) -> tuple[Span, ...]:
    """Return the spans in order, with touching and overlapping ones made one."""
    joined: list[Span] = []
    for span in sorted(spans, key=_place):
        if joined and span.first <= joined[-1].last + 1:
            joined[-1] = Span(joined[-1].first, max(joined[-1].last, span.last))
        else:
            joined.append(span)
    return tuple(joined)


def minus(spans: Iterable[Span], taken: Iterable[Span]) -> tuple[Span, ...]:
    """Return what is left of `spans` when every container of `taken` is taken away."""
    left = list(join(spans))
    for cut in join(taken):
        kept: list[Span] = []
        for span in left:
            if span.first < cut.first:
                kept.append(Span(span.first, min(span.last, cut.first - 1)))
            if span.last > cut.last:
                kept.append(Span(max(span.first, cut.last + 1), span.last))
        left = kept
    return tuple(left)


def overlap(spans: Iterable[Span], others: Iterable[Span]) -> tuple[Span, ...]:
    """Return the containers that are in both."""
    mine = join(spans)
    return minus(mine, minus(mine, others))


def count(spans: Iterable[Span]) -> int:
    """Return how many containers the spans hold, none counted twice."""
    return sum(span.last - span.first + 1 for span in join(spans))


def words(spans: Iterable[Span]) -> str:
    """Return the spans as a person says them: ``"61 to 70 and 75"``."""
    parts = [
        str(span.first) if span.first == span.last else f"{span.first} to {span.last}"
        for span in join(spans)
    ]
    if not parts:
        return "none"
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]


def _place(span: Span) -> tuple[int, int]:
    """Return what spans are put in order by."""
    return span.first, span.last
