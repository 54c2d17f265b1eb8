"""Cuts a page into its texts: what stands together as one sentence, and what is left alone.

A run is a stretch of text with nothing but inline marks in it (``<b>``, ``<a>``). The program
that collects texts and the edge that translates them cut by these same functions.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from html import unescape
from typing import Final

__all__ = ["SPOKEN", "Run", "Token", "runs_of", "spoken_attributes", "tokens_of"]

_TOKEN: Final = re.compile(
    r"<!--.*?-->|<![^>]*>|<(?P<end>/?)(?P<name>[a-zA-Z][\w-]*)"
    r"(?P<rest>(?:[^<>\"']|\"[^\"]*\"|'[^']*')*)>|[^<]+|<",
    re.DOTALL,
)
_INLINE: Final = frozenset({"a", "abbr", "b", "bdi", "em", "i", "span", "strong", "time"})
_CLOSED: Final = frozenset({"script", "style", "textarea", "code", "pre"})
SPOKEN: Final = ("alt", "title", "aria-label", "aria-roledescription", "placeholder", "data-long")
"""Attributes that people read or hear."""
_ATTRIBUTE: Final = re.compile(
    rf"(?P<lead>(?:^|\s)(?:{'|'.join(SPOKEN)})=)(?P<quote>[\"'])(?P<words>.*?)(?P=quote)",
    re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Token:
    """A tag or a stretch of text, as it stands in the page; `name` is empty for text."""

    raw: str
    name: str = ""
    is_end: bool = False
    is_marked: bool = False

    @property
    def is_inline(self) -> bool:
        """Return whether it may stand within a sentence."""
        return not self.name or self.name in _INLINE


@dataclass(slots=True)
class Run:
    """Tokens that stand together; `is_closed` ones are left as they are."""

    tokens: list[Token] = field(default_factory=list)
    is_closed: bool = False

    def core(self) -> tuple[list[Token], list[Token], list[Token]]:
        """Return what stands around the sentence at its start, the sentence, and its end.

        Around it are blanks, and tags that hold the whole of it.
        """
        first, last = 0, len(self.tokens)
        while first < last:
            if not self.tokens[first].name and not self.tokens[first].raw.strip():
                first += 1
            elif not self.tokens[last - 1].name and not self.tokens[last - 1].raw.strip():
                last -= 1
            elif _end_of(self.tokens, first) == last - 1 and not self.tokens[first].is_marked:
                first, last = first + 1, last - 1
            elif _is_open(self.tokens, first, last):
                first += 1
            else:
                break
        return self.tokens[:first], self.tokens[first:last], self.tokens[last:]

    def joint(self) -> tuple[str, list[str]]:
        """Return the sentence as one text with numbered marks, and what each mark stands for.

        A pair of tags is ``<1>`` and ``</1>``; an element that is not to be translated is
        ``<1/>``.
        """
        words: list[str] = []
        kept: list[str] = []
        names: list[int] = []
        tokens = iter(self.core()[1])
        for token in tokens:
            if not token.name:
                words.append(unescape(token.raw))
            elif token.is_end:
                words.append(f"</{names.pop()}>" if names else "")
            elif token.is_marked:
                kept.append(_whole_element(token, tokens))
                words.append(f"<{len(kept)}/>")
            else:
                kept.append(token.raw)
                names.append(len(kept))
                words.append(f"<{len(kept)}>")
        return " ".join("".join(words).split()), kept

    def is_sentence(self) -> bool:
        """Return whether words stand both inside an inline tag and beside it."""
        depth, beside, inside = 0, False, False
        for token in self.core()[1]:
            if token.name:
                depth += -1 if token.is_end else 1
            elif any(sign.isalnum() for sign in unescape(token.raw)):
                beside, inside = beside or not depth, inside or depth > 0
        return beside and inside

    @property
    def texts(self) -> list[str]:
        """Return its texts that hold a letter or a figure."""
        return [token.raw for token in self.tokens if not token.name and token.raw.strip()]


def _end_of(tokens: Sequence[Token], first: int) -> int:
    """Return where the element that starts at a token ends, or minus one."""
    if not tokens[first].name or tokens[first].is_end:
        return -1
    depth = 0
    for at in range(first, len(tokens)):
        if tokens[at].name:
            depth += -1 if tokens[at].is_end else 1
        if not depth:
            return at
    return -1


def _is_open(tokens: Sequence[Token], first: int, last: int) -> bool:
    """Return whether a tag opens what the run does not close."""
    token = tokens[first]
    return bool(token.name) and not token.is_end and not 0 <= _end_of(tokens, first) < last


def _whole_element(first: Token, rest: Iterator[Token]) -> str:
    """Return an element with all that is in it."""
    raw, depth = [first.raw], 1
    while depth:
        token = next(rest, None)
        if token is None:
            break
        raw.append(token.raw)
        if token.name == first.name:
            depth += -1 if token.is_end else 1
    return "".join(raw)


def tokens_of(html: str) -> Iterator[Token]:
    """Yield the tags and texts of a page, in order."""
    for found in _TOKEN.finditer(html):
        name = (found["name"] or "").lower()
        rest = found["rest"] or ""
        is_comment = found[0].startswith(("<!", "<?")) or found[0] == "<"
        yield Token(
            found[0],
            "!" if is_comment else name,
            is_end=bool(found["end"]),
            is_marked='translate="no"' in rest,
        )


def runs_of(tokens: Sequence[Token] | Iterator[Token]) -> Iterator[Run | Token]:
    """Yield the runs of a page, and between them the tags that end them.

    Scripts, text areas and elements marked ``translate="no"`` come as closed runs.
    """
    run = Run()
    skipped, depth = "", 0
    for token in tokens:
        if skipped:
            run.tokens.append(token)
            if token.name == skipped:
                depth += -1 if token.is_end else 1
                if not depth:
                    yield run
                    run, skipped = Run(), ""
            continue
        closes = token.name in _CLOSED or (token.is_marked and not token.is_inline)
        if closes and not token.is_end and not token.raw.endswith("/>"):
            if run.tokens:
                yield run
            run, skipped, depth = Run([token], is_closed=True), token.name, 1
        elif token.is_inline and not _breaks(run, token):
            run.tokens.append(token)
        else:
            if run.tokens:
                yield run
            run = Run()
            yield token
    if run.tokens:
        yield run


def _breaks(run: Run, token: Token) -> bool:
    """Return whether an end tag closes what was opened before the run."""
    if not token.is_end:
        return False
    opened = sum(-1 if one.is_end else 1 for one in run.tokens if one.name)
    return opened <= 0


def spoken_attributes(raw: str) -> Iterator[tuple[int, int, str]]:
    """Yield where the words of each spoken attribute of a tag stand, and the words."""
    for found in _ATTRIBUTE.finditer(raw):
        yield found.start("words"), found.end("words"), unescape(found["words"])
