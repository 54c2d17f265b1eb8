"""Evidence that some doses are short while all others are steady.

Each dose is short by chance, by an amount of its own; which ones is summed over exactly, and
level, sd and rate are integrated on a grid fitted to the readings. Own model.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.signature_evidence import SHAPE, SPREAD, of_readings
from fillwright.science.signature_grid import integrated, level_and_sd_grid
from fillwright.science.signature_scan import Scan

__all__ = ["MANY_GOOD", "SHORT_PARTS", "ShortFit", "short_fit", "short_scan"]

_Floats = NDArray[np.float64]

MANY_GOOD = 15.0
SHORT_PARTS = ((0.9, 8.0), (0.1, 64.0))
_NODE, _WEIGHT = np.polynomial.legendre.leggauss(12)
_RATES = 1.0 - (0.5 * (1.0 - _NODE)) ** (1.0 / MANY_GOOD)
_ROUNDS = 8
_CHUNK = 8
_DEEP = -12.0
_PARTS = tuple((share, sd**2) for share, sd in SHORT_PARTS)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortFit:
    """What short doses among steady ones make of the readings.

    Attributes
    ----------
    log_evidence : float
        Log of the density of the readings, at least one of them short. [1]
    chance : ndarray, shape (n,)
        Chance of each dose to be short, at the most likely level and sd. [1]
    level : float
        Level of the doses that are not short, in units of the guessed sd. [1]
    noise : float
        Variance about it, in units of the guessed variance. [1]
    """

    log_evidence: float
    chance: _Floats
    level: float
    noise: float


def short_fit(z: _Floats) -> ShortFit:
    r"""Return how well short doses among steady ones explain the readings.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]

    Returns
    -------
    ShortFit
        Evidence and which doses are short.

    Notes
    -----
    Given level µ and sd σ a dose has the density (1 - p) N(µ, σ²) + p S, where S is the normal
    less a half-normal shortage of sd 8σ (in one of ten 64σ, so that a dose that is missing
    does not pass for noise); p ~ Beta(1, 15). S over N is erfcx(u √(c/2))/√(1 + v) with
    u = (y - µ)/σ and c = v/(1 + v). The case of no short dose is taken out and the rest
    scaled up, so that it is not the steady run by another name. Gauss-Hermite about the
    most likely µ and log σ, Gauss-Legendre in the prior probability of the rate.
    """
    best = _most_likely(z)
    grid = level_and_sd_grid(best.level, best.spread, count=z.size)
    u = (z - grid.level[..., None]) / grid.sd[..., None]
    normal = -0.5 * np.sum(u**2, axis=-1) - z.size * (
        np.log(grid.sd) + 0.5 * math.log(2.0 * math.pi)
    )
    whole = integrated(grid, normal + _log_mixture(u))
    return ShortFit(
        log_evidence=whole.log_evidence - math.log1p(-MANY_GOOD / (MANY_GOOD + z.size)),
        chance=best.chance,
        level=best.level,
        noise=of_readings(whole.noise, count=z.size),
    )


def short_scan(fit: ShortFit, z: _Floats) -> Scan:
    """Return the same as one pattern, the size the shortest dose less the level.

    Parameters
    ----------
    fit : ShortFit
        What short doses make of the readings.
    z : ndarray, shape (n,)
        The readings. [1]

    Returns
    -------
    Scan
        One pattern.
    """
    return Scan(
        log_joint=np.array([fit.log_evidence]),
        change=np.array([-1]),
        size=np.array([float(np.min(z)) - fit.level]),
        wide=np.array([math.sqrt(fit.noise * (1.0 + 1.0 / z.size))]),
        noise=np.array([fit.noise]),
        df=2.0 * SHAPE + z.size,
    )


def _ratio(u: _Floats) -> _Floats:
    """Return the density of a short dose over that of a steady one, down to where it is huge."""
    from scipy.special import erfcx  # noqa: PLC0415  heavy library, loaded when asked

    near = np.maximum(u, _DEEP)
    first, second = (
        share / math.sqrt(1.0 + var) * erfcx(near * math.sqrt(0.5 * var / (1.0 + var)))
        for share, var in _PARTS
    )
    return np.asarray(first + second)


def _log_beyond(u: _Floats) -> _Floats:
    """Return the sum of what the log ratio has more where `_ratio` stops growing."""
    deep = np.minimum(u, _DEEP)
    if float(np.min(u)) >= _DEEP:
        return np.zeros(u.shape[:-1])
    # So far below the level erfcx(x) is 2 exp(x²) to all digits.
    one, other = (
        math.log(share) - 0.5 * math.log1p(var) + 0.5 * var / (1.0 + var) * deep**2
        for share, var in _PARTS
    )
    edge = np.log(_ratio(np.full(1, _DEEP)) / 2.0)
    return np.asarray(np.sum(np.where(u < _DEEP, np.logaddexp(one, other) - edge, 0.0), axis=-1))


def _log_mixture(u: _Floats) -> _Floats:
    """Return the log of the mean over rates and sets, no short dose left out."""
    count = u.shape[-1]
    ratio = _ratio(u)
    # Products of eight doses before each logarithm, ones filled up; they cannot overflow.
    full = -(-count // _CHUNK) * _CHUNK
    spare = np.ones((*u.shape[:-1], full - count))
    rows = np.concatenate([ratio, spare], axis=-1).reshape(*u.shape[:-1], _CHUNK, -1)
    whole = np.stack(
        [np.sum(np.log(np.prod((1.0 - rate) + rate * rows, axis=-2)), axis=-1) for rate in _RATES],
        axis=-1,
    )
    none = count * np.log1p(-_RATES)
    some = whole + _log_beyond(u)[..., None]
    some += np.log(-np.expm1(np.minimum(none - some, -1e-15)))
    top = np.max(some, axis=-1, keepdims=True)
    return np.asarray(top[..., 0] + np.log(np.exp(some - top) @ (0.5 * _WEIGHT)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Likely:
    """Level, sd and the chance of each dose to be short."""

    level: float
    spread: float
    chance: _Floats


def _most_likely(z: _Floats) -> _Likely:
    """Return level, sd and the chance of each dose to be short, by alternation."""
    count = z.size
    # From the upper part alone, where no short dose lies: normal quantiles at 2/3 and 9/10.
    level, high = (float(value) for value in np.quantile(z, (2.0 / 3.0, 0.9)))
    spread = max((high - level) / (1.2816 - 0.4307), 0.1)
    rate = 1.0 / (1.0 + MANY_GOOD)
    chance = np.zeros_like(z)
    for _ in range(_ROUNDS):
        odds = _ratio((z - level) / spread) * rate / (1.0 - rate)
        chance = odds / (1.0 + odds)
        good = 1.0 - chance
        level = float(good @ z) / max(float(np.sum(good)), 1.0)
        far = (z - level) ** 2
        # The amount of a short dose tells too little of the sd to count here.
        shape = 2.0 * SHAPE + float(np.sum(good))
        spread = math.sqrt((2.0 * SPREAD + float(good @ far)) / shape)
        rate = (1.0 + float(np.sum(chance))) / (1.0 + MANY_GOOD + count)
    return _Likely(level=level, spread=spread, chance=chance)
