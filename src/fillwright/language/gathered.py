"""What counts as a text for people, and the texts gathered so far.

A text has a word in it; a key, an address, a pattern, a style or a name in code has none. Texts
are kept sentence by sentence, blanks made single, each with the places that say it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Final

from fillwright.language.catalogue import PLACEHOLDER, SENTENCE_END

__all__ = ["Gathered", "is_label", "is_text", "is_word", "sentences"]

_BLANKS: Final = re.compile(r"\s+")
_WORD: Final = re.compile(r"[^\W\d_]{2,}")
_TAG: Final = re.compile(r"<[^>]*>")
_PLAIN_WORD: Final = re.compile(r"(?<![\w/.])[a-z]{2,}(?![\w/])")
_LABEL: Final = re.compile(r"[A-Z][a-z]+(?:[-'][a-z]+)?[.:?!,]?")
_NO_TEXT: Final = re.compile(
    r"""^[\w.:/\[\]{}-]*[_/\\=\[\]{}][\w.:/\[\]{}-]*$   # a key, a path, a name with underscores
    | ^\.?/ | ://  | ^[.#@]\w | ^--?\w[\w-]*$           # an address, a style, an option
    | [\\^$]\S | \(\?[:=!P<] | \[\^                      # a pattern
    | %[dbBYmHMSjp]\b                                    # a form of a date
    | ^\s*(?:SELECT|INSERT|CREATE|PRAGMA|UPDATE|DELETE|BEGIN|DROP|ALTER|FROM|WHERE)\b
    | ^</?\w[^>]*>$ | ^(?:application|text|image|font)/ | ^[a-z-]+: [a-z0-9-]+;?$
    | ^[MLHVCZ][\d\s.-]""",
    re.VERBOSE,
)


def is_text(text: str) -> bool:
    """Return whether a literal is a text for people: several words, or a word with a capital."""
    # Of a drawing or a page only what stands between its tags is said.
    said = _TAG.sub(" ", text) if text.lstrip().startswith("<") else text
    plain = PLACEHOLDER.sub(" ", said).strip()
    if not _WORD.search(plain) or _NO_TEXT.search(text.strip()):
        return False
    if " " in text.strip() and _PLAIN_WORD.search(plain):
        return True
    return is_label(plain)


def is_label(text: str) -> bool:
    """Return whether a text is one word with a capital, as on a button or a heading."""
    return bool(_LABEL.fullmatch(text.strip()))


def is_word(text: str) -> bool:
    """Return whether a text is a word or a few, in small letters."""
    return bool(re.fullmatch(r"[a-z][a-z' -]*[a-z]", text.strip()))


def sentences(text: str) -> list[str]:
    """Return the sentences of a text, with single blanks."""
    return SENTENCE_END.split(_BLANKS.sub(" ", text.strip()))


@dataclass(slots=True)
class _Kept:
    """One text with the places that say it and what its placeholders hold."""

    places: dict[str, None] = field(default_factory=dict)
    notes: dict[str, None] = field(default_factory=dict)


class Gathered:
    """Texts in the order in which they were found."""

    def __init__(self) -> None:
        self._texts: dict[str, _Kept] = {}

    def __iter__(self) -> Iterator[tuple[str, list[str], list[str]]]:
        """Yield each text with its places and its notes."""
        for text, kept in self._texts.items():
            yield text, list(kept.places), list(kept.notes)

    def __len__(self) -> int:
        return len(self._texts)

    def add(
        self, text: str, place: str, *, notes: Iterable[str] = (), is_whole: bool = False
    ) -> None:
        """Keep a text, sentence by sentence unless it is whole.

        Parameters
        ----------
        text : str
            The text with its placeholders.
        place : str
            File and line.
        notes : iterable of str
            What each placeholder holds, as ``{name}: expression``.
        is_whole : bool
            True for a text with numbered marks, which is one text.
        """
        parts = [_BLANKS.sub(" ", text.strip())] if is_whole else sentences(text)
        for part in parts:
            if not _WORD.search(PLACEHOLDER.sub(" ", part)):
                continue
            kept = self._texts.setdefault(part, _Kept())
            kept.places[place] = None
            for note in notes:
                if note.partition(":")[0] in part:
                    kept.notes[note] = None
