"""What a page that asks again need not be sent: what it has already, or does not show.

A page says what it has in one line of its request. Left out are parts that are still the same,
told by a hash, and questions that are shut; the page keeps its own, and asks for a question's
new words once it is opened.
"""

from __future__ import annotations

import re
from base64 import urlsafe_b64encode
from hashlib import blake2b
from typing import Final

__all__ = ["leave_out"]

_PART: Final = re.compile(r'<(\w+) id="([^"]+)"([^>]*) data-part="">(.*?)</\1>', re.DOTALL)
"""A part holds no element of its own name; so the first end is its own."""
_NAMESPACE: Final = ' xmlns="http://www.w3.org/2000/svg"'
_SHUT: Final = re.compile(
    r'<section class="sheet ask" id="([^"]+)"(?=[^>]* hidden\b)[^>]*>.*?</section>', re.DOTALL
)


def leave_out(html: str, spares: frozenset[str]) -> str:
    """Return a page without what the asking page has.

    Parameters
    ----------
    html : str
        A whole page, as it is shown.
    spares : frozenset of str
        What the asking page has: ``NAME=HASH`` of a part, the name of a shut question.

    Returns
    -------
    str
        The page with a hash at each part; what is left out is empty and marked ``data-as-is``.
    """

    def part(found: re.Match[str]) -> str:
        kind, name, more, inside = found.groups()
        digest = blake2b((more + inside).encode(), digest_size=6).digest()
        mark = urlsafe_b64encode(digest).decode()
        is_same = f"{name}={mark}" in spares
        rest = " data-as-is>" if is_same else f">{inside}"
        return f'<{kind} id="{name}"{more} data-part="{mark}"{rest}</{kind}>'

    def question(found: re.Match[str]) -> str:
        if found[1] not in spares:
            return found[0]
        return f'<section class="sheet ask" id="{found[1]}" hidden data-as-is></section>'

    # A drawing within a page is told by its tag.
    html = html.replace(_NAMESPACE, "")
    return _PART.sub(part, _SHUT.sub(question, html) if spares else html)
