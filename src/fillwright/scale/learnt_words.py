"""What was learnt of a scale's lines, in plain sentences for the person at the bench."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Final

from fillwright.scale.shapes import ShapedForm

__all__ = ["UNIT_WORDS", "in_words"]

UNIT_WORDS: Final = {"g": "g", "kg": "kg", "mg": "mg", "oz": "oz", "lb": "lb", "ml": "mL"}
"""Units as people write them."""


def in_words(
    form: ShapedForm,
    *,
    value: Decimal,
    unit: str,
    per_s: float,
) -> tuple[str, ...]:
    """Return how the lines of a form are understood.

    Parameters
    ----------
    form : ShapedForm
        What was learnt.
    value : Decimal
        The weight on the last line.
    unit : str
        The unit that line named; empty where it named none.
    per_s : float
        Lines a second; 0 for a scale that does not send by itself.

    Returns
    -------
    tuple of str
        One sentence each.
    """
    shown = UNIT_WORDS.get(unit or form.unit_if_absent or "", "")
    named = "" if unit else ", a unit that the line does not name"
    said = [f"The last line says {value} {shown}{named}."]
    said.append(f"The decimal mark is a {'comma' if form.decimal == ',' else 'point'}.")
    said.append(_rest_words(form))
    bases = sorted({shape.basis for shape in form.shapes} - {""})
    said.append(f"Lines say {' or '.join(bases)}." if bases else "Lines do not say gross or net.")
    if form.check is not None:
        said.append("Each line ends in a check; a line that it does not fit is left out.")
    if per_s >= 1:
        said.append(f"It sends by itself, about {per_s:.0f} lines a second.")
    elif per_s > 0:
        said.append(f"It sends by itself, a line about every {1 / per_s:.0f} s.")
    return tuple(said)


def _rest_words(form: ShapedForm) -> str:
    """Return how rest is told."""
    like = {
        rest: [_example(shape.shape) for shape in form.shapes if shape.rest == rest]
        for rest in ("still", "moving")
    }
    if not like["still"]:
        return "No mark tells rest, so rest is seen from the figures themselves."
    told = f"At rest a line looks like {like['still'][0]!r}"
    return f"{told}, and {like['moving'][0]!r} while it moves." if like["moving"] else f"{told}."


def _example(shape: str) -> str:
    """Return a shape with a dash for each slot."""
    return re.sub(r"\{(\w+)\}", lambda slot: "g" if slot[1] == "unit" else "\u2026", shape)
