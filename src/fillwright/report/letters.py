"""Which letters the shipped fonts can print, and what stands for those that they cannot.

A character without a letter is printed as its code, never as an empty box.
"""

from __future__ import annotations

import re
import struct
import unicodedata
from functools import cache
from pathlib import Path
from typing import Final

__all__ = ["fonts_folder", "missing_characters", "printable"]

_FONTS: Final = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")
# Joiners shape Arabic and Indic words, the marks set a direction; they print as nothing.
_SILENT: Final = frozenset("\u200c\u200d\u200e\u200f")
_SPACES: Final = frozenset("\t\n\r\x0b\x0c\x85\u2028\u2029")
_LEFT_TO_RIGHT_MARK: Final = "\u200e"
_BREAK_HERE: Final = "\u200b"
_LONGEST_WORD: Final = 24
_LONGEST_IN_COLUMN: Final = 14
_UNICODE_FULL: Final = 12
_AFTER_RIGHT_TO_LEFT: Final = re.compile(r"([\u0590-\u08ff][^;A-Za-z]*);(?= )")


def missing_characters(text: str) -> tuple[str, ...]:
    """Return the characters of `text` that the shipped fonts have no letter for.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    tuple of str
        Each once, in order of its code.
    """
    letters = _letters()
    return tuple(
        sorted(
            c for c in set(text) if c not in _SPACES and (_is_hidden(c) or ord(c) not in letters)
        )
    )


def printable(text: str, *, may_break: bool = True, is_narrow: bool = False) -> str:
    """Return `text` as it can be printed.

    Parameters
    ----------
    text : str
        Any text.
    may_break : bool
        Whether a long word may be broken at the end of a line.
    is_narrow : bool
        True in a column of a table, where a word has little room.

    Returns
    -------
    str
        The text with each character that has no letter given as its code in brackets, line
        ends as spaces, and a mark after words that run from right to left, so that numbers
        beside them keep their place.
    """
    missing = set(missing_characters(text))
    printed = "".join(
        f"[U+{ord(c):04X}]" if c in missing else " " if c in _SPACES else c for c in text
    )
    if may_break:
        printed = " ".join(_breakable(word, is_narrow=is_narrow) for word in printed.split(" "))
    # What stands between two names belongs to neither: else their order is turned about.
    printed = _AFTER_RIGHT_TO_LEFT.sub(rf"\1{_LEFT_TO_RIGHT_MARK};", printed)
    if any(unicodedata.bidirectional(c) in ("R", "AL", "AN") for c in printed):
        printed += _LEFT_TO_RIGHT_MARK
    return printed


def fonts_folder() -> Path:
    """Return the folder of the shipped fonts."""
    return Path(__file__).parent / "fonts"


def _breakable(word: str, *, is_narrow: bool) -> str:
    """Return a long word with places where a line may end, no wider apart than half of it."""
    longest = _LONGEST_IN_COLUMN if is_narrow else _LONGEST_WORD
    if len(word) <= longest:
        return word
    step = longest // 2
    return _BREAK_HERE.join(word[at : at + step] for at in range(0, len(word), step))


def _is_hidden(character: str) -> bool:
    """Return True for controls and for format characters that could disguise a text."""
    return character not in _SILENT and unicodedata.category(character) in ("Cc", "Cf", "Cs")


@cache
def _letters() -> frozenset[int]:
    """Return the codes that both weights of the shipped font have a letter for."""
    sets = [_codes((fonts_folder() / name).read_bytes()) for name in _FONTS]
    return frozenset(set.intersection(*sets))


def _codes(font: bytes) -> set[int]:
    """Return the codes in the character map of a TrueType font.

    Table ``cmap``, format 12, of the OpenType specification (layout from memory).
    """
    tables = struct.unpack_from(">H", font, 4)[0]
    start = next(
        struct.unpack_from(">I", font, 12 + 16 * i + 8)[0]
        for i in range(tables)
        if font[12 + 16 * i : 16 + 16 * i] == b"cmap"
    )
    maps = struct.unpack_from(">H", font, start + 2)[0]
    places = [start + struct.unpack_from(">I", font, start + 8 + 8 * i)[0] for i in range(maps)]
    full = next(at for at in places if struct.unpack_from(">H", font, at)[0] == _UNICODE_FULL)
    groups = struct.unpack_from(">I", font, full + 12)[0]
    codes: set[int] = set()
    for i in range(groups):
        first, last, glyph = struct.unpack_from(">III", font, full + 16 + 12 * i)
        codes.update(range(first + (glyph == 0), last + 1))
    return codes
