"""The inputs of a match side by side: as given, and each at both ends of its range.

Row 0 holds everything as given; each input then has two rows with itself alone at its ends.
So one run of whole arrays gives a figure, its range, and the input that moves it most.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.science.flow_curve import FlowCurve
from fillwright.science.match_types import Case, MatchOutcome, Reason

__all__ = ["INPUTS", "Ranged", "Rows", "graded", "ranged", "rows_of"]

INPUTS: Final = (
    "viscosity",
    "surface tension",
    "air release",
    "dose",
    "temperature",
    "air pressure",
    "neck",
    "handling",
)
"""Names of the inputs that are varied, in the order of their rows."""
_NEAR: Final = 0.02
_STILL: Final = 1e-9
_RANKS: Final = (MatchOutcome.OK, MatchOutcome.WITH_CARE, MatchOutcome.NO)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """Every input in every row.

    Attributes
    ----------
    thickness : ndarray
        Times the consistency and the yield stress as given. [1]
    tension : ndarray
        Surface tension; not a number where it is not known. [N/m]
    release : ndarray
        Pressure at which air comes out. [Pa]
    dose : ndarray
        Volume of a dose. [m³]
    celsius : ndarray
        Temperature; not a number where it is not known. [°C]
    gauge : ndarray
        Air pressure over the air around, as a change of what is given. [Pa]
    neck : ndarray
        Bore of the neck. [m]
    handling : ndarray
        Time to change containers. [s]
    """

    thickness: NDArray[np.float64]
    tension: NDArray[np.float64]
    release: NDArray[np.float64]
    dose: NDArray[np.float64]
    celsius: NDArray[np.float64]
    gauge: NDArray[np.float64]
    neck: NDArray[np.float64]
    handling: NDArray[np.float64]

    def curve(self, given: FlowCurve) -> FlowCurve:
        """Return the flow curve in columns, one row a case; the yield grows with the rest."""
        start, consistency, index = (float(one) for one in given.figures)
        times = self.thickness[:, np.newaxis]
        return FlowCurve(yield_stress=start * times, consistency=consistency * times, index=index)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranged:
    """A figure with its range.

    Attributes
    ----------
    value, low, high : float
        The figure as given, and its ends. [unit of the figure]
    matters_most : str or None
        Input that moves it most; None where none does.
    swing : float
        How far that input moves it, in ln. [1]
    """

    value: float
    low: float
    high: float
    matters_most: str | None
    swing: float


def rows_of(case: Case) -> Rows:
    """Return the rows of a case.

    Parameters
    ----------
    case : Case
        The case with its ranges.

    Returns
    -------
    Rows
        One row as given and two for each input.
    """
    wide, product = case.ranges, case.product
    hands = math.sqrt(wide.handling * wide.handling_most)
    ends = (
        _times(1.0, wide.viscosity),
        _times(product.surface_tension or math.nan, wide.surface_tension),
        _times(product.release_pressure, wide.release_pressure),
        (case.dose, case.dose * (1.0 - wide.dose), case.dose * (1.0 + wide.dose)),
        _either(
            math.nan if product.temperature is None else product.temperature, wide.temperature
        ),
        _either(0.0, wide.air_pressure),
        _either(case.neck_bore, wide.neck),
        (hands, wide.handling, wide.handling_most),
    )
    columns = []
    for place, (value, low, high) in enumerate(ends):
        column = np.full(1 + 2 * len(ends), value)
        column[1 + 2 * place], column[2 + 2 * place] = low, high
        columns.append(column)
    return Rows(
        **dict(
            zip(
                (
                    "thickness",
                    "tension",
                    "release",
                    "dose",
                    "celsius",
                    "gauge",
                    "neck",
                    "handling",
                ),
                columns,
                strict=True,
            )
        )
    )


def ranged(figure: NDArray[np.float64]) -> Ranged:
    """Return a figure's range from its rows.

    Parameters
    ----------
    figure : ndarray, shape (rows,)
        The figure in every row. [unit of the figure]

    Returns
    -------
    Ranged
        Ends by the root of the sum of squares of what each input does alone, as a ratio; where
        a figure is not above zero or has no end, the least and the greatest row.
    """
    value = float(figure[0])
    ends = figure[1:].reshape(-1, 2)
    if np.isnan(figure).any():
        ends = np.where(np.isnan(ends), value, ends)
    whole = np.isfinite(figure).all() and (figure > 0.0).all()
    if whole:
        away = np.log(ends / value)
        down = math.sqrt(float(np.square(np.minimum(away.min(axis=1), 0.0)).sum()))
        up = math.sqrt(float(np.square(np.maximum(away.max(axis=1), 0.0)).sum()))
        low, high = value * math.exp(-down), value * math.exp(up)
        swings = away.max(axis=1) - away.min(axis=1)
    else:
        low, high = float(np.min([value, ends.min()])), float(np.max([value, ends.max()]))
        capped = np.clip(ends, -1e30, 1e30)
        swings = np.log1p(np.abs(capped[:, 1] - capped[:, 0]))
    place = int(np.argmax(swings))
    moves = float(swings[place])
    return Ranged(
        value=value,
        low=low,
        high=high,
        matters_most=INPUTS[place] if moves > _STILL else None,
        swing=moves,
    )


def graded(
    rule: str,
    found: Ranged,
    rank: Callable[[float], MatchOutcome],
    words: dict[MatchOutcome, str],
    *,
    limits: tuple[float, ...],
    unit: str,
) -> Reason:
    """Return a rule's outcome over the whole range of its figure.

    Parameters
    ----------
    rule : str
        Name of the rule.
    found : Ranged
        Its figure.
    rank : callable
        Takes a figure and returns the outcome.
    words : mapping of MatchOutcome to str
        What to say of each.
    limits : tuple of float
        Figures at which the outcome turns; none where nothing turns it. [unit of the figure]
    unit : str
        Unit of the figure.

    Returns
    -------
    Reason
        With care where the ends differ; the input to measure is then named.
    """
    seen = {rank(one) for one in (found.value, found.low, found.high)}
    outcome = rank(found.value)
    because = words[outcome]
    if len(seen) > 1:
        if outcome is MatchOutcome.NO and math.isfinite(found.value):
            because = words.get(MatchOutcome.WITH_CARE, because)
        outcome = MatchOutcome.WITH_CARE
        most = found.matters_most
        if most is not None:
            because = f"{because} The {most} decides: measure it."
    value = found.value
    turns = [
        abs(math.log(value / one))
        for one in limits
        if 0.0 < one < math.inf and 0.0 < value < math.inf
    ]
    return Reason(
        rule=rule,
        outcome=outcome,
        because=because,
        value=_finite(found.value),
        low=_finite(found.low),
        high=_finite(found.high),
        unit=unit,
        matters_most=found.matters_most,
        pull=found.swing / (min(turns) + _NEAR) if turns else 0.0,
    )


def _times(value: float, factor: float) -> tuple[float, float, float]:
    """Return a figure and its ends, so many times less and more."""
    return value, value / factor, value * factor


def _either(value: float, reach: float) -> tuple[float, float, float]:
    """Return a figure and its ends to either side."""
    return value, value - reach, value + reach


def _finite(value: float) -> float | None:
    """Return a figure, or None where it has no end."""
    return value if math.isfinite(value) else None
