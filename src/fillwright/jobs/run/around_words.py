"""Cartons, drums, people and looks in sentences, for the Run page and the batch record."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, get_args

from fillwright.jobs.run.first_jar import KEYS, OCCASIONS
from fillwright.jobs.words import plain
from fillwright.records.entries import (
    DensityTaken,
    Entry,
    FirstJarLooked,
    PersonChanged,
    PhotoKept,
    SampleKept,
    TareCarriedOn,
)
from fillwright.records.fold import JobState
from fillwright.records.kinds_lots import LotOf
from fillwright.records.lotbook import Dated, Use
from fillwright.records.spans import Span, words

__all__ = ["LOT_NAMES", "changes_of", "code_words", "holes_now", "lines_now", "row_words"]

LOT_NAMES: Final[dict[LotOf, str]] = {"container": "Carton", "lid": "Lids", "drum": "Drum"}
_LOOKED: Final = {
    "product": "product",
    "container": "container",
    "lid": "lid",
    "label": "label",
    "market": "market",
    "allergen": "allergen line",
    "lot-code": "lot code",
    "best-before": "best-before",
    "leak": "leak",
}


def code_words(use: Use) -> str:
    """Return the code of a carton or drum, with the batch in it where it is told."""
    batch = f", batch {use.fact.batch}" if use.fact.batch else ""
    return f"{use.fact.code}{batch}"


def lines_now(state: JobState) -> tuple[str, ...]:
    """Return what the next container is filled from, a line each; only what is on record."""
    found = []
    for what in get_args(LotOf):
        use = state.lots.at(what, state.filled_to + 1)
        if use is not None:
            since = use.fact.after_container + 1
            word = state.known.container.word
            told = f", since {word} {since}" if since > 1 else ""
            found.append(f"{LOT_NAMES[what]} {code_words(use)}{told}")
    tare = state.lots.tare_of(None)
    if tare is not None and state.known.tare_way == "mean":
        found.append(f"Average empty {plain(tare.tare_g)} g, of {tare.empties} weighed")
    if state.lots.fillings:
        density = plain(state.known.product.density_g_per_ml)
        before = state.lots.fillings[-2:][0].aim_g
        found.append(f"Density {density} g/mL; aim {state.known.aim_g} g, {before} g before")
    return tuple(found)


def holes_now(state: JobState) -> str:
    """Return what a trace of the next container would lack; empty where nothing."""
    lacks = [
        LOT_NAMES[what].lower()
        for what in get_args(LotOf)
        if state.lots.at(what, state.filled_to + 1) is None
    ]
    return f"Not on record: {', '.join(lacks)}. A trace ends there." if lacks else ""


def row_words(state: JobState, container: int) -> str:
    """Return carton and drum of one container, where the lot has more than one of them."""
    found = []
    for what in ("container", "drum"):
        if len(state.lots.under(what, max(state.filled_to, 1))) > 1:
            use = state.lots.at(what, container)
            told = "not on record" if use is None else use.fact.code
            found.append(f"{LOT_NAMES[what].lower()} {told}")
    return "".join(f", {one}" for one in found)


def changes_of(state: JobState, entries: Iterable[Entry]) -> tuple[str, ...]:
    """Return cartons and drums by their containers, then what happened, in journal order."""
    word = state.known.container.word
    found, happened = [], []
    for what in get_args(LotOf):
        parts = [
            f"{words([under.span])} "
            + ("not on record" if under.use is None else code_words(under.use))
            for under in state.lots.under(what, state.filled_to)
        ]
        if any(use.fact.what == what for use in state.lots.uses):
            found.append(f"{LOT_NAMES[what]}, by {word}: {'; '.join(parts)}.")
    looked = iter(state.lots.looks)
    for entry in entries:
        fact = entry.payload
        if isinstance(fact, FirstJarLooked):
            # An entry that came in since the job was folded has only its own word.
            own = Dated(entry.at, entry.person, fact, (fact.occasion,))
            told = _look(next(looked, own), fact, word)
        else:
            told = _told(entry, word)
        if told:
            happened.append(told)
    return (*found, *_tares(state), *happened)


def _tares(state: JobState) -> tuple[str, ...]:
    """Return the average empty by containers, where more than one was taken off."""
    tares = state.lots.tares
    word = state.known.container.word
    starts = [after for after, _ in tares]
    if not starts or (len(starts) == 1 and starts[0] == 0):
        return ()
    found = []
    kept = state.known.container.tare_g
    if starts[0] > 0 and kept is not None:
        first = words([Span(1, starts[0])])
        found.append(f"Empty of {word} {first}: {plain(kept)} g, from the facts of the job.")
    ends = [*starts[1:], max(state.filled_to, starts[-1] + 1)]
    found += [
        f"Average empty of {word} {words([Span(after + 1, end)])}: {plain(tare.tare_g)} g, of "
        f"{tare.empties} weighed."
        for (after, tare), end in zip(tares, ends, strict=True)
    ]
    return tuple(found)


def _told(entry: Entry, word: str) -> str:
    """Return the sentence of one entry; empty for all others."""
    match entry.payload:
        case DensityTaken() as fact:
            return (
                f"From {word} {fact.after_container + 1}: density "
                f"{plain(fact.density_g_per_ml)} g/mL at {plain(fact.density_c)} °C, aim "
                f"{plain(fact.aim_g)} g. The band of the chart is that of the last drum."
            )
        case TareCarriedOn() as fact:
            return f"No empties of the new carton were weighed: {fact.reason}."
        case PersonChanged() as fact:
            return f"After {word} {fact.after_container} {fact.now} took over from {fact.before}."
        case PhotoKept() as fact:
            return f"Photo of {word} {fact.container}, SHA-256 {fact.sha256[:16]}…, kept."
        case SampleKept() as fact:
            until = f" until {fact.until}" if fact.until else ""
            numbers = words(Span(n, n) for n in fact.containers)
            return f"Kept: {word} {numbers}, {fact.place}{until}."
        case _:
            return ""


def _look(look: Dated, fact: FirstJarLooked, word: str) -> str:
    """Return what a look showed, with everything that had asked for it."""
    occasion = ", ".join(OCCASIONS[one] for one in look.occasions)
    if fact.skipped:
        return f"Look at {word} {fact.container} ({occasion}) skipped: {fact.skipped}."
    wrong = [f"{_LOOKED[a.key]}: {a.reason}" for a in fact.answers if not a.is_right]
    told = f"not right: {'; '.join(wrong)}" if wrong else f"all {len(KEYS)} right"
    photo = f" Photo: {fact.photo_place}." if fact.photo_place else ""
    first = f"{word.capitalize()} {fact.container} looked at by {look.person}, {occasion}"
    return f"{first}: {told}.{photo}"
