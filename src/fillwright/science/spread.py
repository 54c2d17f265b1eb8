"""How a sample sd scatters about the true one."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

__all__ = ["chi_density"]


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
