"""Whether the dose creeps, and when it will reach a limit at that.

A straight line through everything since the last adjustment. A falling hopper that is not
refilled and a linear creep look the same: both are said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, readings_in_order
from fillwright.science.watch_state import WatchState

__all__ = ["Drift", "drift", "watch_drift"]

_FEWEST = 3
_SLOWEST = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """How the dose creeps since the last adjustment.

    Attributes
    ----------
    slope : float or None
        Change of the dose per container; none with fewer than three readings. [kg]
    slope_interval : tuple of float or None
        Two-sided 95 % interval of it. [kg]
    level_now : float or None
        Deviation on the line at the last container. [kg]
    reaches_limit_at : float or None
        Container at which the line reaches the limit; none where no creep can be told. [1]
    reaches_interval : tuple of float or None
        Two-sided 95 % interval of that container; an end is none where it is never. [1]
    creeps : bool
        Whether the interval of the slope leaves out zero.
    equation : str
        Where the equations come from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        The answer in one sentence.
    """

    slope: float | None
    slope_interval: tuple[float, float] | None
    level_now: float | None
    reaches_limit_at: float | None
    reaches_interval: tuple[float | None, float | None] | None
    creeps: bool
    equation: str
    assumptions: tuple[str, ...]
    because: str


def drift(positions: ArrayLike, deviations: ArrayLike, *, limit: float) -> Drift:
    """Return how the dose creeps and when it reaches a limit.

    Parameters
    ----------
    positions : array_like, shape (n,)
        Container numbers, in order. [1]
    deviations : array_like, shape (n,)
        Readings less target. [kg]
    limit : float
        Deviation not to be passed, either way. [kg]

    Returns
    -------
    Drift
        Slope, level now and the container at the limit, with intervals.

    Raises
    ------
    BadInput
        If the rows differ in length or a figure cannot be used.

    Notes
    -----
    Ordinary least squares; the interval of the container at the limit by Fieller's theorem
    [1]_, which leaves the far end open where zero slope cannot be ruled out.

    References
    ----------
    .. [1] Fieller, Some problems in interval estimation, J. R. Stat. Soc. B 16 (1954); from
       memory.
    """
    x = readings_in_order(positions, "positions", at_least=1)
    y = readings_in_order(deviations, "deviations", at_least=1)
    if x.size != y.size:
        raise BadInput(
            f"deviations holds {y.size} and positions {x.size}; give as many of each.",
            field="deviations",
            given=y.size,
            allowed="as many as positions",
            code="inconsistent",
        )
    right, over = x - float(np.mean(x)), y - float(np.mean(y))
    return _from_sums(
        _Sums(
            count=x.size,
            position=float(np.mean(x)),
            deviation=float(np.mean(y)),
            xx=float(right @ right),
            xy=float(right @ over),
            yy=float(over @ over),
            last=float(x[-1]),
        ),
        above_zero(limit, "limit"),
    )


def watch_drift(state: WatchState, *, limit: float) -> Drift:
    """Return the same from the running sums of a watch.

    Parameters
    ----------
    state : WatchState
        The watch now.
    limit : float
        Deviation not to be passed, either way. [kg]

    Returns
    -------
    Drift
        Slope, level now and the container at the limit, with intervals.

    Raises
    ------
    BadInput
        If the limit is not above zero.
    """
    return _from_sums(
        _Sums(
            count=state.line_count,
            position=state.line_position,
            deviation=state.line_deviation,
            xx=state.line_xx,
            xy=state.line_xy,
            yy=state.line_yy,
            last=state.last_position,
        ),
        above_zero(limit, "limit"),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sums:
    """What a straight line needs of its points."""

    count: int
    position: float
    deviation: float
    xx: float
    xy: float
    yy: float
    last: float


def _from_sums(sums: _Sums, limit: float) -> Drift:
    """Return the drift from the sums of a regression."""
    from scipy.special import stdtrit  # noqa: PLC0415  heavy library, loaded when asked

    if sums.count < _FEWEST or sums.xx <= 0.0:
        return _drift(because="Too few readings since the last adjustment to tell a creep.")
    slope = sums.xy / sums.xx
    free = sums.count - 2
    noise = max(sums.yy - slope * sums.xy, 0.0) / free
    wide = float(stdtrit(free, 0.975))
    half = wide * math.sqrt(noise / sums.xx)
    now = sums.deviation + slope * (sums.last - sums.position)
    interval = (slope - half, slope + half)
    edge = math.copysign(limit, slope)
    gap = edge - sums.deviation
    square = slope**2 - half**2
    # A creep so small that its square is nothing is none that anybody can wait for.
    if abs(slope) <= half or square <= (_SLOWEST * limit) ** 2:
        return _drift(
            slope=slope,
            interval=interval,
            now=now,
            because="No creep can be told from the scatter.",
        )
    at = max(sums.position + gap / slope, sums.last)
    # Fieller: (gap - slope u)² = t² s² (1/n + u²/Sxx), u counted from the mean position.
    offset = wide**2 * noise / sums.count
    root = math.sqrt(max((slope * gap) ** 2 - square * (gap**2 - offset), 0.0))
    ends = sorted(sums.position + (slope * gap + sign * root) / square for sign in (-1.0, 1.0))
    way = "up" if slope > 0.0 else "down"
    return _drift(
        slope=slope,
        interval=interval,
        now=now,
        at=at,
        reaches=(max(ends[0], sums.last), max(ends[1], sums.last)),
        because=f"The dose goes {way}, at the limit near container {at:.0f}: "
        "a creep, or a hopper that is not refilled.",
    )


def _drift(
    *,
    because: str,
    slope: float | None = None,
    interval: tuple[float, float] | None = None,
    now: float | None = None,
    at: float | None = None,
    reaches: tuple[float, float] | None = None,
) -> Drift:
    """Return the answer with what is common to all."""
    return Drift(
        slope=slope,
        slope_interval=interval,
        level_now=now,
        reaches_limit_at=at,
        reaches_interval=reaches,
        creeps=at is not None,
        equation="least squares; interval of the crossing by Fieller's theorem",
        assumptions=(
            "The creep is a straight line since the last adjustment and goes on as it is.",
            "Readings scatter independently about it.",
        ),
        because=because,
    )
