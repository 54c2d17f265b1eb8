"""Two invented languages for tests: one that shows what was translated, one that runs leftward.

Both lengthen a text by a third, as a translation often does; neither is offered to people.
"""

from __future__ import annotations

import re
from typing import Final

__all__ = ["leftward", "wrapped"]

_KEPT: Final = re.compile(r"(\{[a-z][a-z0-9_]*\}|</?\d+/?>)")
_LEFTWARD: Final = str.maketrans("abcdefghijklmnopqrstuvwxyz", "ابتدهفغحيجكلمنوپقرستعظوخيز", "")
_MORE: Final = 3
_ROOM: Final = 6


def wrapped(text: str) -> str:
    """Return a text in brackets, longer by a third."""
    plain = _KEPT.sub("", text)
    more = "~" * max(1, len(plain) // _MORE)
    filler = " ".join(more[at : at + _ROOM] for at in range(0, len(more), _ROOM))
    return f"⟦{text}{filler}⟧"


def leftward(text: str) -> str:
    """Return a text in letters that run from right to left, longer by a third."""
    parts = _KEPT.split(text)
    plain = "".join(parts[::2])
    more = "ن" * max(1, len(plain) // _MORE)
    filler = " ".join(more[at : at + _ROOM] for at in range(0, len(more), _ROOM))
    words = "".join(
        part if at % 2 else part.lower().translate(_LEFTWARD) for at, part in enumerate(parts)
    )
    return f"{words} {filler}"
