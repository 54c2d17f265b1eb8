"""Names that people gave: they stand in every language as they were typed.

A name is taken out of a text before the text is translated, a sign that is no letter stands in
its place, and the name is put back after.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Final

from fillwright.records.sitefold import SiteState

__all__ = ["NOBODY", "Names", "names_of", "unmasked"]

_FIRST: Final = 0xF0000
_SIGN: Final = re.compile("[\U000f0000-\U000ffffd]")
_SHORTEST: Final = 3


class Names:
    """Some names, told by being the very same collection."""

    def __init__(self, words: Iterable[str]) -> None:
        self.words = tuple(sorted(words, key=lambda word: (-len(word), word)))
        each = "|".join(re.escape(word) for word in self.words)
        self._pattern = re.compile(rf"(?<!\w)(?:{each})(?!\w)") if each else None

    def masked(self, text: str) -> tuple[str, list[str]]:
        """Return a text with a sign in the place of each name, and the names in their order."""
        if self._pattern is None or _SIGN.search(text):
            return text, []
        held: list[str] = []

        def sign(found: re.Match[str]) -> str:
            if found[0] not in held:
                held.append(found[0])
            return chr(_FIRST + held.index(found[0]))

        masked = self._pattern.sub(sign, text)
        return masked, held


NOBODY: Final = Names(())
"""No names at all."""


def unmasked(text: str, held: Sequence[str]) -> str:
    """Return a text with the names in the place of their signs.

    Parameters
    ----------
    text : str
        A text with signs.
    held : sequence of str
        The names, in the order of their signs.
    """

    def name(found: re.Match[str]) -> str:
        at = ord(found[0]) - _FIRST
        return held[at] if at < len(held) else found[0]

    return _SIGN.sub(name, text)


def names_of(site: SiteState) -> Names:
    """Return every name that a site keeps: of people, products and things, and of its maker.

    Parameters
    ----------
    site : SiteState
        What the site keeps.
    """
    settings = site.settings
    words = {
        settings.maker,
        settings.maker.partition(" (")[0],
        *(person.name for person in site.people.values()),
        *site.products,
        *site.containers,
        *site.machines,
        *site.scales,
    }
    kept = frozenset(word for word in words if len(word) >= _SHORTEST and not word.isdigit())
    return _names(kept)


@lru_cache(maxsize=16)
def _names(words: frozenset[str]) -> Names:
    """Return the same collection for the same words."""
    return Names(words)
