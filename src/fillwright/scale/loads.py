"""Where a series of readings stands still, and how often something was put on the pan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

__all__ = ["Plateau", "loads_in", "plateaus"]

_ALIKE: Final = 3
_STEPS: Final = 10


@dataclass(frozen=True, slots=True)
class Plateau:
    """A figure that stood still: the value in the scale's own unit, and its smallest step."""

    value: Decimal
    step: Decimal


def plateaus(series: Sequence[tuple[float, Decimal]], *, on_key: bool = False) -> list[Plateau]:
    """Return the figures that stood still, in order.

    Parameters
    ----------
    series : sequence of (float, Decimal)
        Seconds and reading.
    on_key : bool
        True where each line is a reading of its own: then each stands still.

    Returns
    -------
    list of Plateau
        Three readings in a row within one step make one; the same figure twice is one.
    """
    found: list[Plateau] = []
    row: list[Decimal] = []
    for _, value in series:
        step = Decimal((0, (1,), int(value.as_tuple().exponent)))
        if row and abs(value - row[0]) > step:
            row = []
        row.append(value)
        if len(row) >= (1 if on_key else _ALIKE):
            far = not found or abs(found[-1].value - value) > _STEPS * step
            if far or on_key:
                found.append(Plateau(value, step))
            if on_key:
                row = []
    return found


def loads_in(levels: Sequence[Plateau], *, on_key: bool = False) -> int:
    """Return how often something was put on the pan.

    Where a scale sends by itself the lowest figure is the empty pan, and a load is what
    comes after it; where it sends on its key each reading that differs from the others counts.
    """
    if on_key:
        return len({level.value for level in levels})
    if not levels:
        return 0
    lowest = min(level.value for level in levels)
    count = 0
    was_empty = False
    for level in levels:
        is_empty = level.value - lowest <= _STEPS * level.step
        count += was_empty and not is_empty
        was_empty = is_empty
    return count
