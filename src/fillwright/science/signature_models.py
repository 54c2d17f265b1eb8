"""The patterns of each kind, scanned over change times and shapes by running sums.

Every scan weighs its patterns alike beforehand. Own choice of patterns.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fillwright.science.signature_evidence import LEVEL_VAR, Fits, linear_fits, one_sided
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
    tail_sums,
    thinned,
)

__all__ = [
    "FADES",
    "PHIS",
    "STEP_FEWEST",
    "alternate_scan",
    "autocorr_scan",
    "creep_scan",
    "level_scan",
    "level_unknown_scan",
    "purge_scan",
    "scatter_scan",
    "steady_scan",
    "step_scan",
]

_Floats = NDArray[np.float64]

STEP_FEWEST = 2
FADES = (1.5, 2.1, 3.0, 4.2, 6.0, 8.5, 12.0)
PHIS = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
_RAMPS = 16
_PERIODS = (0.2, 0.25, 0.33, 0.4, 0.5, 0.6, 0.75, 0.9)
_PHASES = 8


def steady_scan(z: _Floats) -> Scan:
    """Return independent doses about one level.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]

    Returns
    -------
    Scan
        One pattern.
    """
    fits = linear_fits(
        np.full((1, 1, 1), float(z.size)),
        np.array([[float(np.sum(z))]]),
        np.array([float(z @ z)]),
        variances=(LEVEL_VAR,),
        count=z.size,
    )
    return scan_of(fits)


def step_scan(z: _Floats) -> Scan:
    """Return a jump of the level at every place.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]

    Returns
    -------
    Scan
        One pattern a place.
    """
    places = np.arange(STEP_FEWEST, z.size - STEP_FEWEST + 1)
    after = z.size - places.astype(np.float64)
    total = tail_sums(z)[places]
    return scan_of(_with_column(z, after, after, total, variance=SIZES.step**2), change=places)


def creep_scan(z: _Floats) -> Scan:
    """Return a straight rise or fall from every place to the end.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]

    Returns
    -------
    Scan
        One pattern a place, the first dose with half the prior; the size is the change at the
        last dose.
    """
    ramps = ramps_of(z.size)
    fits = _with_column(z, ramps.ones, ramps.squares, ramps.times(z), variance=SIZES.creep**2)
    return from_the_start(scan_of(fits, change=ramps.places))


def scatter_scan(z: _Floats) -> Scan:
    """Return scatter that grows at once at every place, or in a straight line from some.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]

    Returns
    -------
    Scan
        Both shapes with half the prior each; the size is the rise of the sd at the end.
    """
    n = z.size
    places = np.arange(SCATTER_FEWEST, n - SCATTER_FEWEST + 1)
    at, ratio = np.repeat(places, len(RATIOS)), np.tile(np.array(RATIOS), places.size)
    heads = [head_sums(column) for column in (np.ones(n), z, z**2)]
    ones, cross, square = (h[at] + (h[n] - h[at]) / ratio**2 for h in heads)
    jump = linear_fits(
        ones[None, None],
        cross[None],
        square,
        variances=(LEVEL_VAR,),
        count=n,
        log_weight=-(n - at) * np.log(ratio),
    )
    few = thinned(places, _RAMPS)
    start, rise = np.repeat(few, len(RATIOS)), np.tile(np.array(RATIOS), few.size)
    up = np.maximum(np.arange(n)[None, :] - few[:, None] + 1.0, 0.0) / (n - few)[:, None]
    times = (1.0 + np.multiply.outer(np.array(RATIOS) - 1.0, up)).transpose(1, 0, 2).reshape(-1, n)
    sums = (times**-2.0) @ np.stack([np.ones(n), z, z**2], axis=1)
    ramp = linear_fits(
        sums[:, 0][None, None],
        sums[:, 1][None],
        sums[:, 2],
        variances=(LEVEL_VAR,),
        count=n,
        log_weight=-np.sum(np.log(times), axis=1),
    )
    return either(growth_of(jump, at, ratio), growth_of(ramp, start, rise))


def purge_scan(z: _Floats) -> Scan:
    """Return doses that start short and come up while the air leaves.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]

    Returns
    -------
    Scan
        One pattern a fade; the size is the shortage of the first dose, below zero.
    """
    fade = np.exp(-np.arange(z.size)[None, :] / np.array(FADES)[:, None])
    return scan_of(one_sided(_with_columns(z, fade, variance=SIZES.purge**2)))


def alternate_scan(z: _Floats) -> Scan:
    """Return doses of which every other one is larger.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]

    Returns
    -------
    Scan
        One pattern; the size is the first of a pair less the second.
    """
    turn = np.where(np.arange(z.size) % 2 == 0, 1.0, -1.0)[None, :]
    return scan_of(_with_columns(z, turn, variance=SIZES.alternate**2), times=2.0)


def level_scan(z: _Floats, height: _Floats) -> Scan:
    """Return doses that follow the product level in the hopper.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]
    height : ndarray, shape (n,)
        Level less its mean, over its range; all zero where it did not move. [1]

    Returns
    -------
    Scan
        One pattern; the size is that from the lowest to the highest level.
    """
    return scan_of(_with_columns(z, height[None, :], variance=SIZES.level**2))


def level_unknown_scan(z: _Floats) -> Scan:
    """Return doses that follow a level which was not given: falling, with refills or none.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]

    Returns
    -------
    Scan
        A straight fall with half the prior, refills at even spacing with the other.
    """
    n = z.size
    dose = np.arange(n)[None, :]
    period, phase = np.meshgrid(
        n * np.array(_PERIODS), (np.arange(_PHASES) + 0.5) / _PHASES, indexing="ij"
    )
    teeth = 1.0 - np.mod(dose / period.reshape(-1, 1) + phase.reshape(-1, 1), 1.0)
    fall = 1.0 - dose / (n - 1.0)
    variance = SIZES.level**2
    return either(
        scan_of(_with_columns(z, fall, variance=variance)),
        scan_of(_with_columns(z, teeth, variance=variance)),
    )


def autocorr_scan(z: _Floats) -> Scan:
    """Return doses that are like the one before them, without direction.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]

    Returns
    -------
    Scan
        One pattern a correlation of neighbours.

    Notes
    -----
    First-order autoregression of constant variance; its inverse covariance whitens by
    (y_t - φ y_{t-1})/√(1 - φ²), the first reading stays, |C| = (1 - φ²)^(n-1). From memory.
    """
    phi = np.array(PHIS)
    left = 1.0 - phi**2
    n = z.size
    inner = float(z[1:-1] @ z[1:-1])
    square = (float(z @ z) + phi**2 * inner - 2.0 * phi * float(z[1:] @ z[:-1])) / left
    ones = 1.0 + (n - 1.0) * (1.0 - phi) / (1.0 + phi)
    cross = z[0] + (float(np.sum(z[1:])) - phi * float(np.sum(z[:-1]))) / (1.0 + phi)
    return scan_of(
        linear_fits(
            ones[None, None],
            cross[None],
            square,
            variances=(LEVEL_VAR,),
            count=n,
            log_weight=-0.5 * (n - 1.0) * np.log(left),
        )
    )


def _with_columns(z: _Floats, columns: _Floats, *, variance: float) -> Fits:
    """Return the fits of a level and each of the columns."""
    return _with_column(
        z, np.sum(columns, axis=1), np.sum(columns**2, axis=1), columns @ z, variance=variance
    )


def _with_column(
    z: _Floats, ones: _Floats, squares: _Floats, products: _Floats, *, variance: float
) -> Fits:
    """Return the fits of a level and a column from the sums of the column."""
    one = np.ones_like(ones)
    return linear_fits(
        np.array([[z.size * one, ones], [ones, squares]]),
        np.array([float(np.sum(z)) * one, products]),
        float(z @ z) * one,
        variances=(LEVEL_VAR, variance),
        count=z.size,
    )
