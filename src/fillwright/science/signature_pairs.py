"""The patterns of two kinds at work at once: creep with level, step with scatter.

They count as patterns of both kinds, so that neither is called with certainty where the
other is at work too. Own choice of pairs: those that one cause commonly makes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.signature_evidence import LEVEL_VAR, Fits, linear_fits
from fillwright.science.signature_scan import (
    RATIOS,
    SCATTER_FEWEST,
    SIZES,
    Scan,
    either,
    from_the_start,
    growth_of,
    head_sums,
    ramps_of,
    scan_of,
    thinned,
)

__all__ = ["PairScans", "creep_with_level_scan", "step_with_scatter_scan"]

_Floats = NDArray[np.float64]
_Places = NDArray[np.int64]

_CROSSED = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class PairScans:
    """Two kinds at once, seen from either.

    Attributes
    ----------
    first : Scan
        The same patterns with the size of the first kind.
    second : Scan
        The same patterns with the size of the second kind.
    """

    first: Scan
    second: Scan


def creep_with_level_scan(z: _Floats, height: _Floats) -> PairScans:
    """Return a creep from every place in doses that follow the hopper level.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]
    height : ndarray, shape (n,)
        Level less its mean, over its range. [1]

    Returns
    -------
    PairScans
        Creep first, level second.
    """
    ramps = ramps_of(z.size)
    one = np.ones_like(ramps.ones)
    rows = {
        "level": (
            float(height @ height) * one,
            float(np.sum(height)) * one,
            float(height @ z) * one,
        ),
        "creep": (ramps.squares, ramps.ones, ramps.times(z)),
    }
    mixed = ramps.times(height)
    square = float(z @ z) * one
    scans = []
    for order in (("level", "creep"), ("creep", "level")):
        (aa, a, ay), (bb, b, by) = (rows[name] for name in order)
        gram = np.array([[z.size * one, a, b], [a, aa, mixed], [b, mixed, bb]])
        cross = np.array([float(np.sum(z)) * one, ay, by])
        variances = tuple(getattr(SIZES, name) ** 2 for name in order)
        fits = linear_fits(gram, cross, square, variances=(LEVEL_VAR, *variances), count=z.size)
        scans.append(from_the_start(scan_of(fits, change=ramps.places)))
    return PairScans(first=scans[0], second=scans[1])


def step_with_scatter_scan(z: _Floats) -> PairScans:
    """Return a jump and a scatter that grows at once, each at some place.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]

    Returns
    -------
    PairScans
        Step first, scatter second: both at the same place, or each at its own of a coarse
        grid, with half the prior each.
    """
    n = z.size
    places = np.arange(SCATTER_FEWEST, n - SCATTER_FEWEST + 1)
    ratios = np.array(RATIOS)
    at, ratio = np.repeat(places, ratios.size), np.tile(ratios, places.size)
    few = thinned(places, _CROSSED)
    step = np.repeat(few, few.size * ratios.size)
    wild = np.tile(np.repeat(few, ratios.size), few.size)
    more = np.tile(ratios, few.size**2)
    firsts, seconds = [], []
    for jump, grown, times in ((at, at, ratio), (step, wild, more)):
        fits = _step_and_scatter(z, jump, grown, times)
        firsts.append(scan_of(fits, change=jump))
        seconds.append(growth_of(fits, grown, times))
    return PairScans(first=either(*firsts), second=either(*seconds))


def _step_and_scatter(z: _Floats, jump: _Places, grown: _Places, ratio: _Floats) -> Fits:
    """Return the fits of a jump at one place and scatter times a ratio from another on."""
    n = z.size
    weight = ratio**-2.0
    later = np.maximum(jump, grown)
    heads = [head_sums(column) for column in (np.ones(n), z, z**2)]
    ones, cross, square = (h[grown] + (h[n] - h[grown]) * weight for h in heads)
    after, moved = (h[later] - h[jump] + (h[n] - h[later]) * weight for h in heads[:2])
    return linear_fits(
        np.array([[ones, after], [after, after]]),
        np.array([cross, moved]),
        square,
        variances=(LEVEL_VAR, SIZES.step**2),
        count=n,
        log_weight=np.asarray((grown - float(n)) * np.log(ratio), dtype=np.float64),
    )
