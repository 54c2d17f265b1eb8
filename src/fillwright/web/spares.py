"""What a page that asks again need not be sent: what it has already, or does not show.

A page is a frame with parts in it, marked by what may change: ``data-part``, all of the element;
``data-text``, its words; ``data-own``, its attributes. A page names what it has by hashes. Where
it has the frame, it is told the parts that changed; else it is sent a page without what it has.
"""

from __future__ import annotations

import json
import re
from base64 import urlsafe_b64encode
from collections.abc import Iterator
from dataclasses import dataclass, field
from hashlib import blake2b
from html import unescape
from typing import Final

__all__ = ["Sparse", "leave_out"]

_MARK: Final = re.compile(r' data-(part|text|own)=""')
_TAG: Final = re.compile(r"<(\w+)")
_ID: Final = re.compile(r' id="([^"]+)"')
_ATTRIBUTE: Final = re.compile(r' ([\w:-]+)(?:="([^"]*)")?')
_NAMESPACE: Final = ' xmlns="http://www.w3.org/2000/svg"'
_DRAWN: Final = ("g", "text")
_FRAME: Final = ' data-frame=""'
_SHUT: Final = re.compile(
    r'<section class="sheet ask" id="([^"]+)"(?=[^>]* hidden\b)[^>]*>.*?</section>', re.DOTALL
)


@dataclass(slots=True)
class Sparse:
    """A page without what the asking page has.

    Parameters
    ----------
    html : str
        The page with a hash at each part; what is left out is empty and marked ``data-as-is``.
    frame : str
        Hash of its frame.
    has_frame : bool
        Whether the asking page has the very frame of this one.
    marks : dict of str to str
        By name, the hash of each part; ``same`` of them the asking page has.
    parts, drawn : list of str
        Elements whose insides changed, whole; those within a drawing by themselves.
    texts : dict of str to tuple
        By name, hash and words of elements of which only those changed.
    own : dict of str to dict
        By name, the attributes of elements of which only those changed.
    """

    html: str = ""
    frame: str = ""
    has_frame: bool = False
    marks: dict[str, str] = field(default_factory=dict)
    same: dict[str, str] = field(default_factory=dict)
    parts: list[str] = field(default_factory=list)
    drawn: list[str] = field(default_factory=list)
    texts: dict[str, tuple[str, str]] = field(default_factory=dict)
    own: dict[str, dict[str, str]] = field(default_factory=dict)

    def told(self) -> str:
        """Return what changed within the frame, and of what it is a change, as JSON."""
        told = {
            "frame": self.frame,
            "same": self.same,
            "parts": "".join(self.parts),
            "drawn": "".join(self.drawn),
            "texts": self.texts,
            "own": self.own,
        }
        return json.dumps(told, ensure_ascii=False, separators=(",", ":"))

    def had(self) -> Iterator[str]:
        """Yield what a page says that it has, once it shows this one."""
        yield f"frame={self.frame}"
        for name, mark in self.marks.items():
            yield f"{name}={mark}"


def leave_out(html: str, spares: frozenset[str]) -> Sparse:
    """Return a page without what the asking page has.

    Parameters
    ----------
    html : str
        A whole page, as it is shown.
    spares : frozenset of str
        What the asking page has: ``NAME=HASH`` of a part, ``frame=HASH``, the name of a shut
        question.

    Returns
    -------
    Sparse
        The page, and what of it changed within its frame.
    """

    def question(found: re.Match[str]) -> str:
        if found[1] not in spares:
            return found[0]
        return f'<section class="sheet ask" id="{found[1]}" hidden data-as-is></section>'

    # A drawing within a page is told by its tag.
    html = html.replace(_NAMESPACE, "")
    html = _SHUT.sub(question, html) if spares else html
    sparse = Sparse()
    frame: list[str] = []
    whole: list[str] = []
    at = 0
    for part in _parts(html):
        between = html[at : part.begin]
        at = part.end
        sparse.marks[part.name] = part.hash
        is_same = f"{part.name}={part.hash}" in spares
        text = part.marked(is_same=is_same)
        frame += (between, part.kind, part.name)
        whole += (between, text)
        if is_same:
            sparse.same[part.name] = part.hash
        elif part.mark == "own":
            sparse.own[part.name] = _attributes(text)
        elif part.mark == "text" and "<" not in (words := part.rest.rpartition("</")[0]):
            sparse.texts[part.name] = part.hash, unescape(words)
        else:
            (sparse.drawn if part.kind in _DRAWN else sparse.parts).append(text)
    frame.append(html[at:])
    sparse.frame = digest = _hash("".join(frame))
    sparse.has_frame = f"frame={digest}" in spares
    sparse.html = ("".join(whole) + html[at:]).replace(_FRAME, f' data-frame="{digest}"', 1)
    for attributes in sparse.own.values():
        if "data-frame" in attributes:
            attributes["data-frame"] = digest
    return sparse


@dataclass(frozen=True, slots=True)
class _Part:
    """An element that may change within its frame, and where it stands in the page."""

    begin: int
    end: int
    kind: str
    name: str
    tag: str
    """Its first tag, up to the end of it."""
    rest: str
    """What stands in it, and its last tag; empty where only its own tag counts."""
    mark: str
    hash: str
    """What tells this state of it from another."""

    def marked(self, *, is_same: bool) -> str:
        """Return it with its hash, and empty where it is still the same."""
        tag = self.tag.replace(f' data-{self.mark}=""', f' data-{self.mark}="{self.hash}"')
        if is_same and self.mark == "part":
            return f"{tag[:-1]} data-as-is></{self.kind}>"
        return tag + self.rest


def _parts(html: str) -> Iterator[_Part]:
    """Yield the parts of a page; one within another belongs to that one."""
    done = 0
    for mark in _MARK.finditer(html):
        if mark.start() < done:
            continue
        begin, close = html.rindex("<", 0, mark.start()), html.index(">", mark.end()) + 1
        tag = html[begin:close]
        kind, name = _TAG.match(tag), _ID.search(tag)
        if kind is None or name is None:
            continue
        done = close if mark[1] == "own" else _end_of(html, kind[1], close)
        rest = html[close:done]
        yield _Part(begin, done, kind[1], name[1], tag, rest, mark[1], _hash(tag + rest))


def _end_of(html: str, kind: str, at: int) -> int:
    """Return where an element ends whose first tag ends at a place."""
    depth = 1
    for found in re.compile(rf"<(/?){kind}\b[^>]*>").finditer(html, at):
        if not found[0].endswith("/>"):
            depth += -1 if found[1] else 1
        if depth == 0:
            return found.end()
    return len(html)


def _attributes(tag: str) -> dict[str, str]:
    """Return the attributes of a tag, by name."""
    return {name: unescape(value) for name, value in _ATTRIBUTE.findall(tag)}


def _hash(text: str) -> str:
    """Return the hash of a text, short enough for a line of a request."""
    return urlsafe_b64encode(blake2b(text.encode(), digest_size=6).digest()).decode()
