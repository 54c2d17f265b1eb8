"""How well a linear pattern with unknown sd explains readings: the closed-form evidence.

Normal readings, normal prior of the coefficients in units of the sd, inverse-gamma prior of
the variance. Everything is an array over the patterns that are tried, such as change times.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["LEVEL_VAR", "SHAPE", "SPREAD", "Fits", "linear_fits", "of_readings", "one_sided"]

_Floats = NDArray[np.float64]

SHAPE = 1.0
SPREAD = 0.5
LEVEL_VAR = 900.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fits:
    """What each of k patterns makes of the readings.

    Attributes
    ----------
    log_evidence : ndarray, shape (k,)
        Log of the density of the readings, coefficients and sd integrated out. [1]
    mean : ndarray, shape (k,)
        Expected coefficient of the last column, in units of the guessed sd. [1]
    wide : ndarray, shape (k,)
        Scale of its Student distribution, in units of the guessed sd. [1]
    noise : ndarray, shape (k,)
        Variance left, the prior not counted, in units of the guessed variance. [1]
    df : float
        Degrees of freedom of the Student distribution. [1]
    """

    log_evidence: _Floats
    mean: _Floats
    wide: _Floats
    noise: _Floats
    df: float


def linear_fits(
    gram: _Floats,
    cross: _Floats,
    square: _Floats,
    *,
    variances: tuple[float, ...],
    count: int,
    log_weight: _Floats | float = 0.0,
) -> Fits:
    r"""Return the evidence of k linear patterns from their sums.

    Parameters
    ----------
    gram : ndarray, shape (p, p, k)
        Sums of products of the weighted columns. [1]
    cross : ndarray, shape (p, k)
        Sums of products of the weighted columns with the readings. [1]
    square : ndarray, shape (k,)
        Sums of the squared weighted readings. [1]
    variances : tuple of float
        Prior variance of each coefficient, in units of the variance of a reading. [1]
    count : int
        Number of readings.
    log_weight : ndarray or float
        Half the log of the determinant of the weights. [1]

    Returns
    -------
    Fits
        Evidence and the coefficient of the last column.

    Notes
    -----
    y = Xβ + e, e ~ N(0, σ²C), β|σ² ~ N(0, σ²V), σ² ~ IG(a0, b0), X and y whitened by C:
    log m = -(n/2) log 2π - ½log|C| - ½log|V| - ½log|A| + a0 log b0 - aₙ log bₙ + lnΓ(aₙ)
    - lnΓ(a0), A = X'X + V⁻¹, aₙ = a0 + n/2, bₙ = b0 + ½(y'y - r'A⁻¹r), r = X'y [1]_. It is
    a multivariate Student density with 2 a0 degrees of freedom. A is eliminated column by
    column, so the last pivot is what the last coefficient is known by.

    References
    ----------
    .. [1] Standard conjugate regression, as in Bernardo and Smith, Bayesian Theory (1994);
       from memory, checked against a published library's multivariate Student density.
    """
    rest = np.array(gram, dtype=np.float64)
    right = np.array(cross, dtype=np.float64)
    columns = len(variances)
    half_log = np.zeros_like(square)
    left = np.array(square, dtype=np.float64)
    pivot = np.ones_like(square)
    for j, variance in enumerate(variances):
        pivot = rest[j, j] + 1.0 / variance
        half_log += 0.5 * np.log(pivot * variance)
        left -= right[j] ** 2 / pivot
        for i in range(j + 1, columns):
            share = rest[i, j] / pivot
            right[i] -= share * right[j]
            for m in range(j + 1, columns):
                rest[i, m] -= share * rest[j, m]
    shape = SHAPE + 0.5 * count
    spread = SPREAD + 0.5 * np.maximum(left, 0.0)
    evidence = constant(count) + log_weight - half_log - shape * np.log(spread)
    return Fits(
        log_evidence=np.asarray(evidence),
        mean=right[columns - 1] / pivot,
        wide=np.sqrt(spread / shape / pivot),
        noise=np.maximum(left, 0.0) / (count - 1.0),
        df=2.0 * shape,
    )


def constant(count: int) -> float:
    """Return the part of the log evidence that is common to all patterns.

    Parameters
    ----------
    count : int
        Number of readings.

    Returns
    -------
    float
        -(n/2) log 2π + a0 log b0 + lnΓ(a0 + n/2) - lnΓ(a0). [1]
    """
    shape = SHAPE + 0.5 * count
    return (
        -0.5 * count * math.log(2.0 * math.pi)
        + SHAPE * math.log(SPREAD)
        + math.lgamma(shape)
        - math.lgamma(SHAPE)
    )


def of_readings(variance: float, *, count: int) -> float:
    """Return the part of an expected variance that comes from the readings, not the prior.

    Parameters
    ----------
    variance : float
        Expected variance after the readings, in units of the guessed variance. [1]
    count : int
        Number of readings.

    Returns
    -------
    float
        Variance left, zero or above. [1]

    Notes
    -----
    The mean of an inverse gamma is bₙ/(aₙ - 1); twice bₙ less b0 is the sum of squares left.
    """
    squares = (2.0 * SHAPE + count - 2.0) * variance - 2.0 * SPREAD
    return max(squares, 0.0) / (count - 1.0)


def one_sided(fits: Fits) -> Fits:
    """Return the same with the last coefficient held below zero.

    Parameters
    ----------
    fits : Fits
        Patterns whose last coefficient has a normal prior.

    Returns
    -------
    Fits
        Evidence under the lower half of that normal prior.

    Notes
    -----
    Twice the evidence times the posterior chance of a coefficient below zero, which is exact.
    """
    from scipy.special import stdtr  # noqa: PLC0415  heavy library, loaded when asked

    below = np.maximum(stdtr(fits.df, -fits.mean / fits.wide), 1e-300)
    return Fits(
        log_evidence=fits.log_evidence + math.log(2.0) + np.log(below),
        mean=fits.mean,
        wide=fits.wide,
        noise=fits.noise,
        df=fits.df,
    )
