"""Figures in the sentences of a match: a few digits, never an exponent."""

from __future__ import annotations

import math

__all__ = ["figured"]


def figured(value: float, digits: int = 3) -> str:
    """Return a figure in plain digits.

    Parameters
    ----------
    value : float
        Any figure. [unit of the figure]
    digits : int
        Digits that say something; a whole number keeps all of its own.

    Returns
    -------
    str
        Without an exponent; "no end" where it has none.

    Examples
    --------
    >>> figured(0.06812, 2), figured(12_345.6), figured(2.0)
    ('0.068', '12346', '2')
    """
    if not math.isfinite(value):
        return "no end"
    if value == 0.0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
