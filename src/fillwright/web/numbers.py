"""Numbers as a person or a program writes them, taken exactly and kept to a sane size."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Final

__all__ = ["count_of", "number_of"]

_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]{1,16}(?:\.[0-9]{0,16})?|\.[0-9]{1,16})", re.ASCII)
_COUNT: Final = re.compile(r"[0-9]{1,9}")


def number_of(text: str) -> Decimal | None:
    """Return the number that a text holds in plain figures with a point, or None.

    Powers of ten, underscores and figures of other scripts are what no scale shows and no
    key of a number pad types; Python would read them all.
    """
    return Decimal(text) if _NUMBER.fullmatch(text) else None


def count_of(text: str) -> int | None:
    """Return the count that a text holds, or None."""
    return int(text) if _COUNT.fullmatch(text) else None
