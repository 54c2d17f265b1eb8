"""How people and instruments write numbers: decimal point or comma, grouping, a unit behind.

A whole column is looked at before its mark is decided, since ``1,234`` alone can be two
numbers. Figures come out as exact decimals.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Final

__all__ = ["Figure", "Mark", "Writing", "figure", "looks_like_figure", "writing_of"]

MOST_DIGITS: Final = 18
_SIGNS: Final = str.maketrans(
    {
        "\u2212": "-",
        "\u2013": "-",
        "\u2019": "'",
        "\u00a0": " ",
        "\u2007": " ",
        "\u2009": " ",
        "\u202f": " ",
    }
)
_SHAPE: Final = re.compile(
    r"""(?P<number>[+-]?[0-9](?:[0-9.,'\x20]*[0-9])?|[+-]?[.,][0-9]+)[.,]?
        (?P<power>[eE][+-]?[0-9]{1,2})?
        \x20*(?P<unit>[A-Za-z]{0,2})""",
    re.VERBOSE,
)
_GROUPED: Final = {
    ",": re.compile(r"[1-9][0-9]{0,2}(,[0-9]{3})+"),
    ".": re.compile(r"[1-9][0-9]{0,2}(\.[0-9]{3})+"),
    "'": re.compile(r"[1-9][0-9]{0,2}('[0-9]{3})+"),
    " ": re.compile(r"[1-9][0-9]{0,2}( [0-9]{3})+"),
}


class Mark(StrEnum):
    """What stands between the whole number and its decimals."""

    POINT = "."
    COMMA = ","
    UNCLEAR = "?"
    MIXED = "mixed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Writing:
    """How a column writes its numbers.

    Parameters
    ----------
    mark : Mark
        ``UNCLEAR`` when the cells fit a decimal comma and a grouping comma alike, ``MIXED``
        when some can only be the one and some only the other.
    groups : bool
        True when some cell groups its thousands beyond doubt, so that others may.
    """

    mark: Mark
    groups: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A number as written in a cell; `unit` is what stood behind it, or empty."""

    value: Decimal
    unit: str


def looks_like_figure(text: str) -> bool:
    """Say whether a cell holds a number in any of the ways of writing one."""
    return _SHAPE.fullmatch(_cleaned(text)) is not None


def writing_of(texts: Iterable[str], *, comma_means_decimal: bool = False) -> Writing:
    """Return how a column of cells writes its numbers.

    Parameters
    ----------
    texts : iterable of str
        The cells as written.
    comma_means_decimal : bool
        What to think of ``1,234`` where nothing else in the column tells.

    Returns
    -------
    Writing
        The decimal mark, and whether thousands are grouped.
    """
    seen: set[Mark] = set()
    groups = False
    for text in texts:
        found = _SHAPE.fullmatch(_cleaned(text))
        if found is None:
            continue
        mark, sure = _mark_of(found["number"].lstrip("+-"))
        groups |= sure
        if mark is not None:
            seen.add(mark)
    if {Mark.POINT, Mark.COMMA} <= seen:
        return Writing(mark=Mark.MIXED, groups=groups)
    if Mark.COMMA in seen:
        return Writing(mark=Mark.COMMA, groups=groups)
    if Mark.UNCLEAR in seen and not (Mark.POINT in seen and groups):
        mixed = Mark.MIXED if Mark.POINT in seen else Mark.UNCLEAR
        return Writing(mark=Mark.COMMA if comma_means_decimal else mixed, groups=groups)
    return Writing(mark=Mark.POINT, groups=groups)


def figure(text: str, *, writing: Writing) -> Figure | None:
    """Return the number that a cell holds, or None when it holds none.

    Parameters
    ----------
    text : str
        The cell as written.
    writing : Writing
        How its column writes numbers, with the mark ``POINT`` or ``COMMA``.

    Returns
    -------
    Figure or None
        The exact number with the unit behind it; None for words, an empty cell, a wrong
        grouping, more than 18 digits, or what could be two numbers.
    """
    found = _SHAPE.fullmatch(_cleaned(text))
    if found is None:
        return None
    number = found["number"]
    sign = "-" if number.startswith("-") else ""
    whole, _, part = number.lstrip("+-").partition(str(writing.mark))
    if part and not part.isdigit():
        return None
    for between in (",", ".", "'", " "):
        if between in whole:
            alone = between in ",." and not part and whole.count(between) == 1
            if _GROUPED[between].fullmatch(whole) is None or (alone and not writing.groups):
                return None
            whole = whole.replace(between, "")
    if len(whole) + len(part) > MOST_DIGITS:
        return None
    behind = f".{part}" if part else ""
    value = Decimal(f"{sign}{whole or '0'}{behind}{found['power'] or ''}")
    return Figure(value=value, unit=found["unit"])


def _cleaned(text: str) -> str:
    """Return a cell with one kind of minus, space and apostrophe."""
    return text.strip().translate(_SIGNS)


def _mark_of(number: str) -> tuple[Mark | None, bool]:
    """Return the decimal mark that one number shows, and whether it surely groups."""
    commas, points = number.count(","), number.count(".")
    if commas and points:
        return (Mark.POINT if number.rindex(".") > number.rindex(",") else Mark.COMMA), True
    if commas > 1 or points > 1:
        return (Mark.POINT if commas else Mark.COMMA), True
    if commas:
        return (Mark.UNCLEAR if _GROUPED[","].fullmatch(number) else Mark.COMMA), False
    if points and not _GROUPED["."].fullmatch(number):
        return Mark.POINT, False
    return None, False
