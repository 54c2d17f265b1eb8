"""Finds what a page or a paper says that went through no catalogue."""

from __future__ import annotations

from html import unescape

from fillwright.language.figures import is_figure
from fillwright.language.runs import Run, Token, runs_of, spoken_attributes, tokens_of

__all__ = ["unspoken", "unspoken_data"]

OPEN, SHUT = "⟦", "⟧"


def unspoken(html: str) -> set[str]:
    """Return the texts and spoken attributes of a page in the wrapped language that are plain."""
    found: set[str] = set()
    for part in runs_of(tokens_of(html)):
        if isinstance(part, Token):
            found |= _attributes(part)
        elif not part.is_closed:
            found |= _run(part)
        else:
            found |= _attributes(part.tokens[0])
    return found


def unspoken_data(data: object, *, as_is: frozenset[str] = frozenset()) -> set[str]:
    """Return the texts in the data of a paper that are plain."""
    if isinstance(data, str):
        return {data} if _is_plain(data) else set()
    if isinstance(data, dict):
        kept = [value for key, value in data.items() if key not in as_is]
        return set().union(*(unspoken_data(value, as_is=as_is) for value in kept), set())
    if isinstance(data, list | tuple):
        return set().union(*(unspoken_data(value, as_is=as_is) for value in data), set())
    return set()


def _attributes(token: Token) -> set[str]:
    return {words for _, _, words in spoken_attributes(token.raw) if _is_plain(words)}


def _run(run: Run) -> set[str]:
    """A sentence may open in one text and shut in another: what stands between is spoken."""
    found: set[str] = set()
    depth, skipped, inside = 0, "", 0
    for token in run.tokens:
        if skipped:
            inside += (not token.is_end) - token.is_end if token.name == skipped else 0
            skipped = skipped if inside else ""
        elif token.name:
            if not token.is_end:
                found |= _attributes(token)
            if token.is_marked and not token.is_end:
                skipped, inside = token.name, 1
        else:
            text = unescape(token.raw)
            if not depth and _is_plain(text):
                found.add(" ".join(text.split()))
            depth += text.count(OPEN) - text.count(SHUT)
    return found


def _is_plain(text: str) -> bool:
    """Whether words stand outside all brackets."""
    depth, outside = 0, []
    for sign in text:
        depth += (sign == OPEN) - (sign == SHUT)
        if depth <= 0 and sign != SHUT:
            outside.append(sign)
    return not is_figure("".join(outside))
