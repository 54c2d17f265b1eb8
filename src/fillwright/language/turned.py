"""The texts of a language for figures that were turned into US customary units before.

Figures are turned while a text is English. One whose figure or unit stands in the catalogue
itself ("below 40 °C", "{aim_g} g") is then no longer the text of the catalogue: here each of
these gets a second form, with a place for every figure and unit that may have been turned.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Final, NamedTuple

from fillwright.language.catalogue import PLACEHOLDER, TURNED, TURNED_UNIT
from fillwright.language.figures import localised
from fillwright.language.measures import UNIT_WORDS, Edit, edits
from fillwright.language.tongues import Tongue, tongue_of
from fillwright.records.units import US_CUSTOMARY

__all__ = ["turned_texts"]

_MARK: Final = re.compile(r"</?\d+/?>")
_NUMBER: Final = re.compile(r"[+\-\u2212±]?\d(?:[\d.,]*\d)?")
_ORDER: Final = {unit: place for place, unit in enumerate(US_CUSTOMARY)}
_GAP: Final = re.compile(r"[\s-]*(?:</?\d+/?>)?[\s-]*")


class _Place(NamedTuple):
    """A stretch of the target, and the placeholder that takes it."""

    start: int
    end: int
    name: str


def turned_texts(texts: Mapping[str, str], tongue: Tongue) -> dict[str, str]:
    """Return the second forms of the texts that hold metric figures or units.

    Parameters
    ----------
    texts : mapping of str to str
        A catalogue: each text in English, and in the language.
    tongue : Tongue
        The language, with its own words for units.

    Returns
    -------
    dict of str to str
        The second forms; a text whose translation has no such figure or unit has none.
    """
    found: dict[str, str] = {}
    for source, target in texts.items():
        pair = _turned(source, target, tongue)
        if pair is not None:
            found[pair[0]] = pair[1]
    return found


def _turned(source: str, target: str, tongue: Tongue) -> tuple[str, str] | None:
    """Return the second form of one text, or None where it has none."""
    changes = _changes(source) if _units(source) else []
    if not changes:
        return None
    sources: list[_Place] = []
    targets: list[_Place] = []
    for number, change in enumerate(changes, start=1):
        old = source[change.start : change.end]
        if not old:
            place, kind = _behind(source, target, change, tongue), f"{TURNED}beside_"
        elif _NUMBER.fullmatch(old):
            place, kind = _same_figure(source, target, change, tongue), f"{TURNED}figure_"
        else:
            unit = UNIT_WORDS.get(old, "")
            place = _same_unit(source, target, change, tongue) if unit else None
            kind = f"{TURNED_UNIT}{_ORDER.get(unit, 0)}_"
        if place is None:
            return None
        name = f"{{{kind}{number}}}"
        sources.append(_Place(change.start, change.end, name))
        targets.append(_Place(*place, name))
    return _put(source, sources), _put(target, sorted(targets))


def _changes(source: str) -> list[Edit]:
    """Return what would be turned of a text itself, not of what its placeholders hold."""
    plain = PLACEHOLDER.sub(lambda held: "1" * len(held[0]), source)
    plain = _MARK.sub(lambda mark: "\0" * len(mark[0]), plain)
    taken = [held.span() for held in PLACEHOLDER.finditer(source)]
    return [
        edit
        for edit in edits(plain)
        if edit.start == edit.end
        or not any(edit.start < end and start < edit.end for start, end in taken)
    ]


def _same_figure(source: str, target: str, change: Edit, tongue: Tongue) -> tuple[int, int] | None:
    """Return where the figure of a text stands in its translation."""
    old = source[change.start : change.end]
    before = [one for one in _NUMBER.finditer(source, 0, change.start) if one[0] == old]
    wanted = localised(old, tongue)
    there = [one.span() for one in _NUMBER.finditer(target) if one[0] == wanted]
    return there[len(before)] if len(before) < len(there) else None


def _same_unit(source: str, target: str, change: Edit, tongue: Tongue) -> tuple[int, int] | None:
    """Return where the unit of a text stands in its translation: behind the same figure."""
    unit = UNIT_WORDS.get(source[change.start : change.end], "")
    lead = _lead(source, change.start, tongue)
    there = [place for place in _units(target, tongue) if place.name == unit]
    before = [
        place for place in _units(source) if place.name == unit and place.end <= change.start
    ]
    if lead:
        same = [place for place in there if _lead(target, place.start) == lead]
        number = sum(_lead(source, place.start, tongue) == lead for place in before)
        if number < len(same):
            return same[number][:2]
    return there[len(before)][:2] if len(before) < len(there) else None


def _behind(source: str, target: str, change: Edit, tongue: Tongue) -> tuple[int, int] | None:
    """Return where a figure that is put behind another one stands in the translation."""
    unit = next((one for one in _units(source) if one.end == change.start), None)
    if unit is None:
        return None
    place = _same_unit(source, target, Edit(unit.start, unit.end, ""), tongue)
    return None if place is None else (place[1], place[1])


def _units(text: str, tongue: Tongue | None = None) -> list[_Place]:
    """Return the metric units of a text, each by the name that it is kept under."""
    pattern, words = _unit_pattern("" if tongue is None else tongue.code)
    clear = PLACEHOLDER.sub(lambda held: "\0" * len(held[0]), text)
    return [_Place(*one.span(), words[one[0]]) for one in pattern.finditer(clear)]


@cache
def _unit_pattern(code: str) -> tuple[re.Pattern[str], Mapping[str, str]]:
    """Return what finds a unit as a language writes it, and the unit of each way to write it."""
    words = {**UNIT_WORDS, **(tongue_of(code).unit_words if code else {})}
    each = "|".join(sorted(map(re.escape, words), key=len, reverse=True))
    return re.compile(rf"(?<![^\W\d_])(?:{each})(?![\w°²³/{{])"), words


def _lead(text: str, end: int, tongue: Tongue | None = None) -> str:
    """Return the figure or the placeholder that stands before a place; empty where none does."""
    held = [
        one for one in PLACEHOLDER.finditer(text, 0, end) if _GAP.fullmatch(text, one.end(), end)
    ]
    if held:
        return held[-1][0]
    figures = [
        one for one in _NUMBER.finditer(text, 0, end) if _GAP.fullmatch(text, one.end(), end)
    ]
    if not figures:
        return ""
    return figures[-1][0] if tongue is None else localised(figures[-1][0], tongue)


def _put(text: str, places: list[_Place]) -> str:
    """Return a text with placeholders in their places."""
    parts: list[str] = []
    at = 0
    for place in places:
        parts += [text[at : place.start], place.name]
        at = place.end
    return "".join([*parts, text[at:]])
