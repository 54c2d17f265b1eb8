"""JSON that comes from outside, within limits: length, depth, names once, figures and letters.

Nothing in it is run and no path in it is opened.
"""

from __future__ import annotations

import json
import math
import re
from typing import Any, Final

__all__ = ["document_of"]

_DEEPEST: Final = 12
_LONGEST_TEXT: Final = 20_000
_LARGEST_COUNT: Final = 2**53 - 1
_LARGEST: Final = 1e15
_ALLOWED: Final = "\n\t"


def document_of(line: bytes) -> dict[str, Any]:
    """Return the JSON object that a line holds.

    Parameters
    ----------
    line : bytes
        UTF-8.

    Returns
    -------
    dict
        Checked through and through.

    Raises
    ------
    ValueError
        With why it is refused, in a few words.
    """
    try:
        text = line.decode("utf-8")
    except UnicodeDecodeError as error:
        message = "it is not text"
        raise ValueError(message) from error
    if _depth(text) > _DEEPEST:
        message = "it is nested too deep"
        raise ValueError(message)
    try:
        found = json.loads(text, parse_constant=_no_constant, object_pairs_hook=_once)
    except (ValueError, RecursionError) as error:
        message = "it is not readable as JSON"
        raise ValueError(message) from error
    if not isinstance(found, dict):
        message = "it is no JSON object"
        raise ValueError(message)  # noqa: TRY004  what a file holds, not what a caller gave
    _check(found)
    return found


def _check(value: object) -> None:
    """Raise ValueError for a figure or a text beyond all limits."""
    if isinstance(value, dict):
        for name, part in value.items():
            _check(name)
            _check(part)
    elif isinstance(value, list):
        for part in value:
            _check(part)
    elif isinstance(value, bool) or value is None:
        return
    elif isinstance(value, int):
        if abs(value) > _LARGEST_COUNT:
            message = "a count in it is too large"
            raise ValueError(message)
    elif isinstance(value, float):
        if not math.isfinite(value) or abs(value) > _LARGEST:
            message = "a figure in it is too large"
            raise ValueError(message)
    else:
        _check_text(str(value))


def _check_text(text: str) -> None:
    """Raise ValueError for a text that is too long, or cannot be shown."""
    if len(text) > _LONGEST_TEXT:
        message = "a text in it is too long"
        raise ValueError(message)
    if not text.isprintable() and any(
        (sign < " " or "\x7f" <= sign <= "\x9f") and sign not in _ALLOWED for sign in text
    ):
        message = "a text in it holds signs that cannot be shown"
        raise ValueError(message)


def _depth(text: str) -> int:
    """Return how deep brackets are nested, those inside texts left out."""
    deepest = depth = 0
    for bracket in re.findall(r"[\[{\]}]", re.sub(r'"(?:[^"\\]|\\.)*"', "", text)):
        depth += 1 if bracket in "[{" else -1
        deepest = max(deepest, depth)
    return deepest


def _no_constant(name: str) -> float:
    """Refuse figures that are none."""
    raise ValueError(name)


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """Refuse a name that comes twice."""
    found = dict(pairs)
    if len(found) != len(pairs):
        message = "a name comes twice"
        raise ValueError(message)
    return found
