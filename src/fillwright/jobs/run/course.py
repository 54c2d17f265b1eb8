"""The course of a run in sentences, for the record: watch, what weights looked like, levels."""

from __future__ import annotations

from collections.abc import Iterable

from fillwright.jobs.run.watch import way_of
from fillwright.jobs.words import plain
from fillwright.records.entries import Entry, HopperRead, SignatureSeen, WatchChosen

__all__ = ["course_of"]


def course_of(entries: Iterable[Entry], word: str) -> tuple[str, ...]:
    """Return what a run showed, a sentence each in journal order.

    Parameters
    ----------
    entries : iterable of Entry
        Entries of one job.
    word : str
        What its containers are called.

    Returns
    -------
    tuple of str
        Ways of watching, signatures and hopper levels; empty where there are none.
    """
    return tuple(words for entry in entries if (words := _words(entry, word)))


def _words(entry: Entry, word: str) -> str:
    """Return the sentence of one entry; empty for all others."""
    match entry.payload:
        case WatchChosen() as fact:
            label = way_of(fact.way).label
            return (
                f"Watched by: {label[0].lower()}{label[1:]}. A false alarm once in "
                f"{fact.false_alarm_doses:.0f} weights, on average."
            )
        case SignatureSeen() as fact:
            size = "" if fact.size_g is None else f" Size {fact.size_g:+.2f} g{_range(fact)}."
            return (
                f"At {word} {fact.container}, from {fact.readings} weights: "
                f"{fact.words or 'nothing sure'}.{size} "
                f"Stated probability {fact.stated_probability:.2f}."
            )
        case HopperRead() as fact:
            unit = f" {fact.unit}" if fact.unit else ""
            return f"Hopper level after {word} {fact.after_container}: {plain(fact.value)}{unit}."
        case _:
            return ""


def _range(fact: SignatureSeen) -> str:
    """Return the 80 % range of a size."""
    if fact.size_low_g is None or fact.size_high_g is None:
        return ""
    return f" (80 %: {fact.size_low_g:+.2f} to {fact.size_high_g:+.2f} g)"
