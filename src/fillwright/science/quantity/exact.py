"""Exact numbers: what the law compares is never rounded to a binary fraction.

Readings and limits are decimals or fractions; here they become integers over one denominator.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, Inexact
from fractions import Fraction

from fillwright.errors import BadInput

__all__ = [
    "Exact",
    "OnOneDenominator",
    "above_zero",
    "as_decimal",
    "ceiling",
    "checked",
    "not_negative",
    "on_one_denominator",
]

Exact = Decimal | Fraction | int

_LARGEST = 30
_FINEST = 60
_CONTEXT = Context(prec=400, traps=[Inexact])


@dataclass(frozen=True, slots=True, kw_only=True)
class OnOneDenominator:
    """Numbers as integers over one denominator.

    Attributes
    ----------
    numerators : tuple of int
        The numbers times `denominator`.
    denominator : int
        One for all.
    """

    numerators: tuple[int, ...]
    denominator: int


def checked(value: object, field: str) -> Fraction:
    """Return an exact number as a fraction, and refuse everything that is not exact.

    Parameters
    ----------
    value : Decimal, Fraction or int
        The number.
    field : str
        Name for the message.

    Returns
    -------
    Fraction
        The same number. [unit of `value`]

    Raises
    ------
    BadInput
        If it is a float, not a number, or not finite.
    """
    if isinstance(value, bool) or not isinstance(value, (Decimal, Fraction, int)):
        raise BadInput(
            f"{field}: {value!r} is not an exact number; give a Decimal, a Fraction or an int.",
            field=field,
            given=value,
            allowed="Decimal, Fraction or int",
            code="type",
        )
    if isinstance(value, Decimal) and not value.is_finite():
        raise BadInput(
            f"{field}: {value} is not finite; give a number.",
            field=field,
            given=value,
            allowed="a finite number",
            code="not-finite",
        )
    if isinstance(value, Decimal) and not _is_ordinary(value):
        raise BadInput(
            f"{field}: {value} is far beyond any weight; give a number below 1E+{_LARGEST}.",
            field=field,
            given=value,
            allowed=f"below 1E+{_LARGEST}, not finer than 1E-{_FINEST}",
        )
    return Fraction(value)


def above_zero(value: object, field: str) -> Fraction:
    """Return an exact number as a fraction, and refuse zero and less.

    Parameters
    ----------
    value : Decimal, Fraction or int
        The number.
    field : str
        Name for the message.

    Returns
    -------
    Fraction
        The same number. [unit of `value`]

    Raises
    ------
    BadInput
        If it is not exact, not finite, or not above zero.
    """
    number = checked(value, field)
    if number <= 0:
        raise BadInput(
            f"{field}: {value} is not above zero; give a number above zero.",
            field=field,
            given=value,
            allowed="above 0",
        )
    return number


def not_negative(value: object, field: str) -> Fraction:
    """Return an exact number as a fraction, and refuse less than zero.

    Parameters
    ----------
    value : Decimal, Fraction or int
        The number.
    field : str
        Name for the message.

    Returns
    -------
    Fraction
        The same number. [unit of `value`]

    Raises
    ------
    BadInput
        If it is not exact, not finite, or below zero.
    """
    number = checked(value, field)
    if number < 0:
        raise BadInput(
            f"{field}: {value} is below zero; give zero or more.",
            field=field,
            given=value,
            allowed="0 or more",
        )
    return number


def as_decimal(value: Fraction) -> Decimal:
    """Return a fraction of a power of ten as the decimal it is, without rounding.

    Parameters
    ----------
    value : Fraction
        A number with finitely many decimals. [1]

    Returns
    -------
    Decimal
        The same number, in plain notation without needless zeros. [1]

    Raises
    ------
    decimal.Inexact
        If the number has no end as a decimal.
    """
    quotient = _CONTEXT.divide(Decimal(value.numerator), Decimal(value.denominator))
    return Decimal(f"{quotient.normalize(_CONTEXT):f}")


def ceiling(value: Fraction) -> int:
    """Return the smallest integer not below a fraction.

    Parameters
    ----------
    value : Fraction
        The number. [1]

    Returns
    -------
    int
        The integer.  An integer lies below `value` exactly when it lies below this one.
    """
    return -((-value.numerator) // value.denominator)


def on_one_denominator(values: Sequence[Exact], name: Callable[[int], str]) -> OnOneDenominator:
    """Return numbers as integers over one denominator.

    Parameters
    ----------
    values : sequence of Decimal, Fraction or int
        The numbers. [g or mL]
    name : callable
        Gives the name for the message from the place in the list, counted from one.

    Returns
    -------
    OnOneDenominator
        The same numbers.

    Raises
    ------
    BadInput
        If one is not exact or not finite.
    """
    ratios: list[tuple[int, int]] = []
    for place, value in enumerate(values, start=1):
        if type(value) is Fraction:
            ratios.append((value.numerator, value.denominator))
        elif type(value) is Decimal and value.is_finite() and _is_ordinary(value):
            ratios.append(value.as_integer_ratio())
        else:
            ratios.append(checked(value, name(place)).as_integer_ratio())
    denominator = math.lcm(*{below for _, below in ratios})
    return OnOneDenominator(
        numerators=tuple(above * (denominator // below) for above, below in ratios),
        denominator=denominator,
    )


def _is_ordinary(value: Decimal) -> bool:
    """Say whether a decimal has a size that integers can hold without filling the memory."""
    return -_FINEST <= value.adjusted() < _LARGEST
