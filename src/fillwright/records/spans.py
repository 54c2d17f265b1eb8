"""Spans of container numbers: joined, taken away, counted, read as people type them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from fillwright.errors import BadInput

__all__ = ["Span", "count", "join", "minus", "overlap", "typed", "words"]

_ONE: Final = r"[0-9]{1,7}(?:\s*(?:-|\u2013|to)\s*[0-9]{1,7})?"
_PART: Final = re.compile(rf"{_ONE}(?:\s+{_ONE})*")
_EACH: Final = re.compile(r"([0-9]{1,7})(?:\s*(?:-|\u2013|to)\s*([0-9]{1,7}))?")
_LISTED: Final = re.compile(r"[,;]|\band\b")
_MOST_TYPED: Final = 50


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


def typed(text: str, *, field: str, word: str) -> tuple[Span, ...]:
    """Return the spans that a person typed, in order, joined.

    Parameters
    ----------
    text : str
        ``"40"``, ``"40-60, 72"``, ``"12, 14 to 16 and 30"``; blanks alone part numbers too.
    field : str
        Where it was typed, for the refusal.
    word : str
        What is numbered, for the refusal: ``"jar"``.

    Returns
    -------
    tuple of Span
        At least one; whether there are such containers is for the caller to say.

    Raises
    ------
    BadInput
        If a part names no numbers, one runs backwards, or there are more than 50 parts.
    """
    spans: list[Span] = []
    for part in (part.strip() for part in _LISTED.split(text)):
        if not _PART.fullmatch(part) or len(spans) >= _MOST_TYPED:
            message = f"{part[:20]!r} names no {word}s. Type 40, 40-60, or 40-60, 72."
            raise BadInput(message, field=field, given=text[:40], code="type")
        for match in _EACH.finditer(part):
            first, last = int(match[1]), int(match[2] or match[1])
            if first > last:
                message = f"{first} to {last} runs backwards. Type the smaller number first."
                raise BadInput(message, field=field, given=part[:20], code="range")
            spans.append(Span(first, last))
    return join(spans)


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
