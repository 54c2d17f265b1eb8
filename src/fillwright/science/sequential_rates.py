"""How often a proof with planned looks succeeds, by drawing runs of readings.

Means and sds at every look of many runs at once; chance comes in as an argument. The factor
at a look is the exact tolerance factor, so that one confidence serves all looks.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.tolerance import tolerance_factor

__all__ = ["Runs", "confidence_of_room", "draw_runs", "edge_sd", "futile_rooms", "room"]

_Floats = NDArray[np.float64]

_LOWEST, _HIGHEST, _STEPS = -3.5, 4.0, 31
_FUTILE_SDS = (0.45, 1.5)
_FUTILE_OFFSET = 0.6
_WINDOW = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Runs:
    """Mean and sd at every look of many runs, of doses with mean 0 and sd 1.

    Attributes
    ----------
    mean : ndarray, shape (runs, looks)
        Mean of the readings so far. [1]
    sd : ndarray, shape (runs, looks)
        Their sample sd. [1]
    """

    mean: _Floats
    sd: _Floats


def draw_runs(looks: Sequence[int], *, runs: int, rng: np.random.Generator) -> Runs:
    """Return mean and sd at every look of many runs.

    Parameters
    ----------
    looks : sequence of int
        Readings at each look, rising.
    runs : int
        How many runs.
    rng : numpy.random.Generator
        Where chance comes from.

    Returns
    -------
    Runs
        Means and sds.

    Notes
    -----
    Mean and sum of squares of each block between two looks are drawn as normal and
    chi-square and joined by the pooling formula, which is exact.
    """
    means, sds = np.empty((runs, len(looks))), np.empty((runs, len(looks)))
    mean, squares, count = np.zeros(runs), np.zeros(runs), 0
    for place, n in enumerate(looks):
        more = n - count
        block = rng.standard_normal(runs) / math.sqrt(more)
        inner = rng.chisquare(more - 1, runs) if more > 1 else np.zeros(runs)
        squares = squares + inner + (block - mean) ** 2 * (count * more / n)
        mean = mean + (block - mean) * (more / n)
        count = n
        means[:, place] = mean
        sds[:, place] = np.sqrt(squares / (n - 1))
    return Runs(mean=means, sd=sds)


def room(runs: Runs, *, sd: float, offset: float, tolerance: float) -> _Floats:
    """Return how many sample sds fit between the mean and the nearer limit.

    Parameters
    ----------
    runs : Runs
        Means and sds of unit doses.
    sd : float
        True sd of single doses. [kg]
    offset : float
        True mean less target. [kg]
    tolerance : float
        Half width of the claim. [kg]

    Returns
    -------
    ndarray, shape (runs, looks)
        Room, below zero where the mean lies outside. [1]
    """
    return np.asarray((tolerance - np.abs(offset + sd * runs.mean)) / (sd * runs.sd))


def edge_sd(offset: float, *, content: float) -> float:
    """Return the sd that leaves exactly the content within a tolerance of 1.

    Parameters
    ----------
    offset : float
        True mean less target, over the tolerance, below 1. [1]
    content : float
        Share of single doses inside. [1]

    Returns
    -------
    float
        Sd over the tolerance. [1]
    """
    from scipy.optimize import brentq  # noqa: PLC0415  heavy library, loaded when asked
    from scipy.special import ndtr, ndtri  # noqa: PLC0415  heavy library, loaded when asked

    off = abs(offset)
    # All of the share outside beyond the nearer limit, or half of it: the sd lies between.
    low = (1.0 - off) / float(ndtri(0.5 * (1.0 + content)))
    high = (1.0 - off) / float(ndtri(content))

    def surplus(sd: float) -> float:
        return float(ndtr((1.0 - off) / sd) - ndtr((-1.0 - off) / sd)) - content

    if surplus(low) <= 0.0:
        return low
    return float(brentq(surplus, 0.999 * low, 1.001 * high, xtol=1e-12))


def confidence_of_room(rooms: _Floats, looks: Sequence[int], *, content: float) -> _Floats:
    """Return the confidence that each room proves, as a standard normal value.

    Parameters
    ----------
    rooms : ndarray, shape (runs, looks)
        Sample sds between the mean and the nearer limit. [1]
    looks : sequence of int
        Readings at each look.
    content : float
        Share of single doses claimed inside. [1]

    Returns
    -------
    ndarray, shape (runs, looks)
        Φ⁻¹ of the confidence, from -3.5 to 4. [1]

    Notes
    -----
    Exact factors at 31 confidences, linear between them in log room and Φ⁻¹.
    """
    from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

    z = np.linspace(_LOWEST, _HIGHEST, _STEPS)
    out = np.empty_like(rooms)
    for place, n in enumerate(looks):
        factors = [tolerance_factor(n, content=content, confidence=float(ndtr(v))) for v in z]
        log_room = np.log(np.maximum(rooms[:, place], 1e-9))
        out[:, place] = np.interp(log_room, np.log(factors), z)
    return out


def futile_rooms(
    looks: Sequence[int],
    factors: Sequence[float],
    *,
    content: float,
    hopeless: float,
    runs: int,
    rng: np.random.Generator,
) -> tuple[float, ...]:
    """Return the room at each look below which so few runs would still be proved.

    Parameters
    ----------
    looks : sequence of int
        Readings at each look.
    factors : sequence of float
        Room that is enough at each look. [1]
    content : float
        Share of single doses claimed inside. [1]
    hopeless : float
        Chance of a later proof below which a run is ended. [1]
    runs : int
        How many runs to draw.
    rng : numpy.random.Generator
        Where chance comes from.

    Returns
    -------
    tuple of float
        Room at each look; at the last look the factor itself. [1]

    Notes
    -----
    Own design. Runs are drawn over true sds from 0.45 to 1.5 of the sd at the edge of the
    claim, all log sds alike, and offsets up to 0.6 of the tolerance, all alike. Sorted by
    room, a moving share of later proofs over a hundredth of the runs crosses `hopeless`.
    """
    drawn = draw_runs(looks, runs=runs, rng=rng)
    low, high = _FUTILE_SDS
    sd = edge_sd(0.0, content=content) * np.exp(rng.uniform(math.log(low), math.log(high), runs))
    off = rng.uniform(0.0, _FUTILE_OFFSET, runs)
    rooms = (1.0 - np.abs(off[:, None] + sd[:, None] * drawn.mean)) / (sd[:, None] * drawn.sd)
    enough = rooms >= np.asarray(factors)
    ends = []
    for place in range(len(looks) - 1):
        open_still = ~np.any(enough[:, : place + 1], axis=1)
        later = np.any(enough[:, place + 1 :], axis=1)[open_still]
        here = rooms[open_still, place]
        order = np.argsort(here, kind="stable")
        width = max(int(_WINDOW * runs), 1)
        total = np.concatenate([[0], np.cumsum(later[order])])
        moving = (total[width:] - total[:-width]) / width
        above = np.flatnonzero(moving >= hopeless)
        first = int(above[0]) if above.size else moving.size - 1
        ends.append(float(here[order][first + width // 2]) if first else -math.inf)
    return (*ends, float(factors[-1]))
