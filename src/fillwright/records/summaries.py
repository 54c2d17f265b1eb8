"""Rows below the weighings of a file that only sum them up: totals, means, counts.

A sum that is taken for a weighing changes the verdict, and one that is left out in silence may
have been a weighing; so what looks like one is found here, to be named to the person.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from fillwright.records.figures import looks_like_figure

__all__ = ["end_of_numbered", "ends_with_sum", "is_summary"]

_WORD: Final = re.compile(r"[^\W\d_]+")
_BY_LANGUAGE: Final = {
    "en": "mean average avg sum total totals subtotal sd std stdev dev deviation min max minimum "
    "maximum count median range variance",
    "de": "mittel mittelwert durchschnitt summe gesamt gesamtsumme anzahl standardabweichung "
    "spannweite",
    "fr": "moyenne somme totale médiane écart étendue",
    "es": "media promedio suma mediana desviación mínimo máximo conteo",
    "it": "somma deviazione minimo massimo conteggio",
    "nl": "gemiddelde som totaal aantal standaardafwijking",
    "other": "média soma średnia medelvärde snitt summa gennemsnit gjennomsnitt",
}
_BESIDE_THEM: Final = (
    "n x s of all the grand sub net gross weight weights fill standard type value values g kg"
)
_SUMMARY: Final = frozenset(word for words in _BY_LANGUAGE.values() for word in words.split())
_BESIDE: Final = _SUMMARY.union(_BESIDE_THEM.split())
_FEWEST: Final = 3
_LONGEST_TAIL: Final = 5


def is_summary(cell: str) -> bool:
    """Say whether a cell holds nothing but words for a sum, a mean or the like."""
    if cell[:1].isdigit():
        return False
    words = _WORD.findall(cell.lower())
    return not _SUMMARY.isdisjoint(words) and _BESIDE.issuperset(words)


def end_of_numbered(labels: Sequence[str]) -> int | None:
    """Return the place of the first row behind those that are numbered or named.

    Parameters
    ----------
    labels : sequence of str
        The cells beside the weights that number or name the containers.

    Returns
    -------
    int or None
        Place of the first of at most five last rows that have no label, or a word where
        numbers stand above; None where the labels go on to the end.
    """
    is_figure = looks_like_figure(labels[0])

    def fits(label: str) -> bool:
        return bool(label) and not (is_figure and label[0].isalpha())

    first = next((at for at, label in enumerate(labels) if not fits(label)), None)
    if first is None or first < _FEWEST or len(labels) - first > _LONGEST_TAIL:
        return None
    return None if any(fits(label) for label in labels[first:]) else first


def ends_with_sum(values: Sequence[Decimal]) -> bool:
    """Say whether the last weight is exactly the sum of all above it."""
    return len(values) > _FEWEST and values[-1] > 0 and sum(values[:-1]) == values[-1]
