"""Reads the pages of the manual: Markdown in, HTML out, links led to where the pages are shown.

The pages lie beside the program when it was installed, and in the project's own folder while
somebody works on it. Nothing in a page is taken as HTML, so nothing in it can be obeyed.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path, PurePosixPath
from typing import Any, Final

from markdown_it.token import Token

from fillwright.errors import BadInput
from fillwright.language.manual_blocks import reader
from fillwright.language.manual_voice import speak_page, speak_title
from fillwright.language.tongues import ENGLISH

__all__ = ["Page", "Shelf", "find_page", "picture", "shelves"]

_NAME: Final = re.compile(r"[a-z0-9][a-z0-9-]*(?:/[a-z0-9][a-z0-9-]*){0,2}")
_PICTURE: Final = re.compile(r"(?:[a-z0-9-]+/)?[a-z0-9-]+\.(?:png|svg)")
_ENTRY: Final = re.compile(r"^- \[([^\]]+)\]\(([^)]+)\.md\)", re.MULTILINE)
_AWAY: Final = re.compile(r"[a-z]+:|//|#")


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A page of the manual.

    Parameters
    ----------
    name : str
        Where it lies, without its ending, such as ``"howto/settle-held-jars"``.
    title : str
        Its first heading.
    html : str
        Its body.
    """

    name: str
    title: str
    html: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """One kind of pages, in the order in which they are read.

    `pages` are name and title; `folded` are those of a long list below them, with its heading
    `fold`.
    """

    title: str
    pages: tuple[tuple[str, str], ...]
    fold: str = ""
    folded: tuple[tuple[str, str], ...] = ()

    @property
    def all_pages(self) -> tuple[tuple[str, str], ...]:
        """Return the pages of both lists."""
        return (*self.pages, *self.folded)


Lead = Callable[[str, str], str]
"""Gives the address of a page, or of a picture, as seen from another page."""


def shelves(language: str = ENGLISH) -> tuple[Shelf, ...]:
    """Return the shelves of the manual with their pages.

    Parameters
    ----------
    language : str
        Code of the language of their titles; a title that it does not have is English.
    """
    found = []
    for part in re.split(r"^## ", _text("README"), flags=re.MULTILINE)[1:]:
        title, _, rest = part.partition("\n")
        near, _, far = rest.partition("\n### ")
        fold, _, below = far.partition("\n")
        found.append(
            Shelf(
                title=speak_title(title.strip(), language),
                pages=_entries(near, language),
                fold=speak_title(fold, language),
                folded=_entries(below, language),
            )
        )
    return tuple(found)


def _entries(text: str, language: str) -> tuple[tuple[str, str], ...]:
    """Return name and title of the pages that a list leads to."""
    return tuple((name, speak_title(words, language)) for words, name in _ENTRY.findall(text))


def find_page(name: str, *, lead: Lead, language: str = ENGLISH) -> Page:
    """Return a page of the manual.

    Parameters
    ----------
    name : str
        Where it lies, without its ending.
    lead : callable
        Given the page and what it links to (``"reference/journal.md"``, ``"shots/run.png"``,
        seen from the top of the manual), returns the address to write.
    language : str
        Code of the language; what it does not have is English.

    Returns
    -------
    Page
        Drawn as HTML.

    Raises
    ------
    BadInput
        If there is no such page.
    """
    tokens = reader().parse(_text(name))
    title = next(
        (
            tokens[place + 1].content
            for place, token in enumerate(tokens)
            if token.type == "heading_open" and token.tag == "h1"
        ),
        name,
    )
    # Links end in the English names of headings, whatever the page speaks.
    _name_headings(tokens)
    speak_page(tokens, language)
    for token in tokens:
        for child in token.children or ():
            _lead_on(child, name, lead)
    html = reader().renderer.render(tokens, reader().options, {})
    return Page(name=name, title=speak_title(title, language), html=html)


def picture(name: str) -> bytes:
    """Return a picture of the manual.

    Raises
    ------
    BadInput
        If there is no such picture.
    """
    path = folder() / name
    if not _PICTURE.fullmatch(name) or not path.is_file():
        message = f"There is no picture {name[:60]!r} in the manual."
        raise BadInput(message, field="picture", given=name[:60], code="choice")
    return path.read_bytes()


@cache
def folder() -> Path:
    """Return the folder of the pages."""
    beside = Path(__file__).parent / "docs"
    return beside if beside.is_dir() else Path(__file__).parents[3] / "docs"


def _text(name: str) -> str:
    """Return the text of a page."""
    path = folder() / f"{name}.md"
    if not (_NAME.fullmatch(name) or name == "README") or not path.is_file():
        message = f"There is no page {name[:60]!r} in the manual. Open its first page."
        raise BadInput(message, field="page", given=name[:60], code="choice")
    return path.read_text(encoding="utf-8")


def _name_headings(tokens: list[Token]) -> None:
    """Give every heading a name that links can end in."""
    taken: dict[str, int] = {}
    for place, token in enumerate(tokens):
        if token.type == "heading_open":
            words = tokens[place + 1].content.lower()
            slug = re.sub(r"[^\w -]", "", words).strip().replace(" ", "-") or "part"
            count = taken.get(slug, 0)
            taken[slug] = count + 1
            token.attrSet("id", f"{slug}-{count}" if count else slug)


def _lead_on(token: Token, name: str, lead: Lead) -> None:
    """Give a link or a picture the address under which it is shown."""
    attribute = {"link_open": "href", "image": "src"}.get(token.type)
    if attribute is None:
        return
    target: Any = token.attrGet(attribute)
    if not isinstance(target, str) or _AWAY.match(target):
        return
    place, mark, part = target.partition("#")
    seen = _from_top(PurePosixPath(name).parent / place)
    token.attrSet(attribute, lead(name, seen) + mark + part)


def _from_top(path: PurePosixPath) -> str:
    """Return a path without its steps up; one that leaves the manual keeps them."""
    parts: list[str] = []
    for part in path.parts:
        if part == ".." and parts and parts[-1] != "..":
            parts.pop()
        elif part != ".":
            parts.append(part)
    return "/".join(parts)
