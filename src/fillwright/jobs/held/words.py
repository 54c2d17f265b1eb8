"""Held containers in words: the reasons that one key stands for, what each outcome says."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.words import plain
from fillwright.records.entries import ContainersEmptied, ContainersRelabelled
from fillwright.records.heldbook import Settling

__all__ = [
    "BY_WEIGHT",
    "INTO",
    "OUTCOMES",
    "REASONS",
    "emptied_words",
    "is_own_reason",
    "more_words",
    "reason_of",
]

OUTCOMES: Final = {
    "weighed-good": "weighed good",
    "topped-up": "topped up, weighed good",
    "released-with-reason": "released with reason",
    "relabelled": "re-labelled",
    "emptied-back": "emptied back",
    "scrapped": "scrapped",
    "waits-for-weight": "topped up, to be weighed",
}
"""What became of held containers, by the outcome on record."""
INTO: Final = {"hopper": "the hopper", "drum": "a drum of its own"}
_FILLED: Final = ("filled short or overfull",)
_WRONG: Final = ("wrong or damaged container", "lid or label wrong")
REASONS: Final[dict[str, tuple[str, ...]]] = {
    "topped-up": ("filled short", "spilled when it was carried", "weighed low"),
    "hopper": (*_FILLED, *_WRONG),
    "drum": (*_FILLED, *_WRONG, "not to be mixed with what is in the hopper"),
    "scrapped": (
        "short or overfull, not worth more work",
        "container cracked or dirty",
        "product dirty or doubtful",
        "piece of the machine not found",
    ),
    "relabelled": ("filled short, sold as a smaller quantity", "goes to the other market"),
    "released-with-reason": (
        "looked at, all full and sound",
        "the piece was found outside the product",
        "held for a wrong weight; the container was weighed again",
        "held by mistake: a wrong tray or number",
    ),
    "held": (
        "weight in doubt",
        "container cracked or dirty",
        "lid or label in doubt",
        "product in doubt",
        "something may have fallen in",
    ),
}
"""The reasons that stand ready for each button, in the order of their keys from 1."""
BY_WEIGHT: Final = REASONS["held"][0]
"""The ready reason of a hold by hand that a good weight settles."""
_LONGEST: Final = 200


def reason_of(what: str, typed: str) -> str:
    """Return the reason that was typed, in words or by its key.

    Parameters
    ----------
    what : str
        The button: one of `REASONS`.
    typed : str
        Words, or the figure of one of the reasons that stand ready.

    Raises
    ------
    BadInput
        If nothing was typed, or no reason has this key.
    """
    ready, words = REASONS[what], typed.strip()
    if not words:
        message = f"Say why; the record prints it. Type 1 to {len(ready)}, or words of your own."
        raise BadInput(message, field="reason", given=typed, code="missing")
    if not words.isdecimal():
        return words[:_LONGEST]
    # Only few figures are read as a number: Python refuses to read some thousands of them.
    key = int(words[:8])
    if not 1 <= key <= len(ready):
        message = f"No reason has the key {words[:8]}. Type 1 to {len(ready)}, or words."
        raise BadInput(message, field="reason", given=words[:8], allowed=f"1 to {len(ready)}")
    return ready[key - 1]


def is_own_reason(what: str, reason: str) -> bool:
    """Return True where a reason is in somebody's own words, none of those that stand ready."""
    return bool(reason.strip()) and reason not in REASONS[what]


def emptied_words(fact: ContainersEmptied, back_g: Decimal) -> str:
    """Return where how many grams went that were emptied back."""
    how = "weighed" if fact.is_weighed else "reckoned, not weighed"
    return f"{plain(back_g)} g into {INTO[fact.into]}, {how}"


def more_words(one: Settling) -> str:
    """Return what an outcome says beside its reason; empty where nothing."""
    match one.fact:
        case ContainersEmptied() as fact:
            return emptied_words(fact, fact.back_g)
        case ContainersRelabelled() as fact:
            return (
                f"label {plain(fact.nominal)} {fact.unit} under {fact.rules}, lot {fact.lot_code}"
            )
        case _:
            return ""
