"""The verdict of a proving run in the operator's words, the same on page, paper and terminal."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from fillwright.records.kinds_proof import ProofJudged

__all__ = ["PROOF_MARKS", "PROOF_WORDS", "proof_headline", "spread_words", "tries_words"]

PROOF_WORDS: Final = {
    "proved": "Holds",
    "not-proved": "Cannot say yet",
    "impossible": "Does not hold",
    "not-steady": "Not steady, proving void",
    "scale-too-coarse": "The weighing scale is too coarse to say",
    "stopped": "Stopped by a reject",
}
"""What each verdict is called."""
PROOF_MARKS: Final = {"proved": "on", "impossible": "stop", "stopped": "stop"}
"""The mark of state of a verdict; the others are held."""
_ORDINALS: Final = ("", "first", "second", "third", "fourth", "fifth", "sixth")


def proof_headline(verdict: str, claim_pct: Decimal) -> str:
    """Return the verdict, with the claim where the verdict is about it."""
    words = PROOF_WORDS.get(verdict, verdict)
    if verdict in ("proved", "impossible"):
        text = format(claim_pct, "f")
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return f"{words} \u00b1{text} %"
    return words


def spread_words(
    spread_g: float | None, upper_g: float | None, *, places: int | None = None
) -> str:
    """Return a spread, or its bound where the step of the scale hides it.

    Parameters
    ----------
    spread_g : float or None
        Sd behind the rounding; None where only a bound means something.
    upper_g : float or None
        Upper bound of it; None where there is none.
    places : int, optional
        Digits after the point; four figures when left out.

    Returns
    -------
    str
        ``"0.38 g"``, ``"below 0.9 g"`` or that it is hidden.
    """
    if spread_g is not None:
        return f"{_text(spread_g, places)} g"
    if upper_g is not None:
        return f"below {_text(upper_g, places)} g"
    return "hidden by the scale's step"


def tries_words(proof: ProofJudged, confidence_pct: Decimal) -> str:
    """Return what several tries do to the claim; empty for the first one."""
    if proof.attempt <= 1 or proof.confidence_left_pct is None:
        return ""
    nth = _ORDINALS[proof.attempt] if proof.attempt < len(_ORDINALS) else f"{proof.attempt}th"
    one = _share_words(100 - float(confidence_pct))
    if proof.verdict != "proved":
        return (
            f"This was the {nth} try. Each try lets a machine that is not good enough pass "
            f"{one}: find the cause before the next."
        )
    left = proof.confidence_left_pct
    if left <= 0:
        return f"This was the {nth} try: so many tries leave nothing of the claim."
    return (
        f"This was the {nth} try. Each lets a machine that is not good enough pass {one}, so "
        f"over all tries the confidence is {left:g} %, not {float(confidence_pct):g} %."
    )


def _text(value: float, places: int | None) -> str:
    """Return a spread with so many digits after the point, or in four figures."""
    return f"{value:.4g}" if places is None else f"{value:.{places}f}"


def _share_words(pct: float) -> str:
    """Return a small share as once in so many."""
    return f"once in {round(100 / pct)}" if pct > 0 else "hardly ever"
