"""The marks of state: each a shape of its own, so that none needs its colour.

On target a disc with a tick, low and high triangles, reject an octagon with a bar, and so on.
"""

from __future__ import annotations

from typing import Final

from fillwright.errors import BadInput

__all__ = ["MARKS", "mark", "shape"]

# {c} is the colour of the mark, {k} what is cut out of it. 100 by 100 units.
_OCTAGON: Final = "M31 4H69L96 31V69L69 96H31L4 69V31Z"
_SHAPES: Final[dict[str, str]] = {
    "on": '<circle cx="50" cy="50" r="46" fill="{c}"/>'
    '<path d="M27 52 43 68 74 34" fill="none" stroke="{k}" stroke-width="11"/>',
    "low": '<path d="M3 12H97L50 96Z" fill="{c}"/>'
    '<path d="M50 22v36M35 46 50 61 65 46" fill="none" stroke="{k}" stroke-width="9"/>',
    "high": '<path d="M3 88H97L50 4Z" fill="{c}"/>'
    '<path d="M50 78V42M35 54 50 39 65 54" fill="none" stroke="{k}" stroke-width="9"/>',
    "short": f'<path d="{_OCTAGON}" fill="{{c}}"/>'
    '<path d="M24 50H76" fill="none" stroke="{k}" stroke-width="15"/>',
    "far-short": f'<path d="{_OCTAGON}" fill="{{c}}"/>'
    '<path d="M24 38H76M24 62H76" fill="none" stroke="{k}" stroke-width="12"/>',
    "overfull": f'<path d="{_OCTAGON}" fill="{{c}}"/>'
    '<path d="M24 66H76M50 24V56" fill="none" stroke="{k}" stroke-width="12"/>',
    "settling": '<circle cx="50" cy="50" r="42" fill="none" stroke="{c}" stroke-width="9"'
    ' stroke-dasharray="17 9.4"/>'
    '<path d="M50 26V52L66 62" fill="none" stroke="{c}" stroke-width="9"/>',
    "no-scale": '<path d="M8 8H92V92H8ZM8 8 92 92M92 8 8 92" fill="none" stroke="{c}"'
    ' stroke-width="9"/>',
    "held": '<path d="M50 3 97 50 50 97 3 50Z" fill="{c}"/>'
    '<path d="M37 41c0-18 26-18 26 0 0 11-13 11-13 22M50 71v9" fill="none" stroke="{k}"'
    ' stroke-width="9"/>',
    "now": '<path d="M6 8H94L50 94Z" fill="{c}"/>',
    "done": '<path d="M6 6H94V94H6Z" fill="{c}"/>'
    '<path d="M24 52 42 70 76 30" fill="none" stroke="{k}" stroke-width="11"/>',
    "to-do": '<path d="M10 10H90V90H10Z" fill="none" stroke="{c}" stroke-width="9"/>',
    "damaged": '<path d="M10 10H90V90H10ZM14 86 86 14" fill="none" stroke="{c}"'
    ' stroke-width="9"/>',
    "stop": f'<path d="{_OCTAGON}" fill="{{c}}"/>'
    '<path d="M50 22V58M50 68V80" fill="none" stroke="{k}" stroke-width="12"/>',
    "hand": '<path d="M40 95C30 80 19 70 13 55c-3-7 6-12 11-5l12 16V15a7.500 7.500 0 0 1 15 0v30'
    "h3a7 7 0 0 1 13 3h2a7 7 0 0 1 12 4h1a6.500 6.500 0 0 1 11 5c0 17-4 26-11 38Z"
    '" fill="{c}"/>',
    "spanner": '<path d="M66 6a25 25 0 0 0-26 36L7 75a12 12 0 0 0 18 18l33-33a25 25 0 0 0 35-28'
    'L78 47 60 41 54 23Z" fill="{c}"/>',
}
MARKS: Final = tuple(_SHAPES)


def mark(name: str, *, for_print: bool = False) -> str:
    """Return a mark as an SVG; it says nothing by itself, the word stands beside it.

    Parameters
    ----------
    name : str
        One of ``MARKS``.
    for_print : bool
        Whether it goes to paper: black with white cut-outs.

    Returns
    -------
    str
        In the page it takes the colour of the text around it, and cuts out what ``--k`` says.

    Raises
    ------
    BadInput
        If there is no such mark.
    """
    inner = shape(name, ink="#000", cut="#fff") if for_print else shape(name)
    size = ' width="100" height="100"' if for_print else ""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" class="mk" viewBox="0 0 100 100"'
        f'{size} aria-hidden="true">{inner}</svg>'
    )


def shape(name: str, *, ink: str = "currentColor", cut: str = "var(--k,var(--sheet))") -> str:
    """Return the inside of a mark, for use within a drawing."""
    if name not in _SHAPES:
        allowed = ", ".join(MARKS)
        message = f"There is no mark {name!r}; choose one of {allowed}."
        raise BadInput(message, field="mark", given=name, allowed=allowed, code="choice")
    return _SHAPES[name].format(c=ink, k=cut)
