"""Where the change was and how large the effect is, over all patterns of one kind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.signature_scan import Scan

__all__ = ["PlaceRange", "SizeRange", "change_range", "size_range"]

_Floats = NDArray[np.float64]

_ENDS = (0.1, 0.5, 0.9)
_LIGHT = 1e-4
_GRID = 257
_FAR = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceRange:
    """Median and 80 % interval of a place.

    Attributes
    ----------
    low : int
        Place below which one tenth lies, counted from 0.
    middle : int
        Median.
    high : int
        Place up to which nine tenths lie.
    """

    low: int
    middle: int
    high: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeRange:
    """Median and 80 % interval of a size.

    Attributes
    ----------
    low : float
        Below it lies one tenth. [1]
    middle : float
        Median. [1]
    high : float
        Below it lie nine tenths. [1]
    """

    low: float
    middle: float
    high: float


def change_range(scan: Scan, share: _Floats) -> PlaceRange | None:
    """Return where the change was.

    Parameters
    ----------
    scan : Scan
        Patterns of one kind.
    share : ndarray, shape (k,)
        Posterior share of each. [1]

    Returns
    -------
    PlaceRange or None
        Quantiles over the patterns; none where there is no change.
    """
    if int(scan.change[0]) < 0:
        return None
    mass = np.cumsum(np.bincount(scan.change, weights=share))
    low, middle, high = (int(np.searchsorted(mass, end * mass[-1])) for end in _ENDS)
    return PlaceRange(low=low, middle=middle, high=high)


def size_range(scan: Scan, share: _Floats) -> SizeRange:
    """Return how large the effect is.

    Parameters
    ----------
    scan : Scan
        Patterns of one kind.
    share : ndarray, shape (k,)
        Posterior share of each. [1]

    Returns
    -------
    SizeRange
        Quantiles of the mixture of Student distributions.
    """
    heavy = share > _LIGHT * float(np.max(share))
    weight = share[heavy] / float(np.sum(share[heavy]))
    size, wide = scan.size[heavy], scan.wide[heavy]
    ends = np.linspace(float(np.min(size - _FAR * wide)), float(np.max(size + _FAR * wide)), _GRID)
    near = _quantiles(ends, scan.df, size, wide, weight=weight)
    # A second, finer grid about the quantiles of the first.
    edge = float(ends[1] - ends[0])
    fine = np.linspace(near[0] - edge, near[2] + edge, _GRID)
    near = _quantiles(fine, scan.df, size, wide, weight=weight)
    low, middle, high = (float(value) for value in near)
    return SizeRange(low=low, middle=middle, high=high)


def _quantiles(
    ends: _Floats, df: float, size: _Floats, wide: _Floats, *, weight: _Floats
) -> _Floats:
    """Return the quantiles of a mixture of Student distributions, read off a grid."""
    from scipy.special import stdtr  # noqa: PLC0415  heavy library, loaded when asked

    below = stdtr(df, (ends[:, None] - size) / wide) @ weight
    return np.asarray(np.interp(_ENDS, below, ends))
