"""Evidence with level and sd integrated on a grid, for noise that has no closed form."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.signature_evidence import LEVEL_VAR, SHAPE, SPREAD, of_readings

__all__ = [
    "HEAVY_DF",
    "Integral",
    "LevelGrid",
    "heavy_fit",
    "integrated",
    "level_and_sd_grid",
]

_Floats = NDArray[np.float64]

HEAVY_DF = 4.0
_NODES = 7
_HERMITE, _HERMITE_WEIGHT = np.polynomial.hermite_e.hermegauss(_NODES)
_WIDER = 1.15
_ROUNDS = 8
_LEAST = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelGrid:
    """Nodes of a level and an sd.

    Attributes
    ----------
    level : ndarray, shape (m, m)
        Level at each node, in units of the guessed sd. [1]
    sd : ndarray, shape (m, m)
        Sd at each node, in units of the guessed sd. [1]
    log_weight : ndarray, shape (m, m)
        Log of the weight of each node, prior density included. [1]
    """

    level: _Floats
    sd: _Floats
    log_weight: _Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Integral:
    """What is left when level and sd are integrated out.

    Attributes
    ----------
    log_evidence : float
        Log of the density of the readings. [1]
    level : float
        Expected level, in units of the guessed sd. [1]
    noise : float
        Expected variance, in units of the guessed variance. [1]
    """

    log_evidence: float
    level: float
    noise: float


def level_and_sd_grid(level: float, spread: float, *, count: int) -> LevelGrid:
    """Return nodes about the most likely level and sd.

    Parameters
    ----------
    level : float
        Most likely level, in units of the guessed sd. [1]
    spread : float
        Most likely sd, in units of the guessed sd. [1]
    count : int
        Number of readings that they are known from.

    Returns
    -------
    LevelGrid
        Nodes and weights.

    Notes
    -----
    Gauss-Hermite in log sd and, a little wider for larger sds, in the level. The prior is that
    of `linear_fits`: level normal with 30 sd, variance inverse-gamma.
    """
    t, weight = _HERMITE, _HERMITE_WEIGHT
    sd = np.broadcast_to(
        (spread * np.exp(_WIDER / math.sqrt(2.0 * count) * t))[:, None], (_NODES, _NODES)
    )
    mu = level + _WIDER / math.sqrt(count) * t[None, :] * sd
    # Weights of the rule over its own normal density, and the change of variables.
    rule = np.log(weight) + 0.5 * t**2
    area = rule[:, None] + rule[None, :] + math.log(_WIDER**2 / (math.sqrt(2.0) * count))
    var = sd**2
    of_sd = math.log(2.0 * SPREAD**SHAPE) - math.lgamma(SHAPE) - SHAPE * np.log(var)
    of_level = -0.5 * np.log(2.0 * math.pi * LEVEL_VAR * var) - 0.5 * mu**2 / (LEVEL_VAR * var)
    return LevelGrid(
        level=mu,
        sd=sd,
        log_weight=area + np.log(sd) + of_sd - SPREAD / var + of_level,
    )


def integrated(grid: LevelGrid, log_density: _Floats) -> Integral:
    """Return the density of the readings with level and sd integrated out.

    Parameters
    ----------
    grid : LevelGrid
        Nodes and weights.
    log_density : ndarray, shape (m, m)
        Log of the density of the readings at each node. [1]

    Returns
    -------
    Integral
        Evidence, level and variance.
    """
    total = grid.log_weight + log_density
    top = float(np.max(total))
    share = np.exp(total - top)
    mass = float(np.sum(share))
    return Integral(
        log_evidence=top + math.log(mass),
        level=float(np.sum(share * grid.level)) / mass,
        noise=float(np.sum(share * grid.sd**2)) / mass,
    )


def heavy_fit(z: _Floats) -> Integral:
    """Return independent doses about one level whose noise has heavy tails.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Readings less their median, in units of the guessed sd. [1]

    Returns
    -------
    Integral
        Evidence under Student noise of four degrees of freedom, the sd that of the noise.
    """
    shrink = (HEAVY_DF - 2.0) / HEAVY_DF
    level = float(np.median(z))
    var = max(float(np.mean((z - level) ** 2)), _LEAST**2)
    for _ in range(_ROUNDS):
        weight = (HEAVY_DF + 1.0) / (HEAVY_DF + (z - level) ** 2 / (shrink * var))
        level = float(weight @ z) / float(np.sum(weight))
        squares = float(weight @ (z - level) ** 2) / shrink
        var = (2.0 * SPREAD + squares) / (2.0 * SHAPE + z.size)
    grid = level_and_sd_grid(level, math.sqrt(var), count=z.size)
    square = (z - grid.level[..., None]) ** 2 / (shrink * grid.sd[..., None] ** 2)
    top = (
        math.lgamma(0.5 * (HEAVY_DF + 1.0))
        - math.lgamma(0.5 * HEAVY_DF)
        - 0.5 * math.log(HEAVY_DF * math.pi * shrink)
    )
    tails = -0.5 * (HEAVY_DF + 1.0) * np.sum(np.log1p(square / HEAVY_DF), axis=-1)
    whole = integrated(grid, z.size * (top - np.log(grid.sd)) + tails)
    return Integral(
        log_evidence=whole.log_evidence,
        level=whole.level,
        noise=of_readings(whole.noise, count=z.size),
    )
