"""Says the manual in another language: decides, block by block, what is shown translated.

A block that the catalogue of the manual holds is shown as it stands there. One that is a text of
the program, or made of such texts, is said as pages say it, if not a word of it stays unknown.
Any other block stays in English and says so in its tag.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from typing import Final

from markdown_it.token import Token

from fillwright.language.catalogue import SENTENCE_END, TEMPLATE, catalogue_file, load
from fillwright.language.manual_blocks import Block, blocks_of, inline
from fillwright.language.manual_files import MANUAL_TEMPLATE, manual_file
from fillwright.language.tongues import ENGLISH, Tongue, tongue_of
from fillwright.language.trial import leftward, wrapped
from fillwright.language.voice import Voice

__all__ = ["covered_texts", "known_by", "speak_page", "speak_title"]

_MARK: Final = re.compile(r"<(/?)(\d+)(/?)>")


def speak_page(tokens: Sequence[Token], language: str) -> None:
    """Put the blocks of a page in a language, in place; names of headings are left alone.

    Parameters
    ----------
    tokens : sequence of Token
        The page, its headings named already.
    language : str
        Code of the language; English changes nothing.
    """
    if language == ENGLISH:
        return
    speaker = _speaker(language)
    for place, block in list(blocks_of(tokens)):
        new = speaker.said(block)
        if new is None:
            holder = tokens[place - 2 if tokens[place - 1].hidden else place - 1]
            holder.attrSet("lang", ENGLISH)
            if speaker.tongue.is_leftward:
                holder.attrSet("dir", "ltr")
        else:
            tokens[place].children = [*block.before, *new, *block.after]


def speak_title(text: str, language: str) -> str:
    """Return a title of a page or of a shelf in a language, as letters without marks.

    Parameters
    ----------
    text : str
        Markdown of the title.
    language : str
        Code of the language.
    """
    if language != ENGLISH:
        new = _speaker(language).said(Block(text=text, inner=inline(text)))
        if new is not None:
            return "".join(token.content for token in new)
    return text.replace("`", "")


def known_by(voice: Voice, block: Block) -> tuple[Token, ...] | None:
    """Return a block as a voice says it, or None where a word of it stays unknown."""
    joint, kept = _joint(block.inner)
    marks = sorted(_MARK.findall(joint))
    new = voice.with_marks(joint) if marks else None
    if new is None:
        sentences = SENTENCE_END.split(joint)
        # One unknown sentence is enough, and to look for the others takes long.
        if any(voice.left(sentence) for sentence in sentences):
            return None
        new = " ".join(voice.said(sentence) for sentence in sentences)
    if sorted(_MARK.findall(new)) != marks:
        return None
    return tuple(_apart(new, kept))


@cache
def covered_texts() -> frozenset[str]:
    """Return every text of the program, in English, each with a small first letter too."""
    return frozenset(_with_small(load(TEMPLATE)))


class _Speaker:
    """One language of the manual."""

    def __init__(self, tongue: Tongue) -> None:
        self.tongue = tongue
        self._change: Callable[[str], str] | None = None
        if tongue.is_trial:
            self._change = leftward if tongue.is_leftward else wrapped
        files = (
            (MANUAL_TEMPLATE, TEMPLATE)
            if tongue.is_trial
            else (manual_file(tongue.code), catalogue_file(tongue.code))
        )
        self._blocks, program = (load(file) if file.exists() else {} for file in files)
        texts = {**self._blocks, **program}
        if self._change is not None:
            texts = {text: self._change(text) for text in texts}
        self._texts = _with_small(texts)
        self._voice = Voice(tongue, self._texts)
        self._own = frozenset(load(MANUAL_TEMPLATE)) if MANUAL_TEMPLATE.exists() else frozenset()

    def said(self, block: Block) -> Iterable[Token] | None:
        """Return a block in the language, or None where it stays in English."""
        found = self._blocks.get(block.text)
        if found is None and block.text in self._own and block.text not in self._texts:
            # Written by hand: pieces of it that the program has too make no sentence.
            return None
        if found is None:
            return known_by(self._voice, block)
        if self._change is None:
            return inline(found)
        return [_changed(token, self._change) for token in block.inner]


@cache
def _speaker(language: str) -> _Speaker:
    """Return the speaker of a language; its catalogues are read when it is first used."""
    return _Speaker(tongue_of(language))


def _with_small(texts: Mapping[str, str]) -> dict[str, str]:
    """Return texts, and each with a small first letter too: pages go on with it in a sentence.

    The translation keeps its own first letter, since only it knows which words are names.
    """
    small = {
        text[:1].lower() + text[1:]: new for text, new in texts.items() if text[1:2].islower()
    }
    return {**small, **texts}


def _changed(token: Token, change: Callable[[str], str]) -> Token:
    """Return a token with its letters changed, where it has any."""
    if token.type == "text" and token.content.strip():
        return _letters(change(token.content))
    return token


def _letters(text: str) -> Token:
    """Return letters as a token."""
    return Token("text", "", 0, content=text)


def _joint(inner: Iterable[Token]) -> tuple[str, dict[str, Token]]:
    """Return a block as one text with numbered marks, and what each mark stands for."""
    words: list[str] = []
    kept: dict[str, Token] = {}
    opened: list[int] = []
    number = 0
    for token in inner:
        if token.type == "text":
            words.append(token.content)
            continue
        if token.type in ("softbreak", "hardbreak"):
            words.append(" ")
            continue
        if token.nesting < 0:
            mark = f"</{opened.pop()}>"
        else:
            number += 1
            mark = f"<{number}>" if token.nesting else f"<{number}/>"
            if token.nesting:
                opened.append(number)
        kept[mark] = token
        words.append(mark)
    return " ".join("".join(words).split()), kept


def _apart(text: str, kept: Mapping[str, Token]) -> Iterable[Token]:
    """Yield a text with numbered marks as tokens again."""
    at = 0
    for found in _MARK.finditer(text):
        if found.start() > at:
            yield _letters(text[at : found.start()])
        yield kept[found[0]]
        at = found.end()
    if at < len(text):
        yield _letters(text[at:])
