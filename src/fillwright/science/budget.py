"""The error budget of a dose: which source gives how much of the spread, and what to shrink.

First order after JCGM 100; where that does not hold the spread is drawn instead.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, finite, not_negative

__all__ = ["Budget", "Contributor", "Demand", "Kind", "Row", "dose_budget", "what_it_takes"]

_JCGM100: Final = "JCGM 100:2008, section 5.1, law of propagation of uncertainty (from memory)"
_HALVINGS: Final = 100
OTHER: Final = "other"


class Kind(StrEnum):
    """How a source acts."""

    WITHIN = "within"
    DRIFT = "drift"
    BIAS = "bias"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contributor:
    """One source of the spread of a dose.

    Attributes
    ----------
    name : str
        What it is.
    sensitivity : float
        How much the dose moves for each unit of the source. [kg per unit of the source]
    standard_uncertainty : float
        How uncertain the source is. [unit of the source]
    kind : Kind
        Shot to shot, slow, or set away in the trim.
    cure : str
        What shrinks it.
    """

    name: str
    sensitivity: float
    standard_uncertainty: float
    kind: Kind = Kind.WITHIN
    cure: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of a budget.

    Attributes
    ----------
    name : str
        What it is.
    contribution : float
        What it gives alone. [kg]
    share : float
        Its share of the square of the total. [1]
    kind : Kind
        How it acts.
    cure : str
        What shrinks it.
    """

    name: str
    contribution: float
    share: float
    kind: Kind
    cure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """The spread of a dose and where it comes from.

    Attributes
    ----------
    total : float
        Root of the sum of squares of all rows. [kg]
    repeatability : float
        The same without what the trim sets away. [kg]
    rows : tuple of Row
        Largest first.
    equation : str
        Where the equation comes from.
    because : str
        The answer in one sentence.
    """

    total: float
    repeatability: float
    rows: tuple[Row, ...]
    equation: str
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """What a narrower claim would take.

    Attributes
    ----------
    holds : bool
        True where nothing has to change.
    wanted : float
        Largest total that the claim allows. [kg]
    alone : float or None
        What the largest source must come down to where it alone is changed; None where that
        cannot be enough. [kg]
    limit : float
        What every source above it must come down to where all are changed. [kg]
    sources : tuple of str
        Those above that limit, largest first.
    because : str
        The answer in one sentence.
    """

    holds: bool
    wanted: float
    alone: float | None
    limit: float
    sources: tuple[str, ...]
    because: str


def dose_budget(
    contributors: Sequence[Contributor], *, measured_sd: float | None = None
) -> Budget:
    """Return the budget of a dose from its sources.

    Parameters
    ----------
    contributors : sequence of Contributor
        All independent of each other; one source that acts in two ways is one contributor
        with the sum of both sensitivities.
    measured_sd : float, optional
        Spread from shot to shot that this machine has shown; what the sources do not explain
        of it gets a row of its own. [kg]

    Returns
    -------
    Budget
        Ranked.

    Raises
    ------
    BadInput
        If there is no contributor, or one is not finite or its uncertainty is negative.

    References
    ----------
    .. [1] JCGM 100:2008, section 5.1; from memory.

    Examples
    --------
    >>> found = dose_budget([
    ...     Contributor(name="drop", sensitivity=1.0, standard_uncertainty=4e-5),
    ...     Contributor(name="stop", sensitivity=1.5, standard_uncertainty=2e-5),
    ... ])
    >>> round(1e6 * found.total, 6), found.rows[0].name
    (50.0, 'drop')
    """
    if not contributors:
        raise BadInput(
            "contributors is empty; name at least one source of spread.",
            field="contributors",
            given=0,
            allowed="one or more",
        )
    told = [(one, _contribution(one, place)) for place, one in enumerate(contributors)]
    if measured_sd is not None:
        within = math.hypot(*(size for one, size in told if one.kind is Kind.WITHIN), 0.0)
        rest = above_zero(measured_sd, "measured_sd") ** 2 - within**2
        if rest > 0.0:
            other = Contributor(name=OTHER, sensitivity=1.0, standard_uncertainty=math.sqrt(rest))
            told.append((other, math.sqrt(rest)))
    total = math.hypot(*(size for _, size in told))
    square = total**2 or 1.0
    ordered = sorted(told, key=lambda pair: -pair[1])
    rows = tuple(
        Row(
            name=one.name,
            contribution=size,
            share=size**2 / square,
            kind=one.kind,
            cure=one.cure,
        )
        for one, size in ordered
    )
    first = rows[0]
    return Budget(
        total=total,
        repeatability=math.hypot(*(size for one, size in told if one.kind is not Kind.BIAS), 0.0),
        rows=rows,
        equation=_JCGM100,
        because="No source gives any spread."
        if total == 0.0
        else f"{first.name} gives {100.0 * first.share:.0f} % of the square of the spread.",
    )


def what_it_takes(budget: Budget, claim: float, *, coverage: float = 2.0) -> Demand:
    """Return what would have to shrink, and to what, for a claim to hold.

    Parameters
    ----------
    budget : Budget
        The budget as it is.
    claim : float
        Half width of the band that is claimed. [kg]
    coverage : float
        How many standard deviations the band must hold; 2 is about 95 %. [1]

    Returns
    -------
    Demand
        The sources by name; what the trim sets away is left out.

    Raises
    ------
    BadInput
        If the claim or the coverage is not above zero.

    Notes
    -----
    Where all large sources are brought down to one limit c, Σ min(c_i, c)² = (claim/k)²: the
    least change to the largest ones.
    """
    wanted = above_zero(claim, "claim") / above_zero(coverage, "coverage")
    rows = [row for row in budget.rows if row.kind is not Kind.BIAS and row.contribution > 0.0]
    if budget.repeatability <= wanted:
        return Demand(
            holds=True,
            wanted=wanted,
            alone=None,
            limit=rows[0].contribution if rows else 0.0,
            sources=(),
            because=f"The claim holds: {coverage:g} standard deviations are "
            f"{1e3 * coverage * budget.repeatability:.3g} g, it allows {1e3 * claim:.3g} g.",
        )
    others = sum(row.contribution**2 for row in rows[1:])
    alone = math.sqrt(wanted**2 - others) if others < wanted**2 else None
    low, high = 0.0, rows[0].contribution
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        is_over = sum(min(row.contribution, middle) ** 2 for row in rows) > wanted**2
        low, high = (low, middle) if is_over else (middle, high)
    sources = tuple(row.name for row in rows if row.contribution > low)
    words = (
        f"{rows[0].name} alone would have to come from {1e3 * rows[0].contribution:.3g} g to "
        f"{1e3 * alone:.3g} g"
        if alone is not None
        else f"{', '.join(sources)} would each have to come down to {1e3 * low:.3g} g"
    )
    cure = f": {rows[0].cure}" if rows[0].cure else ""
    return Demand(
        holds=False,
        wanted=wanted,
        alone=alone,
        limit=low,
        sources=sources,
        because=f"{words}{cure}.",
    )


def _contribution(one: Contributor, place: int) -> float:
    """Return what one source gives alone."""
    field = f"contributors[{place}]"
    size = finite(one.sensitivity, f"{field}.sensitivity")
    return abs(size) * not_negative(one.standard_uncertainty, f"{field}.standard_uncertainty")
