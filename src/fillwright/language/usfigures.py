"""One metric figure in its US customary unit: how finely it is shown, which way it is rounded.

The step of what is shown follows the last place of the metric figure: what the rounding changes
is less than that place (0.1 g is shown in steps of 0.005 oz).
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Final, Literal, TypeAlias

from fillwright.records.units import US_CUSTOMARY, metric_from_us, us_from_metric

__all__ = ["Rounding", "may_lack_zero", "read", "shown", "sized", "stands_for", "turned_names"]

Rounding: TypeAlias = Literal["up", "down", "nearest"]

_POUNDS_FROM: Final = Fraction(100)
"""Weights of so many ounces or more are shown in pounds."""
_LADDERED: Final = frozenset({"oz", "fl oz"})
"""Units of scales: their step may be 1, 2 or 5 of a decimal place, others have tens alone."""
_MOST_PLACES: Final = 6
_BARE_BELOW: Final = 1000
_SMALLER: Final = {"kg": ("g", 3), "L": ("mL", 3)}
_LARGER: Final = {"g": "kg", "mL": "L"}


@lru_cache(maxsize=16384)
def shown(
    figure: str,
    unit: str,
    *,
    rounding: Rounding = "nearest",
    is_change: bool = False,
    places: int | None = None,
) -> str:
    """Return a metric figure, as it was written, in the US customary unit of the same kind.

    Parameters
    ----------
    figure : str
        The figure with its decimals: they say how finely it is known. One below a thousand
        without a point is taken as known to a tenth, for weights and volumes: its zero may
        have been left off.
    unit : str
        One of ``US_CUSTOMARY``.
    rounding : str
        Which way it is rounded.
    is_change : bool
        True for a difference of two temperatures.
    places : int, optional
        Places that it is known to, where its decimals do not say so; fewer than none for tens.

    Returns
    -------
    str
        The figure alone; what the rounding changes is less than the last place it is known to.
    """
    sign, value, written = read(figure)
    if unit == "°C" and is_change:
        unit = "K"
    exact = us_from_metric(value, unit)
    name = US_CUSTOMARY[unit].name
    if places is None:
        is_bare = not written and unit in _LARGER and abs(value) < _BARE_BELOW
        places = 1 if is_bare else written
    step = _step(Fraction(10) ** -places / US_CUSTOMARY[unit].size_factor, name)
    decimals = _places(step)
    typed = stands_for(value, unit, decimals)
    if typed is not None:
        return _written(typed, sign)
    return _written(_stepped(exact, step, decimals, rounding), sign)


def stands_for(value: Decimal, unit: str, decimals: int) -> Decimal | None:
    """Return the shortest US customary figure that is kept as this value, or None.

    What was typed in US customary units comes back as it was typed.
    """
    exact = us_from_metric(value, unit)
    for places in range(min(decimals, _MOST_PLACES) + 1):
        found = _stepped(exact, Fraction(1, 10**places), places, "nearest")
        if metric_from_us(found, unit) == value:
            return found
    return None


def sized(unit: str, size: Decimal) -> tuple[str, int]:
    """Return the unit of a convenient size, and by how many places the point moves for it."""
    if unit in _LARGER:
        most = _POUNDS_FROM if unit == "g" else Fraction(128)
        if us_from_metric(size, unit) >= most:
            return _LARGER[unit], -3
    elif unit in _SMALLER and size and us_from_metric(size, unit) < 1:
        return _SMALLER[unit]
    return unit, 0


def turned_names(unit: str) -> tuple[str, ...]:
    """Return every unit that a figure in a metric unit may be shown in, that unit included.

    Parameters
    ----------
    unit : str
        One of ``US_CUSTOMARY``.
    """
    beside = (unit, _LARGER.get(unit, unit), _SMALLER.get(unit, (unit, 0))[0])
    names = {US_CUSTOMARY[one].name for one in beside}
    return (unit, *sorted(names), *(("inches",) if "in" in names else ()))


def may_lack_zero(unit: str) -> bool:
    """Return whether figures in a unit are weights or volumes, whose last zero may be left off."""
    return unit in _LARGER


def read(figure: str) -> tuple[str, Decimal, int]:
    """Return the sign to be written anew, the value, and the places after the point."""
    sign = figure[0] if figure[0] in "+±" else ""
    plain = figure.lstrip("+±").replace("\u2212", "-").replace(",", "")
    return sign, Decimal(plain), len(plain.partition(".")[2])


def _step(exact: Fraction, name: str) -> Fraction:
    """Return the largest step whose half is below the metric step; a tenth or one at most."""
    if exact <= 0:
        return Fraction(1)
    sizes, most = ((5, 2, 1), Fraction(1, 10)) if name in _LADDERED else ((1,), Fraction(1))
    for power in range(0, -13, -1):
        for size in sizes:
            step = Fraction(size) * Fraction(10) ** power
            if step <= most and step / 2 < exact:
                return step
    return Fraction(1, 10**12)


def _places(step: Fraction) -> int:
    """Return the decimals of a step."""
    places = 0
    while (step * 10**places).denominator != 1:
        places += 1
    return min(places, 12)


def _stepped(exact: Fraction, step: Fraction, decimals: int, rounding: Rounding) -> Decimal:
    """Return an exact figure in whole steps."""
    parts = exact / step
    whole = parts.numerator // parts.denominator
    rest = parts - whole
    if rest and (rounding == "up" or (rounding == "nearest" and rest >= Fraction(1, 2))):
        whole += 1
    found = whole * step
    scaled = found * 10**decimals
    return Decimal(scaled.numerator // scaled.denominator).scaleb(-decimals)


def _written(value: Decimal, sign: str) -> str:
    """Return a figure with its sign as texts write it."""
    text = format(abs(value), "f")
    if value < 0:
        return f"\u2212{text}"
    return f"{sign}{text}"
