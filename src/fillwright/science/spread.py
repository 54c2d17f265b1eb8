"""How a sample sd scatters about the true one."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

__all__ = ["chi_density", "sd_interval"]


def chi_density(ratio: NDArray[np.float64], df: float) -> NDArray[np.float64]:
    """Return the density of sample sd over true sd of normal readings.

    Parameters
    ----------
    ratio : ndarray
        Sample sd over true sd, above zero. [1]
    df : float
        Degrees of freedom of the sample sd. [1]

    Returns
    -------
    ndarray
        Density. [1]

    Notes
    -----
    Root of chi-square over its degrees of freedom, by definition.
    """
    from scipy.special import gammaln  # noqa: PLC0415  heavy library, loaded when asked

    top = 0.5 * df * math.log(0.5 * df) - float(gammaln(0.5 * df)) + math.log(2.0)
    return np.asarray(np.exp(top + (df - 1.0) * np.log(ratio) - 0.5 * df * ratio**2))


def sd_interval(sd: float, n: int) -> tuple[float, float]:
    """Return the two-sided 95 % interval of the true sd of normal readings, by chi-square.

    Parameters
    ----------
    sd : float
        Sample sd. [any unit]
    n : int
        Number of readings, two or more. [1]

    Returns
    -------
    tuple of float
        Low and high end. [unit of `sd`]

    Notes
    -----
    NIST/SEMATECH e-Handbook of Statistical Methods, section 7.2.3.1 (from memory).

    Examples
    --------
    >>> tuple(round(end, 3) for end in sd_interval(1.0, 10))
    (0.688, 1.826)
    """
    from scipy.special import chdtri  # noqa: PLC0415  heavy library, loaded when asked

    free = n - 1.0
    return (
        sd * math.sqrt(free / float(chdtri(free, 0.025))),
        sd * math.sqrt(free / float(chdtri(free, 0.975))),
    )
