"""Facts of the journal in the operator's words."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from fractions import Fraction

from fillwright.records.entries import (
    AdjustmentMade,
    ContainersEmptied,
    ContainersHeld,
    ContainersRelabelled,
    ContainersSettled,
    ContainersToppedUp,
    Entry,
    Payload,
    SettingMoved,
    SettlingStruck,
    StruckOut,
    WeighingTaken,
)
from fillwright.records.spans import words as spelt

__all__ = [
    "decimals_of",
    "described",
    "in_steps",
    "plain",
    "shown_g",
    "step_down",
    "step_up",
    "trays",
]

_HALF = Fraction(1, 2)


def plain(number: Decimal) -> str:
    """Return a decimal without an exponent and without trailing zeros that say nothing."""
    text = format(number, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def in_steps(value: Decimal | float | Fraction, step: Decimal, rounding: str) -> Decimal:
    """Return a value rounded to whole steps of a scale, with the decimals of the step."""
    exact = Fraction(value) / Fraction(step)
    whole = exact.numerator // exact.denominator
    rest = exact - whole
    if (rounding == ROUND_CEILING and rest) or (rounding == ROUND_HALF_UP and rest >= _HALF):
        whole += 1
    return (whole * step).quantize(step) if step < 1 else whole * step


def step_up(value: Decimal | Fraction, step: Decimal) -> Decimal:
    """Return a legal weight as it is shown: rounded up to the scale's step, never down."""
    return in_steps(value, step, ROUND_CEILING)


def step_down(value: Decimal | Fraction, step: Decimal) -> Decimal:
    """Return a limit rounded down to the scale's step."""
    return in_steps(value, step, ROUND_FLOOR)


def shown_g(value: float | Decimal | Fraction, step: Decimal) -> str:
    """Return a weight in grams as the scale would show it."""
    return f"{in_steps(value, step, ROUND_HALF_UP)} g"


def trays(first: int, last: int, tray_size: int) -> str:
    """Return the tray or trays that hold containers `first` to `last`."""
    low, high = (first - 1) // tray_size + 1, (last - 1) // tray_size + 1
    return f"tray {low}" if low == high else f"trays {low} to {high}"


def described(entry: Entry) -> str:
    """Return one entry in a few words, with who made it."""
    match entry.payload:
        case WeighingTaken(container=None, value=value, unit=unit):
            words = f"{value} {unit} was kept"
        case WeighingTaken(container=container, value=value, unit=unit):
            words = f"number {container} was weighed, {value} {unit}"
        case SettingMoved(to_marks=marks) | AdjustmentMade(to_marks=marks):
            words = f"the wheel was set to {marks}"
        case StruckOut(reason=reason):
            words = f"a weight was struck out ({reason})"
        case ContainersHeld(first=first, last=last):
            words = f"numbers {first} to {last} were held"
        case other:
            words = _said_of_held(other) or other.kind
    return f"{words} by {entry.person}" if entry.person else words


def _said_of_held(fact: Payload) -> str:
    """Return what was said of held containers in a few words; empty for any other fact."""
    match fact:
        case ContainersSettled(first=first, last=last, outcome=outcome):
            return f"numbers {first} to {last} were settled: {outcome.replace('-', ' ')}"
        case ContainersToppedUp(spans=spans):
            return f"numbers {spelt(spans)} were topped up"
        case ContainersEmptied(spans=spans):
            return f"numbers {spelt(spans)} were emptied back"
        case ContainersRelabelled(spans=spans):
            return f"numbers {spelt(spans)} were re-labelled"
        case SettlingStruck(reason=reason):
            return f"what became of held ones was struck out ({reason})"
        case _:
            return ""


def decimals_of(step: Decimal) -> int:
    """Return the digits after the point of a scale's step."""
    exponent = step.normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0
