"""The codes nearest to one that was typed: fewest letters changed, put in or left out."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

__all__ = ["edit_distance", "nearest", "plain_code"]

_MOST: Final = 5
_LONGEST: Final = 120
"""Letters that are compared: no code is longer, and comparing takes the square of them."""


def plain_code(code: str) -> str:
    """Return a code as codes are compared: no difference of case, blanks or kinds of hyphen."""
    one = code.casefold().replace("\u2010", "-").replace("\u2013", "-").replace("\u2212", "-")
    return "".join(one.split())


def edit_distance(one: str, other: str) -> int:
    """Return the fewest letters to change, put in or leave out that make one text the other.

    Parameters
    ----------
    one, other : str
        Any texts.

    Returns
    -------
    int
        0 for equal texts; the recurrence of V. Levenshtein (1965), from memory.
    """
    row = list(range(len(other) + 1))
    for i, left in enumerate(one, start=1):
        above, row[0] = row[0], i
        for j, right in enumerate(other, start=1):
            above, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, above + (left != right))
    return row[-1]


def nearest(code: str, known: Iterable[str], *, most: int = _MOST) -> tuple[str, ...]:
    """Return the known codes nearest to one, the nearest first.

    Parameters
    ----------
    code : str
        What was typed.
    known : iterable of str
        Codes that are on record.
    most : int
        No more than so many.

    Returns
    -------
    tuple of str
        Those that differ in at most half of their letters, or begin or end alike.
    """
    typed = plain_code(code[:_LONGEST])
    ranked = []
    for one in dict.fromkeys(known):
        plain = plain_code(one[:_LONGEST])
        away = edit_distance(typed, plain)
        is_part = bool(typed) and (plain.startswith(typed) or plain.endswith(typed))
        if is_part or 2 * away <= max(len(typed), len(plain)):
            ranked.append((0 if is_part else 1, away, one))
    return tuple(one for *_, one in sorted(ranked)[:most])
