"""A turn of the hand wheel in the words of the bench: one eighth, a half, one turn and a half."""

from __future__ import annotations

import math
from typing import Final

from fillwright.errors import BadInput

__all__ = ["TOUCH", "turn_words"]

TOUCH: Final = 1 / 16
"""Below this share of a turn it is a touch (our own choice)."""
_FRACTIONS: Final = (
    (0.0, ""),
    (1 / 8, "one eighth"),
    (1 / 5, "one fifth"),
    (1 / 4, "one quarter"),
    (1 / 3, "one third"),
    (2 / 5, "two fifths"),
    (1 / 2, "a half"),
    (3 / 5, "three fifths"),
    (2 / 3, "two thirds"),
    (3 / 4, "three quarters"),
    (1.0, ""),
)
_COUNTS: Final = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
)  # fmt: skip


def turn_words(turns: float) -> str:
    """Return a turn of the wheel as a plain fraction, as one says it at the bench.

    Parameters
    ----------
    turns : float
        Size of the turn; its direction is said elsewhere.

    Returns
    -------
    str
        ``"a touch"`` below a sixteenth of a turn, else such as ``"one fifth of a turn"`` or
        ``"two turns and one quarter"``: the nearest of the fractions a hand can judge.

    Raises
    ------
    BadInput
        If `turns` is not a finite number.

    Examples
    --------
    >>> turn_words(0.2)
    'one fifth of a turn'
    >>> turn_words(1.5)
    'one turn and a half'
    """
    if not math.isfinite(turns):
        message = f"The turn of the wheel is {turns}; give a finite number of turns."
        raise BadInput(
            message, field="turns", given=turns, allowed="a finite number", code="not-finite"
        )
    size = abs(turns)
    if size < TOUCH:
        return "a touch"
    whole = math.floor(size)
    rest = size - whole
    nearest, words = min(_FRACTIONS[0 if whole else 1 :], key=lambda item: abs(item[0] - rest))
    if nearest == 1.0:
        whole, words = whole + 1, ""
    if not whole:
        return "half a turn" if words == "a half" else f"{words} of a turn"
    count = _COUNTS[whole] if whole < len(_COUNTS) else str(whole)
    turned = f"{count} turn" if whole == 1 else f"{count} turns"
    return f"{turned} and {words}" if words else turned
