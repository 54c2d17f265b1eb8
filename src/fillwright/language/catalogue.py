"""Reads a catalogue (GNU gettext) and finds which of its texts a sentence is.

A text with placeholders is a pattern; patterns are found by the rarest of their words, so a
sentence is held against a handful of them and never against all.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from pathlib import Path
from typing import Final

from fillwright.language.measures import UNIT_WORDS
from fillwright.language.usfigures import turned_names
from fillwright.records.units import US_CUSTOMARY

__all__ = [
    "PLACEHOLDER",
    "SENTENCE_END",
    "TURNED",
    "TURNED_UNIT",
    "Catalogue",
    "Pattern",
    "catalogue_file",
    "load",
    "script_texts",
]

FOLDER: Final = Path(__file__).parent / "locale"
TEMPLATE: Final = FOLDER / "fillwright.pot"
PLACEHOLDER: Final = re.compile(r"\{([a-z][a-z0-9_]*)\}")
SENTENCE_END: Final = re.compile(
    r"(?<=[.!?])\s+(?=[\"'(<{A-Z0-9\u201c\u2212+\U000f0000-\U000ffffd-])"
)
"""Where a text is cut into sentences, when it is gathered and when it is said."""
TURNED: Final = "us_"
TURNED_UNIT: Final = f"{TURNED}unit_"
"""What the placeholders of figures and units that were turned before begin with.

Behind that of a unit stands its place in the table of units, so that it holds no other."""
_FIGURE: Final = r"[+\-\u2212±]?\d[\d.,]*"
_BESIDE: Final = r" \([^()]+\)"

_UNESCAPED: Final = re.compile(r"\\(.)")
_SIGNS: Final = {"n": "\n", "t": "\t", "r": "\r"}
_WORD: Final = re.compile(r"[^\W\d_]+")
_TAIL_SIGNS: Final = frozenset(",;:(.\u2013")
_WHOLE: Final = re.compile(r"(?<![\w}])[^\W\d_]+(?![\w{])")


@dataclass(slots=True)
class Pattern:
    """A text with placeholders, and what it is in the language."""

    source: str
    target: str
    letters: int
    head: str
    tail: str
    _compiled: re.Pattern[str] | None = field(default=None)

    def match(self, text: str) -> dict[str, str] | None:
        """Return what stands in each placeholder, or None where a text is not of this pattern."""
        if not (text.startswith(self.head) and text.endswith(self.tail)):
            return None
        if self._compiled is None:
            self._compiled = _compiled(self.source)
        found = self._compiled.fullmatch(text)
        return None if found is None else found.groupdict()


class Catalogue:
    """Every text of one language."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        self.exact: dict[str, str] = {}
        self._patterns: list[Pattern] = []
        for source, target in texts.items():
            if PLACEHOLDER.search(source):
                self._patterns.append(_pattern(source, target))
            else:
                self.exact[source] = target

    @cached_property
    def _index(self) -> dict[str, list[Pattern]]:
        """Return the patterns by the rarest of their words."""
        words = [set(_anchors(pattern.source)) for pattern in self._patterns]
        often = Counter(word for each in words for word in each)
        index: defaultdict[str, list[Pattern]] = defaultdict(list)
        for pattern, own in zip(self._patterns, words, strict=True):
            index[min(own, key=lambda word: (often[word], word), default="")].append(pattern)
        return index

    def candidates(self, text: str) -> list[tuple[Pattern, dict[str, str]]]:
        """Return the patterns that a text may be of, the one with most letters first."""
        index = self._index
        found: list[tuple[Pattern, dict[str, str]]] = []
        for word in {"", *_WORD.findall(text)}:
            for pattern in index.get(word, ()):
                held = pattern.match(text)
                if held is not None:
                    found.append((pattern, held))
        found.sort(key=lambda one: (-one[0].letters, one[0].source))
        return found

    @cached_property
    def _tails(self) -> dict[str, list[Pattern]]:
        """Return the parts that stand behind sentences, by the first of their words."""
        found: defaultdict[str, list[Pattern]] = defaultdict(list)
        plain = [_pattern(source, target) for source, target in self.exact.items()]
        for pattern in (*self._patterns, *plain):
            if pattern.source[:1] in _TAIL_SIGNS:
                found[next(iter(_anchors(pattern.source)), "")].append(pattern)
        return found

    def tails(self, text: str) -> list[tuple[int, Pattern, dict[str, str]]]:
        """Return what a text may end in: where it starts, its pattern, what it holds."""
        found: list[tuple[int, Pattern, dict[str, str]]] = []
        index = self._tails
        for word in {"", *_WORD.findall(text)}:
            for pattern in index.get(word, ()):
                at = text.rfind(pattern.head, 1)
                held = pattern.match(text[at:]) if at > 0 else None
                if held is not None:
                    found.append((at, pattern, held))
        found.sort(key=lambda one: (-one[1].letters, one[1].source))
        return found


