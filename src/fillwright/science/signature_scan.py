"""The patterns of one kind of wandering, and the sums that fit them all at once."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.signature_evidence import Fits
from fillwright.science.signature_grid import Integral

__all__ = [
    "CREEP_FEWEST",
    "RATIOS",
    "SCATTER_FEWEST",
    "SIZES",
    "Ramps",
    "Scan",
    "Sizes",
    "either",
    "from_the_start",
    "growth_of",
    "head_sums",
    "one_pattern",
    "ramps_of",
    "scan_of",
    "tail_sums",
    "thinned",
]

_Floats = NDArray[np.float64]
_Places = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scan:
    """The patterns of one kind and what they make of the readings.

    Attributes
    ----------
    log_joint : ndarray, shape (k,)
        Log evidence of each pattern plus the log of its prior share within the kind. [1]
    change : ndarray of int, shape (k,)
        First dose after the change, counted from 0; -1 where there is none.
    size : ndarray, shape (k,)
        Expected size of the effect, in units of the guessed sd. [1]
    wide : ndarray, shape (k,)
        Scale of its distribution. [1]
    noise : ndarray, shape (k,)
        Variance left, in units of the guessed variance. [1]
    df : float
        Degrees of freedom of the distribution of the size. [1]
    """

    log_joint: _Floats
    change: _Places
    size: _Floats
    wide: _Floats
    noise: _Floats
    df: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """Prior sd of each effect, in units of the sd of a dose.

    Attributes
    ----------
    step : float
        Jump. [1]
    creep : float
        Change from the first to the last dose of the creep. [1]
    level : float
        Change over the range of hopper levels. [1]
    purge : float
        Shortage of the first dose. [1]
    alternate : float
        Half the difference between neighbouring doses. [1]
    """

    step: float = 3.0
    creep: float = 6.0
    level: float = 6.0
    purge: float = 9.0
    alternate: float = 1.5


SIZES = Sizes()
CREEP_FEWEST = 6
SCATTER_FEWEST = 4
RATIOS = (1.8, 2.2, 2.7, 3.3, 4.0)


def scan_of(fits: Fits, *, change: _Places | None = None, times: float = 1.0) -> Scan:
    """Return fits with an even prior, the size that of the last column.

    Parameters
    ----------
    fits : Fits
        One fit a pattern.
    change : ndarray of int or None
        First dose after the change of each; none where there is no change.
    times : float
        Size over coefficient. [1]

    Returns
    -------
    Scan
        The same patterns.
    """
    count = fits.mean.size
    return Scan(
        log_joint=fits.log_evidence - math.log(count),
        change=np.full(count, -1) if change is None else change,
        size=times * fits.mean,
        wide=times * fits.wide,
        noise=fits.noise,
        df=fits.df,
    )


def growth_of(fits: Fits, change: _Places, ratio: _Floats) -> Scan:
    """Return fits with an even prior, the size the rise of the sd.

    Parameters
    ----------
    fits : Fits
        One fit a pattern.
    change : ndarray of int
        First dose after the change of each.
    ratio : ndarray
        Sd at the end over sd at the start of each. [1]

    Returns
    -------
    Scan
        The same patterns.
    """
    rise = (ratio - 1.0) * np.sqrt(fits.noise)
    return Scan(
        log_joint=fits.log_evidence - math.log(rise.size),
        change=change,
        size=rise,
        wide=rise / math.sqrt(2.0 * fits.df),
        noise=fits.noise,
        df=fits.df,
    )


def either(one: Scan, other: Scan, *, share: float = 0.5) -> Scan:
    """Return the patterns of both.

    Parameters
    ----------
    one : Scan
        Patterns.
    other : Scan
        More of them.
    share : float
        Prior share of the others. [1]

    Returns
    -------
    Scan
        All patterns, the first ones first.
    """
    return Scan(
        log_joint=np.concatenate(
            [one.log_joint + math.log1p(-share), other.log_joint + math.log(share)]
        ),
        change=np.concatenate([one.change, other.change]),
        size=np.concatenate([one.size, other.size]),
        wide=np.concatenate([one.wide, other.wide]),
        noise=np.concatenate([one.noise, other.noise]),
        df=one.df,
    )


def from_the_start(scan: Scan) -> Scan:
    """Return the same with half the prior on the first pattern, a creep from the first dose.

    Parameters
    ----------
    scan : Scan
        Patterns with an even prior, the first dose first.

    Returns
    -------
    Scan
        The same patterns.

    Notes
    -----
    Own choice: wear is there from the start, a stop that slips begins somewhere. It also keeps
    a creep and a hopper that is not refilled from being told apart by the prior alone.
    """
    count = scan.log_joint.size
    prior = np.full(count, 0.5 / count)
    prior[0] += 0.5
    return Scan(
        log_joint=scan.log_joint + np.log(prior * count),
        change=scan.change,
        size=scan.size,
        wide=scan.wide,
        noise=scan.noise,
        df=scan.df,
    )


def one_pattern(whole: Integral) -> Scan:
    """Return a pattern without change or size from what was integrated on a grid.

    Parameters
    ----------
    whole : Integral
        Evidence and variance.

    Returns
    -------
    Scan
        One pattern.
    """
    return Scan(
        log_joint=np.array([whole.log_evidence]),
        change=np.array([-1]),
        size=np.zeros(1),
        wide=np.ones(1),
        noise=np.array([whole.noise]),
        df=1.0,
    )


def thinned(places: _Places, most: int) -> _Places:
    """Return at most so many of the places, evenly spaced, ends included.

    Parameters
    ----------
    places : ndarray of int
        Places in order.
    most : int
        How many may stay.

    Returns
    -------
    ndarray of int
        Those that stay.
    """
    if places.size <= most:
        return places
    return places[np.unique(np.linspace(0, places.size - 1, most).round().astype(np.int64))]


def tail_sums(values: _Floats) -> _Floats:
    """Return the sum from each place to the end.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Values. [1]

    Returns
    -------
    ndarray, shape (n,)
        Sums. [1]
    """
    return np.cumsum(values[::-1])[::-1]


def head_sums(values: _Floats) -> _Floats:
    """Return the sum before each place, and the whole sum last.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Values. [1]

    Returns
    -------
    ndarray, shape (n + 1,)
        Sums. [1]
    """
    return np.concatenate([[0.0], np.cumsum(values)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Ramps:
    """Sums of straight rises from each place to the end, one at the last dose.

    Attributes
    ----------
    places : ndarray of int, shape (k,)
        First dose of each, counted from 0.
    ones : ndarray, shape (k,)
        Sum of each. [1]
    squares : ndarray, shape (k,)
        Sum of squares of each. [1]
    count : int
        Number of doses.
    """

    places: _Places
    ones: _Floats
    squares: _Floats
    count: int

    def times(self, values: _Floats) -> _Floats:
        """Return the sum of products of each ramp with a row.

        Parameters
        ----------
        values : ndarray, shape (n,)
            The row. [1]

        Returns
        -------
        ndarray, shape (k,)
            Sums. [1]
        """
        order = np.arange(self.count)
        risen = tail_sums(order * values)[self.places]
        fallen = (self.places - 1.0) * tail_sums(values)[self.places]
        return np.asarray((risen - fallen) / (self.count - self.places))


def ramps_of(count: int) -> Ramps:
    """Return the sums of ramps from every place that leaves enough doses.

    Parameters
    ----------
    count : int
        Number of doses.

    Returns
    -------
    Ramps
        Their sums.
    """
    places = np.arange(0, count - CREEP_FEWEST + 1)
    m = count - places.astype(np.float64)
    return Ramps(
        places=places,
        ones=0.5 * (m + 1.0),
        squares=(m + 1.0) * (2.0 * m + 1.0) / (6.0 * m),
        count=count,
    )
