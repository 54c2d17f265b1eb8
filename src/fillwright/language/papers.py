"""The data of a paper in US customary units, before the printer places them."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from typing import Final, cast

from fillwright.language.measures import NOTHING, UNIT_WORDS, Keep, in_us
from fillwright.records.units import US_CUSTOMARY

__all__ = ["data_in_us"]

_HEAD_UNIT: Final = re.compile(r"(?:^|, |\()([A-Za-zµ°²³/ ]+)\)?$")
_BARE: Final = re.compile(r"[+\-\u2212±]?\d+(?:\.\d+)?(?: to [+\-\u2212]?\d+(?:\.\d+)?)?")
_LINE: Final = re.compile(
    r"(?P<before>\(?)(?P<shown>[^\s(]+(?: [a-z]+)? \u2192 )?"
    r"(?P<net>[+\-\u2212]?\d+(?:\.\d+)?)(?P<rest>  .*)"
)
_PAIR: Final = 2


def data_in_us(data: object, *, as_is: Collection[str] = (), keep: Keep = NOTHING) -> object:
    """Return the data of a paper with their figures in US customary units.

    Parameters
    ----------
    data : dict, list, str or anything
        What the template places. A table has its ``head`` and ``rows``: a unit in a head is
        that of the bare figures below it. A calculation stays in the units it was made in.
    as_is : collection of str
        Keys whose texts are none, or were typed by people.
    keep : Keep
        What people typed or declared, and which figures are legal weights.
    """
    if isinstance(data, str):
        return in_us(data, keep=keep)
    if isinstance(data, Mapping):
        if data.get("kind") == "formula":
            return data
        turned = {
            key: value if key in as_is else data_in_us(value, as_is=as_is, keep=keep)
            for key, value in data.items()
        }
        if data.get("kind") == "table":
            turned["rows"] = _rows(data, as_is, keep)
        if data.get("kind") == "lines" and data.get("unit"):
            unit = str(data["unit"])
            turned["columns"] = [
                [_weighed(cast("Mapping[str, object]", line), unit) for line in column]
                for column in cast("Sequence[Sequence[object]]", data["columns"])
            ]
        return turned
    if isinstance(data, Sequence):
        if len(data) == _PAIR and all(isinstance(part, str) for part in data):
            return _pair(cast("Sequence[str]", data), keep)
        return [data_in_us(value, as_is=as_is, keep=keep) for value in data]
    return data


def _weighed(line: Mapping[str, object], unit: str) -> dict[str, object]:
    """Return a line of a list of weights: what the scale showed, and what it comes to.

    What the scale showed is evidence: it keeps its figure, with its unit behind it.
    """
    found = _LINE.fullmatch(str(line["text"]))
    if found is None:
        return dict(line)
    seen = found["shown"] or f"{found['net']} "
    seen = seen.removesuffix(" \u2192 ").strip()
    named = seen if seen[-1].isalpha() else f"{seen} {unit}"
    net = _figure(found["net"], unit, "")
    words = f"{found['before']}{named} \u2192 {net}{found['rest']}"
    return {**line, "text": words}


def _pair(pair: Sequence[str], keep: Keep) -> list[str]:
    """Return a name with what it is: a unit in the name is that of a bare figure."""
    name, words = pair
    unit = _unit(name)
    turned = (
        _figure(words, unit, name)
        if unit and _BARE.fullmatch(words)
        else in_us(words, before=name, keep=keep)
    )
    return [in_us(name, keep=keep), turned]


def _rows(table: Mapping[str, object], as_is: Collection[str], keep: Keep) -> list[object]:
    """Return the rows of a table."""
    heads = cast("Sequence[str]", table["head"])
    units = [_unit(head) for head in heads]
    found: list[object] = []
    for row in cast("Sequence[Sequence[object]]", table["rows"]):
        cells: list[object] = []
        for place, cell in enumerate(row):
            unit = units[place] if place < len(units) else ""
            if unit and isinstance(cell, str) and _BARE.fullmatch(cell):
                cells.append(_figure(cell, unit, heads[place]))
            elif isinstance(cell, str):
                name = row[0] if place and isinstance(row[0], str) else ""
                cells.append(in_us(cell, before=name, keep=keep))
            else:
                cells.append(data_in_us(cell, as_is=as_is, keep=keep))
        found.append(cells)
    return found


def _unit(words: str) -> str:
    """Return the metric unit at the end of a heading; empty where none stands there."""
    found = _HEAD_UNIT.search(words.strip())
    return UNIT_WORDS.get(found[1].strip(), "") if found else ""


def _figure(words: str, unit: str, before: str) -> str:
    """Return a bare figure in the US unit of its column."""
    name = US_CUSTOMARY[unit].name
    return in_us(f"{words} {unit}", before=before, is_sized=False).removesuffix(f" {name}")