def catalogue_file(code: str) -> Path:
    """Return where the catalogue of a language is kept."""
    return FOLDER / code / "LC_MESSAGES" / "fillwright.po"


@cache
def load(file: Path) -> Mapping[str, str]:
    """Return the texts of a catalogue; one that waits for its translation is left out.

    Parameters
    ----------
    file : Path
        The file; of a template every text stands for itself.
    """
    is_template = file.suffix == ".pot"
    return {
        source: source if is_template else target
        for source, target, head in _entries(file)
        if source and (is_template or (target and "fuzzy" not in head))
    }


@cache
def script_texts(file: Path) -> tuple[str, ...]:
    """Return the texts of a catalogue that scripts of pages say."""
    return tuple(source for source, _, head in _entries(file) if source and ".js" in head)


def _entries(file: Path) -> Iterator[tuple[str, str, str]]:
    """Yield each text of a catalogue, its translation, and its places and flags.

    The files are written by our own gathering, one text a block; the library that writes them
    takes seconds to read them, which nobody shall wait for.
    """
    for block in file.read_text("utf-8").split("\n\n"):
        held = {"msgid": "", "msgstr": ""}
        head: list[str] = []
        part = ""
        for line in block.split("\n"):
            if line.startswith("#"):
                head += [line] if line.startswith(("#:", "#,")) else []
                part = "" if line.startswith("#~") else part
                continue
            word, _, rest = line.partition(" ")
            if word in held:
                part, line = word, rest  # noqa: PLW2901
            if part:
                held[part] += _UNESCAPED.sub(lambda one: _SIGNS.get(one[1], one[1]), line[1:-1])
        yield held["msgid"], held["msgstr"], "\n".join(head)


def _pattern(source: str, target: str) -> Pattern:
    """Return a pattern with what every text of it begins and ends with."""
    pieces = PLACEHOLDER.split(source)[::2]
    letters = sum(len(_letters(piece)) for piece in pieces)
    return Pattern(source, target, letters, pieces[0], pieces[-1])


def _letters(text: str) -> list[str]:
    """Return the letters of a text."""
    return [letter for letter in text if letter.isalpha()]


def _anchors(source: str) -> Iterator[str]:
    """Yield the words of a pattern that stand by themselves."""
    yield from _WHOLE.findall(PLACEHOLDER.sub("{}", source))


def _held(name: str) -> str:
    """Return what a placeholder may hold, as a regular expression."""
    if not name.startswith(TURNED):
        return ".+?"
    if not name.startswith(TURNED_UNIT):
        return _FIGURE if "figure" in name else _BESIDE
    unit = tuple(US_CUSTOMARY)[int(name.split("_")[2])]
    ways = [way for way, meant in UNIT_WORDS.items() if meant == unit]
    return "|".join(re.escape(one) for one in sorted({*ways, *turned_names(unit)}, key=len)[::-1])


def _compiled(source: str) -> re.Pattern[str]:
    """Return a pattern as a regular expression; the same placeholder holds the same twice."""
    parts = PLACEHOLDER.split(source)
    seen: set[str] = set()
    found: list[str] = []
    for at, part in enumerate(parts):
        if at % 2 == 0:
            found.append(re.escape(part))
        elif part in seen:
            found.append(f"(?P={part})")
        else:
            seen.add(part)
            found.append(f"(?P<{part}>{_held(part)})")
    return re.compile("".join(found), re.DOTALL)
