"""A whole page in US customary units: its texts, its tables, and the fields people type into.

A figure and its unit may stand in tags of their own. A field that is typed in the shown unit
carries with it what it showed and what that stands for, so that one left alone changes nothing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html import escape, unescape
from typing import Final

from fillwright.language.measures import NOTHING, UNIT_WORDS, Keep, edits, in_us
from fillwright.language.runs import Token, spoken_attributes, tokens_of
from fillwright.language.usfigures import shown
from fillwright.records.units import US_CUSTOMARY

__all__ = ["MARK", "ROW", "page_in_us"]

MARK: Final = "in-"
"""What the name of the field beside a typed one begins with."""
ROW: Final = " row"
"""What stands behind the unit of a field that holds a row of figures."""
_WITHIN: Final = frozenset(
    {"a", "abbr", "b", "bdi", "em", "i", "kbd", "small", "span", "strong", "sub", "sup", "tspan"}
)
_CLOSED: Final = frozenset({"script", "style", "textarea", "code", "pre"})
_NAMES: Final = frozenset({"dt", "th", "td", "label", "small", "legend", "summary", "text"})
_ATTRIBUTE: Final = re.compile(r'\s([\w-]+)(?:="([^"]*)")?')
_HEAD_UNIT: Final = re.compile(r"(?:^|, |\()([A-Za-zµ°²³/ ]+)\)?$")
_NUMBER: Final = re.compile(r"[+\-\u2212±]?\d+(?:\.\d+)?(?: to [+\-\u2212]?\d+(?:\.\d+)?)?")
_FIGURES: Final = re.compile(r"(?<![\w.])\d+(?:\.\d+)?(?![\w.])")
_FIELD: Final = re.compile(r"[+-]?\d+(?:\.\d+)?")
_UNNAMED: Final = {
    "_per_kg": "1/kg",
    "_per_litre": "1/L",
    "_per_m3": "1/m³",
    "back_g": "g",
}
"""Ends of the names of fields whose label says the unit in words."""
_UNTYPED: Final = frozenset(
    {"hidden", "checkbox", "radio", "submit", "file", "search", "date", "button"}
)


@dataclass(slots=True)
class _Page:
    """A page in the making: its tokens, and what was read of it so far."""

    raw: list[str]
    keep: Keep
    run: list[int] = field(default_factory=list)
    before: str = ""
    input_at: int = -1
    weigh_at: int = -1
    heads: list[str] = field(default_factory=list)
    column: int = -1
    is_head: bool = False
    is_choice: bool = False
    term_unit: str = ""


def page_in_us(html: str, keep: Keep = NOTHING) -> str:
    """Return a page with its figures and its fields in US customary units.

    Parameters
    ----------
    html : str
        The page as it was drawn, in English.
    keep : Keep
        What people typed or declared, and which figures are legal weights. Elements marked
        ``translate="no"``, scripts and text areas stay too.
    """
    tokens = list(tokens_of(html))
    page = _Page([token.raw for token in tokens], keep)
    skipped, depth = "", 0
    for at, token in enumerate(tokens):
        if skipped:
            if token.name == skipped:
                depth += -1 if token.is_end else 1
                skipped = skipped if depth else ""
            continue
        if not token.name:
            page.run.append(at)
            continue
        is_closed = token.name in _CLOSED or token.is_marked
        if is_closed and not token.is_end and not token.raw.endswith("/>"):
            _finish(page, token)
            if token.name == "textarea":
                _area(page, tokens, at)
            skipped, depth = token.name, 1
            continue
        if not token.is_end:
            page.raw[at] = _spoken(token.raw, page.keep)
        if token.name not in _WITHIN:
            _finish(page, token)
            _structure(page, at, token)
        elif _attribute(token.raw, "class") == "unit":
            _field(page, tokens, at)
    _finish(page, Token("", "html", is_end=True))
    return "".join(page.raw)


def _spoken(raw: str, keep: Keep) -> str:
    """Return a tag with what is read from its attributes in US customary units."""
    parts: list[str] = []
    at = 0
    for start, end, words in spoken_attributes(raw):
        new = in_us(words, keep=keep)
        parts += [raw[at:start], raw[start:end] if new == words else escape(new)]
        at = end
    return "".join([*parts, raw[at:]])


def _finish(page: _Page, end: Token) -> None:
    """Turn the texts that stood together, as one text."""
    places, page.run = page.run, []
    words = [unescape(page.raw[at]) for at in places]
    whole = "\0".join(words)
    if not whole.strip("\0 \n"):
        return
    read = whole.replace("\0", "")
    unit = _unit_of_cell(page, read)
    if page.is_choice and read.strip() in UNIT_WORDS:
        return
    if unit:
        new = [_bare_numbers(text, unit, page.before) for text in words]
    else:
        new = _edited(words, whole, page)
    for at, old, text in zip(places, words, new, strict=True):
        if text != old:
            page.raw[at] = escape(text, quote=False)
    if page.is_head:
        page.heads[page.column] += read
    page.before = read.strip() if end.is_end and end.name in _NAMES else ""
    page.term_unit = _head_unit(read) if end.is_end and end.name == "dt" else ""


def _edited(words: list[str], whole: str, page: _Page) -> list[str]:
    """Return texts with the edits of the whole, each where it falls."""
    new = list(words)
    starts: list[int] = []
    at = 0
    for text in words:
        starts.append(at)
        at += len(text) + 1
    for edit in reversed(edits(whole, before=page.before, keep=page.keep)):
        place = max(i for i, start in enumerate(starts) if start <= edit.start)
        cut = edit.start - starts[place]
        text = new[place]
        new[place] = text[:cut] + edit.new + text[cut + edit.end - edit.start :]
    return new


def _structure(page: _Page, at: int, token: Token) -> None:
    """Follow tables, and remember the field that a unit may stand beside."""
    name = token.name
    if name == "table":
        page.heads, page.column, page.is_head = [], -1, False
    elif name == "tr":
        page.column, page.is_head = -1, False
    elif name in ("th", "td"):
        page.is_head = False
        if not token.is_end:
            page.column += 1
            page.is_head = name == "th" and _attribute(token.raw, "scope") != "row"
            if page.is_head:
                page.heads[page.column :] = [*page.heads[page.column : page.column], ""]
    elif name == "input":
        _input(page, at, token)
    elif name in ("option", "button"):
        # A unit to be chosen is the name of the choice.
        page.is_choice = not token.is_end


def _input(page: _Page, at: int, token: Token) -> None:
    """Remember a field that a unit may stand beside; turn one whose label says it in words."""
    if _attribute(token.raw, "type") not in _UNTYPED:
        page.input_at = at
        named = _attribute(token.raw, "name")
        unit = next((unit for end, unit in _UNNAMED.items() if named.endswith(end)), "")
        if unit:
            _turn_field(page, at, unit)
    elif page.weigh_at >= 0 and 'name="unit" value="g"' in token.raw:
        page.raw[at] = token.raw.replace('value="g"', 'value="oz"')
        page.weigh_at = -1


def _unit_of_cell(page: _Page, whole: str) -> str:
    """Return the unit that a bare figure has by the head of its column or by its term."""
    if page.is_head or not _NUMBER.fullmatch(whole.strip()):
        return ""
    if page.term_unit:
        return page.term_unit
    return _head_unit(page.heads[page.column]) if 0 <= page.column < len(page.heads) else ""


def _head_unit(words: str) -> str:
    """Return the metric unit that stands at the end of a heading; empty where none does."""
    found = _HEAD_UNIT.search(words.strip())
    return UNIT_WORDS.get(found[1].strip(), "") if found else ""


def _bare_numbers(text: str, unit: str, before: str) -> str:
    """Return a bare figure, or two with "to" between, in the US customary unit."""
    if not text.strip():
        return text
    name = US_CUSTOMARY[unit].name
    turned = in_us(f"{text.strip()} {unit}", before=before, is_sized=False)
    return text.replace(text.strip(), turned.removesuffix(f" {name}"))


def _field(page: _Page, tokens: list[Token], at: int) -> None:
    """Turn the field that a unit stands beside, and mark it so that it is read back."""
    if page.input_at < 0 or at + 1 >= len(tokens) or tokens[at].is_end:
        return
    words = unescape(tokens[at + 1].raw).strip()
    unit = UNIT_WORDS.get(words, "")
    if unit:
        page.raw[at + 1] = tokens[at + 1].raw.replace(words, US_CUSTOMARY[unit].name)
        _turn_field(page, page.input_at, unit)
    page.input_at = -1


def _area(page: _Page, tokens: list[Token], at: int) -> None:
    """Turn the text that a closed area offers, or the weights that an area is typed full of."""
    raw, inner = tokens[at].raw, at + 1
    has_text = inner < len(tokens) and not tokens[inner].name
    text = unescape(tokens[inner].raw) if has_text else ""
    unit = UNIT_WORDS.get(_attribute(raw, "data-metric"), "")
    if " readonly" in raw and has_text:
        page.raw[inner] = escape(in_us(text, keep=page.keep), quote=False)
    elif unit:
        turned = _FIGURES.sub(lambda one: shown(one[0], unit), text)
        if has_text:
            page.raw[inner] = escape(turned, quote=False)
        mark = escape(f"{unit}{ROW}={turned.strip()}={text.strip()}")
        hidden = f'<input type="hidden" name="{MARK}{_attribute(raw, "name")}" value="{mark}">'
        page.raw[at] = hidden + raw


def _turn_field(page: _Page, place: int, unit: str) -> None:
    """Turn what a field shows, and put beside it what that stands for."""
    raw = page.raw[place]
    name = _attribute(raw, "name")
    kept = unescape(_attribute(raw, "value"))
    number = kept.replace(",", ".")
    is_number = bool(_FIELD.fullmatch(number))
    typed = shown(number, unit).replace("\u2212", "-") if is_number else kept
    if is_number:
        raw = raw.replace(f'value="{escape(kept)}"', f'value="{typed}"')
    raw = raw.replace("<input", f'<input data-unit="{US_CUSTOMARY[unit].name}"', 1)
    if " data-weigh" in raw:
        page.raw[place] = _tared(raw)
        page.weigh_at = place
        return
    mark = f"{unit}={typed}={kept}" if is_number else f"{unit}=="
    form = _attribute(raw, "form")
    belongs = f' form="{form}"' if form else ""
    hidden = f'<input type="hidden" name="{MARK}{name}" value="{escape(mark)}"{belongs}>'
    page.raw[place] = hidden + raw


def _tared(raw: str) -> str:
    """Return the field of a weight with its tare in the unit that it is typed in."""
    tare = _attribute(raw, "data-tare")
    return raw.replace(f'data-tare="{tare}"', f'data-tare="{shown(tare, "g")}"') if tare else raw


def _attribute(raw: str, name: str) -> str:
    """Return the value of an attribute of a tag, as it stands; empty where it has none."""
    return next((value for key, value in _ATTRIBUTE.findall(raw) if key == name), "")
