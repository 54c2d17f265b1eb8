"""Keep a sample of a lot: which ones, where they stand, and until when."""

from __future__ import annotations

from datetime import date
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.held.fates import kept_spans
from fillwright.records.entries import SampleKept
from fillwright.records.fold import JobState
from fillwright.records.heldbook import GONE
from fillwright.records.spans import Span, count, join, minus, typed, words

__all__ = ["keep_sample", "numbers_of"]

_MOST: Final = 200


def keep_sample(
    desk: Desk, number: str, numbers: str, place: str, until: str, press: Press
) -> JobState:
    """Keep containers of a lot that is not closed yet; they do not go out.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    numbers : str
        Which, as people write it: ``"12, 14-16"``.
    place : str
        Where they stand.
    until : str
        Until when, year-month-day; may be empty.
    press : Press
        Who pressed.

    Returns
    -------
    JobState
        The job as it stands.

    Raises
    ------
    BadInput
        If no place is named, the date is none, or one of them was not filled, is gone,
        held or kept already.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        which = numbers_of(numbers, state.known.container.word)
        if not place.strip():
            message = "Say where the kept ones stand."
            raise BadInput(message, field="kept_place", given=place, code="missing")
        gone = join([*state.held.of(*GONE), *state.open_spans, *kept_spans(state)])
        free = minus([Span(1, state.filled_to)] if state.filled_to else [], gone)
        bad = minus([Span(n, n) for n in which], free)
        if bad:
            message = f"{words(bad)} cannot be kept: not filled, gone, held, or kept already."
            raise BadInput(message, field="kept_numbers", given=numbers, allowed=words(free))
        fact = SampleKept(containers=which, place=place.strip(), until=_day(until))
        return keep(desk, state, [fact], press)


def numbers_of(text: str, word: str = "container") -> tuple[int, ...]:
    """Return the numbers that a text names, in order, each once.

    Raises
    ------
    BadInput
        If it names none, or too many, or holds anything else.
    """
    spans = typed(text, field="kept_numbers", word=word) if text.strip() else ()
    if not 0 < count(spans) <= _MOST:
        message = f"Name which are kept, at most {_MOST}: as 12, 14-16."
        raise BadInput(message, field="kept_numbers", given=text[:40], code="missing")
    return tuple(n for span in spans for n in range(span.first, span.last + 1))


def _day(text: str) -> str:
    """Return a day as year-month-day; empty for none."""
    if not text.strip():
        return ""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError as error:
        message = f"{text!r} is no date. Type it as 2031-05-12 or 20310512."
        raise BadInput(message, field="kept_until", given=text, code="type") from error
