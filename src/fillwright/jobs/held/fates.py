"""What became of every container of a lot; each is in exactly one state."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from fillwright.records.fold import JobState
from fillwright.records.sheets_held import FateLine
from fillwright.records.spans import Span, count, join, minus, overlap, words

__all__ = ["FATES", "fate_lines", "fates_of", "kept_spans"]

FATES: Final = (
    "released",
    "settled",
    "topped up",
    "re-labelled",
    "held",
    "emptied back",
    "scrapped",
    "kept",
    "not released",
    "waiting",
)
_GOING_OUT: Final = ("settled", "topped up", "re-labelled")


def kept_spans(state: JobState) -> tuple[Span, ...]:
    """Return the containers that are kept as samples."""
    return join(Span(n, n) for one in state.lots.kept for n in one.containers)


def fates_of(state: JobState) -> dict[str, tuple[Span, ...]]:
    """Return what became of the containers filled: no container is in two states, none in none.

    Returns
    -------
    dict of str to tuple of Span
        By state: scrapped, emptied back, kept, held (nobody settled it), re-labelled, topped up
        or settled (held once, and good), released; in a lot that is not released, waiting or
        not released.
    """
    rest = join([Span(1, state.filled_to)] if state.filled_to else [])
    book = state.held
    found: dict[str, tuple[Span, ...]] = {}
    for fate, spans in (
        ("scrapped", state.scrapped),
        ("emptied back", book.of("emptied-back")),
        ("kept", kept_spans(state)),
        ("held", state.open_spans),
        ("re-labelled", book.of("relabelled")),
        ("topped up", book.of("topped-up")),
        ("settled", book.of("weighed-good", "released-with-reason")),
    ):
        found[fate] = overlap(rest, spans)
        rest = minus(rest, found[fate])
    done = state.released
    last = "waiting"
    if done is not None:
        last = "released" if done.outcome == "released" else "not released"
    if last == "not released":
        rest = join([*rest, *(span for fate in _GOING_OUT for span in found.pop(fate))])
    found[last] = rest
    return {fate: found[fate] for fate in FATES if found.get(fate)}


def fate_lines(state: JobState, among: Iterable[Span] | None = None) -> tuple[FateLine, ...]:
    """Return what became of containers, of all or of those `among`."""
    found = []
    for fate, spans in fates_of(state).items():
        mine = spans if among is None else overlap(spans, among)
        if mine:
            found.append(FateLine(fate=fate, numbers=words(mine), containers=count(mine)))  # type: ignore[arg-type]
    return tuple(found)
