"""Which of the held containers are meant: a tray, part of one, several trays, a single one."""

from __future__ import annotations

import re
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.held.orders import due_held
from fillwright.jobs.words import trays
from fillwright.records.fold import JobState
from fillwright.records.spans import Span, count, join, minus, overlap, words

__all__ = ["all_held", "held_by_tray", "held_on", "outcome_at", "trays_named"]

_TRAYS: Final = re.compile(r"([0-9]{1,6})(?:\s*[-\u2013]\s*([0-9]{1,6}))?")
_WORDS: Final = {
    "weighed-good": "weighed good",
    "topped-up": "topped up and weighed good",
    "released-with-reason": "released with a reason",
    "relabelled": "re-labelled",
    "emptied-back": "emptied back",
    "scrapped": "scrapped",
    "waits-for-weight": "topped up",
}


def held_on(
    state: JobState, tray: str = "", place: int | None = None, many: int | None = None
) -> tuple[Span, ...]:
    """Return the held containers that a tray and a count name.

    Parameters
    ----------
    state : JobState
        The job.
    tray : str
        ``"3"``, or ``"3-7"``; left empty, the tray of the first held one.
    place : int, optional
        Place on the first of these trays that it begins at; the first held one when left out.
    many : int, optional
        How many of the held ones from there on; all when left out.

    Returns
    -------
    tuple of Span
        All of them are held.

    Raises
    ------
    BadInput
        If there is no such tray or place, nothing on it is held, or fewer than `many` are.
    """
    facts = state.known
    size, word = max(facts.tray_size, 1), facts.container.word
    if not state.open_spans:
        message = "Nothing is held."
        raise BadInput(message, field="tray", given=tray, code="inconsistent")
    low, high = _tray_numbers(state, tray, size)
    if place is not None and not 1 <= place <= size:
        message = f"A tray holds {size}: there is no place {place}. Count the places from 1."
        raise BadInput(message, field="place", given=place, allowed=f"1 to {size}")
    first = (low - 1) * size + (place or 1)
    whole = Span((low - 1) * size + 1, high * size)
    told = f"tray {low}" if low == high else f"trays {low} to {high}"
    there = overlap([Span(first, whole.last)], state.open_spans)
    where = "" if place is None else f" from place {place}"
    if not there:
        message = f"Nothing on {told}{where} is held. Held are: {held_by_tray(state)}."
        raise BadInput(message, field="tray", given=tray, allowed=held_by_tray(state))
    held = count(there)
    if many is not None and not 1 <= many <= held:
        message = (
            f"{told.capitalize()}{where} has {held} held {word}{'s' if held > 1 else ''}, not "
            f"{many}. Type 1 to {held}, or leave the count empty for all of them."
        )
        raise BadInput(message, field="count", given=many, allowed=f"1 to {held}")
    return there if many is None else _first_of(there, many)


def all_held(state: JobState, spans: tuple[Span, ...]) -> tuple[Span, ...]:
    """Return spans joined, once every one of them is known to be held.

    Raises
    ------
    BadInput
        If one is not held; the message says what became of it.
    """
    bad = minus(spans, state.open_spans)
    if spans and not bad and all(span.first <= span.last for span in spans):
        return join(spans)
    asked = words(spans)
    told = outcome_at(state, bad[0].first) if bad else ""
    held = f"Held are {words(state.open_spans)}" if state.open_spans else "Nothing is held"
    message = f"{held}; {asked} are not all held{f': {told}' if told else ''}."
    raise BadInput(
        message, field="first", given=asked, allowed=words(state.open_spans), code="inconsistent"
    )


def outcome_at(state: JobState, container: int) -> str:
    """Return what became of a container that was held, and who said so; empty where nothing."""
    one = state.held.at(container)
    if one is None:
        return ""
    return f"{words(state.held.spans_of(one))} {_WORDS[one.outcome]} by {one.person or 'somebody'}"


def held_by_tray(state: JobState) -> str:
    """Return everything that is held, by trays."""
    size = max(state.known.tray_size, 1)
    return "; ".join(
        f"{trays(span.first, span.last, size)} ({words([span])})" for span in state.open_spans
    )


def _tray_numbers(state: JobState, tray: str, size: int) -> tuple[int, int]:
    """Return the first and last tray that are meant."""
    if not tray.strip():
        due = ((due_held(state) or 1) - 1) // size + 1
        return due, due
    return trays_named(tray, size, state.filled_to)


def trays_named(tray: str, size: int, filled: int) -> tuple[int, int]:
    """Return the first and last tray of ``"3"`` or ``"3-7"``.

    Raises
    ------
    BadInput
        If it names no tray, or one that nothing stands on.
    """
    last = max(filled - 1, 0) // size + 1
    match = _TRAYS.fullmatch(tray.strip())
    low = int(match[1]) if match else 0
    high = int(match[2] or match[1]) if match else 0
    if not match or low > high:
        message = f"{tray.strip()[:20]!r} names no tray. Type its number: 3, or 3-7."
        raise BadInput(message, field="tray", given=tray[:20], code="type")
    if not 1 <= low <= high <= last:
        message = (
            f"There is no tray {high if low >= 1 else low}: the {filled} filled stand on "
            f"trays 1 to {last}."
        )
        raise BadInput(message, field="tray", given=tray[:20], allowed=f"1 to {last}")
    return low, high


def _first_of(spans: tuple[Span, ...], many: int) -> tuple[Span, ...]:
    """Return the first so many containers of spans."""
    found, left = [], many
    for span in spans:
        if left > 0:
            found.append(Span(span.first, min(span.last, span.first + left - 1)))
            left -= span.last - span.first + 1
    return tuple(found)
