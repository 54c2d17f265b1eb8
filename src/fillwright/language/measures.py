"""Figures with their units within English texts, shown in US customary units.

The record keeps grams, millilitres, bars, degrees Celsius and millimetres; here a figure that
was written in them is turned on its way out. Legal weights are rounded up, limits that must not
be passed down, all others to the nearest; the step of the rounding follows that of the figure.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from fillwright.language.usfigures import Rounding, may_lack_zero, read, shown, sized
from fillwright.records.units import US_CUSTOMARY

__all__ = [
    "METRIC",
    "NOTHING",
    "UNIT_WORDS",
    "US",
    "Edit",
    "Keep",
    "edits",
    "in_us",
    "worded_in_us",
]

METRIC: Final = "metric"
US: Final = "us"

UNIT_WORDS: Final[dict[str, str]] = {
    **{unit: unit for unit in US_CUSTOMARY},
    "ml": "mL",
    "C": "°C",
    "gram": "g",
    "grams": "g",
    "kilogram": "kg",
    "kilograms": "kg",
    "millilitre": "mL",
    "millilitres": "mL",
    "litre": "L",
    "litres": "L",
    "millimetre": "mm",
    "millimetres": "mm",
    "litres a minute": "L/min",
    "L a minute": "L/min",
    "degrees C": "°C",
    "degrees Celsius": "°C",
}
"""Each way a unit is written in the texts, and the unit it is."""
_UNITS: Final = "|".join(sorted(map(re.escape, UNIT_WORDS), key=len, reverse=True))
_NUMBER: Final = r"[+\-\u2212±]?(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?"
_FIGURE: Final = re.compile(
    rf"(?<![\w.,/:#-])(?<!/\()(?P<numbers>{_NUMBER}"
    rf"(?:(?:\s+to\s+|\s+or\s+|\s*\u2013\s*|\s*[x×]\s*|\s+by\s+){_NUMBER})*)"
    rf"[\s\0]*(?P<unit>{_UNITS})(?![\w°²³]|-\d)(?!/(?:mL|L|s|min|h|m|mm|m³)\b)"
)
_AND: Final = re.compile(rf"(?<=between )({_NUMBER})(?= and (?:{_NUMBER})\s?(?P<unit>{_UNITS})\b)")
_BEHIND: Final = re.compile(
    rf"[\s\0]*\((?:about )?(?P<numbers>{_NUMBER}(?:\s+to\s+{_NUMBER})?)\)"
    rf"|[;,] (?P<ends>{_NUMBER} at least, {_NUMBER} at most)"
)
_DEGREES: Final = re.compile(
    rf"(?<![\w.])(?P<number>{_NUMBER})(?= degrees? (?:colder|warmer|cooler|hotter)\b)"
)
_STANDARD: Final = re.compile(
    rf"ISO \d+, {_NUMBER} mm|(?:O-ring|ferrule|cord|gasket)s?\b[^.;]{{0,16}}?{_NUMBER}"
    rf"(?:\s*[x×]\s*{_NUMBER})?\s?mm|{_NUMBER} g (?=(?:check )?weight)",
    re.IGNORECASE,
)
"""Sizes that are the name of a thing: a flow cup, a ring, the mass engraved on a weight."""
_ONE: Final = re.compile(_NUMBER)
_WORDS: Final = {
    "kilogram of": "pound of",
    "litre of": "gallon of",
    "litres of": "gallons of",
    "A cubic metre of": "1000 cubic feet of",
    "a cubic metre of": "1000 cubic feet of",
    "Grams that": "Ounces that",
    "the grams that": "the ounces that",
    "one litre weigh": "one gallon weigh",
    "five litres": "five quarts",
    "one millilitre weighs in grams": "one gallon weighs in pounds",
    "weights in grams": "weights in ounces",
    "Left empty: 20": "Left empty: 68",
    "Weights by hand, grams": "Weights by hand, ounces",
}
"""Units in words, where no figure stands beside them."""
_WORDED: Final = re.compile(rf"\b(?:{'|'.join(sorted(_WORDS, key=len, reverse=True))})\b")
_DECLARED: Final = re.compile(
    r"[Ll]abel, in (?:g|mL)\b|(?<!\w)'[^'\n]{1,60}'(?!\w)|\u201c[^\u201d\n]{1,60}\u201d"
    r"|\bcolumn [^:;,.]{1,40}\((?:g|mL|kg|oz|lb)\)"
)
"""Units that are part of what was declared, quoted or typed as a heading."""
_RECKONED: Final = re.compile(r" = .* = |=.*[\d)] [×\u2212/+·] [\d(]|[\d)] [×/] \(?[\d].*=")
"""A calculation, whose steps can be followed only in the units it was made in."""
_BARE: Final = re.compile(
    rf"(?:(?<=\bin )|(?<=\bas )|(?<=, )|(?<=\()|(?<=^))(?P<unit>{_UNITS})"
    r"(?=$|[.,;:)]|\s(?:net|gross|and)\b)"
)
_MEASURED: Final = re.compile(
    r"\d|" + _BARE.pattern.replace("(?P<unit>", "(?:") + "|" + _WORDED.pattern
)
_NOT_BARE: Final = frozenset({"m", "C", "K", "L"})
_CHANGE_BEFORE: Final = re.compile(
    r"(?:within|spread|swing|change[ds]?|difference|differs?|drift|rise|fall|by|each|per|"
    r"another|further)\s(?:of\s|about\s|the\s)*$",
    re.IGNORECASE,
)
_CHANGE_AFTER: Final = re.compile(
    r"^\s(?:warmer|colder|cooler|hotter|more|less|apart|higher|lower|of change|a minute|off)\b"
)
_UP_BEFORE: Final = re.compile(
    r"\b(?:T1|T2|label|limit|legal|law|least|minimum|lowest|short under|short below|far short|"
    r"aim|target|nominal|no lower than|not below|band, low)\b[^.;\n]{0,32}$",
    re.IGNORECASE,
)
_APART_AFTER: Final = re.compile(
    r"^\s(?:above|below|under|over|from|off|too|more|less|short|lower|higher|apart)\b"
)
_UP_AFTER: Final = re.compile(r"^\s(?:or more|at least|or above(?! \w+ height))\b")
_DOWN_BEFORE: Final = re.compile(
    r"\b(?:at most|no more than|not above|never above|highest|rated for|maximum|most|plate|"
    r"brims?|band, high|up to|warmest|limited to|shortage|short by more than|stays? under|T =)"
    r"(?!\w)[^.;\n]{0,24}$",
    re.IGNORECASE,
)
_DOWN_AFTER: Final = re.compile(r"^,?\s(?:at most|or less|at the most|no more)\b")


@dataclass(frozen=True, slots=True)
class Keep:
    """What of a text is not to be turned, or only upwards.

    Parameters
    ----------
    words : tuple of str
        What people typed or declared: it stays wherever it stands.
    legal : frozenset of str
        Figures in g or mL that are legal weights: rounded up wherever they stand.
    """

    words: tuple[str, ...] = ()
    legal: frozenset[str] = frozenset()


NOTHING: Final = Keep()


@dataclass(frozen=True, slots=True)
class Edit:
    """A stretch of a text and what stands there instead."""

    start: int
    end: int
    new: str


def in_us(text: str, *, before: str = "", keep: Keep = NOTHING, is_sized: bool = True) -> str:
    """Return a text with its metric figures in US customary units.

    Parameters
    ----------
    text : str
        What the program says, in English.
    before : str
        What stands before it on the page: a name may say how its figure is rounded.
    keep : Keep
        What people typed or declared, and which figures are legal weights.
    is_sized : bool
        Whether many ounces become pounds; not where the unit stands in the head of a column.

    Returns
    -------
    str
        The text; what is no figure in a metric unit stays as it was.
    """
    if not _MEASURED.search(text):
        return text
    return _applied(text, edits(text, before=before, keep=keep, is_sized=is_sized))


def worded_in_us(text: str) -> str:
    """Return a text with its units in words, where no figure stands beside them, as US ones.

    Parameters
    ----------
    text : str
        What the program says, in English.
    """
    return _WORDED.sub(lambda found: _WORDS[found[0]], text)


def edits(
    text: str, *, before: str = "", keep: Keep = NOTHING, is_sized: bool = True
) -> list[Edit]:
    """Return what changes in a text, each number and each unit by itself, in order.

    Texts that stand beside each other in tags of their own are joined by a zero character.
    """
    if _RECKONED.search(text):
        return []
    found: list[Edit] = []
    held = _held(text, keep.words)
    held += [match.span() for match in _DECLARED.finditer(text)]
    for match in _WORDED.finditer(text):
        held.append(match.span())
        found.append(Edit(*match.span(), _WORDS[match[0]]))
    for match in _STANDARD.finditer(text):
        if not _touches(held, *match.span()):
            held.append(match.span())
            found += _beside(match)
    for match in _FIGURE.finditer(text):
        if not _touches(held, match.start(), match.end()):
            found += _of_figure(text, match, before, keep, is_sized=is_sized)
    for match in _AND.finditer(text):
        found.append(_of_number(text, match.span(1), UNIT_WORDS[match["unit"]], "nearest"))
    for match in _DEGREES.finditer(text):
        found.append(_of_number(text, match.span("number"), "K", "nearest"))
    taken = held + [(edit.start, edit.end) for edit in found]
    found += _of_bare(text, taken)
    found.sort(key=lambda edit: edit.start)
    return found


def _of_bare(text: str, taken: list[tuple[int, int]]) -> list[Edit]:
    """Return the edits of units that stand without a figure, as in a heading."""
    found = []
    for match in _BARE.finditer(text):
        unit = match["unit"]
        if unit in _NOT_BARE or _touches(taken, *match.span()):
            continue
        us = US_CUSTOMARY[UNIT_WORDS[unit]].name
        is_in = text[: match.start()].endswith("in ")
        found.append(Edit(*match.span(), "inches" if us == "in" and is_in else us))
    return found


def _beside(match: re.Match[str]) -> list[Edit]:
    """Return the US figure to be put beside a size that is the name of a thing."""
    words = match[0].rstrip()
    if words.startswith("ISO"):
        return []
    unit = "g" if words.endswith("g") else "mm"
    numbers = _ONE.findall(words.rpartition("ring")[2])
    turned = " × ".join(shown(number, unit) for number in numbers)
    end = match.start() + len(words)
    return [Edit(end, end, f" ({turned} {US_CUSTOMARY[unit].name})")] if turned else []


def _of_figure(
    text: str, match: re.Match[str], before: str, keep: Keep, *, is_sized: bool
) -> list[Edit]:
    """Return the edits of one figure or range with its unit, and of the range behind it."""
    unit = UNIT_WORDS[match["unit"]]
    lead = f"{before[-60:]} {text[max(0, match.start() - 60) : match.start()]}"
    lead, tail = (part.replace("\0", " ") for part in (lead, text[match.end() :][:30]))
    is_change = unit == "°C" and bool(_CHANGE_BEFORE.search(lead) or _CHANGE_AFTER.search(tail))
    numbers = list(_ONE.finditer(text, match.start("numbers"), match.end("numbers")))
    spans = [number.span() for number in numbers]
    behind = _BEHIND.match(text, match.end())
    if behind:
        place = "numbers" if behind["numbers"] else "ends"
        spans += [n.span() for n in _ONE.finditer(text, *behind.span(place))]
    changed = is_change or (unit == "°C" and any(text[start] == "±" for start, _ in spans))
    largest = max(abs(read(text[start:end])[1]) for start, end in spans)
    to_unit, shift = sized(unit, largest) if is_sized else (unit, 0)
    is_inward = unit in ("bar", "kPa") or "band" in lead[-12:]
    found = []
    for place_of, span in enumerate(spans):
        way: Rounding = _ways(lead, tail)
        if text[slice(*span)] in keep.legal and may_lack_zero(unit):
            way = "up"
        elif is_inward and len(spans) > 1 and len(spans) != len(numbers) + 1:
            # Of a band or a range of pressures neither end is passed by the rounding.
            way = "up" if place_of == len(spans) - 2 else "down"
        found.append(_of_number(text, span, to_unit, way, shift=shift, is_change=changed))
    name = US_CUSTOMARY["K" if changed and to_unit == "°C" else to_unit].name
    return [*found, Edit(match.start("unit"), match.end("unit"), name)]


def _of_number(
    text: str,
    span: tuple[int, int],
    unit: str,
    rounding: Rounding,
    *,
    shift: int = 0,
    is_change: bool = False,
) -> Edit:
    """Return the edit of one number; `shift` places its point for a larger or smaller unit."""
    figure = text[slice(*span)]
    sign, value, places = read(figure)
    if not shift:
        return Edit(*span, shown(figure, unit, rounding=rounding, is_change=is_change))
    moved = value.scaleb(shift)
    figure = ("-" if value < 0 else sign) + format(abs(moved), f".{max(0, places - shift)}f")
    return Edit(*span, shown(figure, unit, rounding=rounding, places=places - shift))


def _ways(lead: str, tail: str) -> Rounding:
    """Return which way the words around a figure ask it to be rounded."""
    if _UP_AFTER.search(tail):
        return "up"
    if _APART_AFTER.search(tail):
        return "nearest"
    if _DOWN_AFTER.search(tail) or _DOWN_BEFORE.search(lead):
        return "down"
    return "up" if _UP_BEFORE.search(lead) else "nearest"


def _held(text: str, keep: Iterable[str]) -> list[tuple[int, int]]:
    """Return where a text holds what people typed."""
    return [
        match.span()
        for words in keep
        for match in re.finditer(rf"(?<![\w.,]){re.escape(words)}(?!\w)", text)
    ]


def _touches(spans: Iterable[tuple[int, int]], start: int, end: int) -> bool:
    """Return whether a stretch shares a letter with any of the spans."""
    return any(start < last and first < end for first, last in spans)


def _applied(text: str, changes: Iterable[Edit]) -> str:
    """Return a text with its edits made."""
    parts: list[str] = []
    at = 0
    for edit in changes:
        parts += [text[at : edit.start], edit.new]
        at = edit.end
    return "".join([*parts, text[at:]])
