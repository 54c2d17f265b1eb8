"""Cuts a page of the manual into blocks: a heading, a paragraph, a list item or a cell each.

The program that collects blocks and the one that shows them translated cut by these same
functions. A block is Markdown with its inline marks; code blocks are none.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from markdown_it import MarkdownIt
from markdown_it.token import Token

from fillwright.language.figures import unknown_letters

__all__ = ["Block", "block_of", "blocks_of", "changed_marks", "inline", "reader"]

_AROUND: Final = {
    "link_open": re.compile(r"\[(.*)\]\([^()\s]*\)"),
    "strong_open": re.compile(r"\*\*(.*)\*\*"),
}
"""Marks that may hold the whole of a block, which then is what stands in them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """One text of a page.

    Parameters
    ----------
    text : str
        Its Markdown, blanks made single, without a link or bold mark around the whole of it.
    inner : tuple of Token
        What it is drawn from.
    before, after : tuple of Token
        The marks around it.
    """

    text: str
    inner: tuple[Token, ...]
    before: tuple[Token, ...] = ()
    after: tuple[Token, ...] = ()

    @property
    def speaks(self) -> bool:
        """Return whether it has words: no code, figure, unit or sign alone."""
        return any(
            unknown_letters(token.content)
            for token in self.inner
            if token.type in ("text", "image")
        )


@cache
def reader() -> MarkdownIt:
    """Return the reader of Markdown; HTML in a page is shown, not obeyed."""
    return MarkdownIt("commonmark", {"html": False}).enable("table")


def inline(text: str) -> tuple[Token, ...]:
    """Return what one block of Markdown is drawn from."""
    tokens = reader().parseInline(text)
    return tuple(tokens[0].children or ()) if tokens else ()


def block_of(token: Token) -> Block:
    """Return the block that an inline token of a page holds."""
    text = " ".join(token.content.split())
    inner = tuple(one for one in token.children or () if one.type != "text" or one.content)
    before: tuple[Token, ...] = ()
    after: tuple[Token, ...] = ()
    while inner and _is_around(inner):
        found = _AROUND[inner[0].type].fullmatch(text)
        if found is None:
            break
        text = found[1]
        before, after = (*before, inner[0]), (inner[-1], *after)
        inner = inner[1:-1]
    return Block(text=text, inner=inner, before=before, after=after)


def blocks_of(tokens: Sequence[Token]) -> Iterator[tuple[int, Block]]:
    """Yield the blocks of a page, each with the place of its token."""
    for place, token in enumerate(tokens):
        if token.type == "inline":
            yield place, block_of(token)


def changed_marks(source: str, target: str) -> str:
    """Return what a translation has done to links, code and pictures, empty where they stand.

    Each target of a link, each span of code and each picture stands in both, as often.

    Parameters
    ----------
    source, target : str
        Markdown of the block and of its translation.
    """
    wanted, had = Counter(_kept(source)), Counter(_kept(target))
    told = []
    if wanted - had:
        told.append("left out: " + ", ".join(sorted(wanted - had)))
    if had - wanted:
        told.append("not in the text: " + ", ".join(sorted(had - wanted)))
    return "; ".join(told)


def _is_around(inner: Sequence[Token]) -> bool:
    """Return whether the first mark of a block is closed by its last."""
    if inner[0].type not in _AROUND:
        return False
    depth = 0
    for place, token in enumerate(inner):
        depth += token.nesting
        if not depth:
            return place == len(inner) - 1
    return False


def _kept(text: str) -> Iterator[str]:
    """Yield what a translation may not touch."""
    for token in inline(text):
        if token.type == "link_open":
            yield f"({token.attrGet('href')})"
        elif token.type == "image":
            yield f"!({token.attrGet('src')})"
        elif token.type == "code_inline":
            yield f"`{token.content}`"
