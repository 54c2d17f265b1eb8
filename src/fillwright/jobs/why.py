"""What stands behind a "why?": figures by name, what was taken for granted, where from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from fillwright.records.units import g_from_kg, kg_from_g
from fillwright.science.rounding import spread_behind

__all__ = ["Fact", "Why", "spread_g"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """A figure with its name, as a page lists it."""

    name: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """The numbers, the assumptions and the source of something that a page says.

    Parameters
    ----------
    facts : tuple of Fact
        The numbers.
    assumptions : tuple of str
        What was taken for granted.
    source : str
        Where the equations come from.
    words : tuple of str
        Sentences before the numbers.
    """

    facts: tuple[Fact, ...]
    assumptions: tuple[str, ...]
    source: str
    words: tuple[str, ...] = ()


def spread_g(values_g: Sequence[Decimal], step_g: Decimal) -> tuple[float | None, float | None]:
    """Return the spread of weights behind the rounding, and its bound; none below two weights.

    Parameters
    ----------
    values_g : sequence of Decimal
        Weights.
    step_g : Decimal
        Step of the weighing scale.

    Returns
    -------
    tuple of float or None
        The sd, None where the step hides it; and its upper bound with 95 % confidence.
    """
    least = 2
    if len(values_g) < least:
        return None, None
    sd, upper = spread_behind([kg_from_g(v) for v in values_g], readability=kg_from_g(step_g))
    return (
        None if sd is None else g_from_kg(sd),
        None if upper is None else g_from_kg(upper),
    )
