"""Constants of mean, range and sd charts, computed rather than tabulated.

By quadrature over the distribution of the range of n normal readings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from fillwright.errors import BadInput
from fillwright.science.given import whole

__all__ = ["ChartConstants", "chart_constants"]

_LARGEST_GROUP = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartConstants:
    """Constants of mean, range and sd charts for one group size.

    Attributes
    ----------
    c4 : float
        Expected sample sd over the true sd. [1]
    d2 : float
        Expected range over the true sd. [1]
    d3 : float
        Sd of the range over the true sd. [1]
    A2 : float
        Mean chart from the mean range: 3 / (d2 √n). [1]
    A3 : float
        Mean chart from the mean sd: 3 / (c4 √n). [1]
    B3 : float
        Lower limit of the sd chart, over the mean sd. [1]
    B4 : float
        Upper limit of the sd chart, over the mean sd. [1]
    D3 : float
        Lower limit of the range chart, over the mean range. [1]
    D4 : float
        Upper limit of the range chart, over the mean range. [1]
    """

    c4: float
    d2: float
    d3: float
    A2: float
    A3: float
    B3: float
    B4: float
    D3: float
    D4: float


def chart_constants(subgroup_size: int) -> ChartConstants:
    """Return the constants of mean, range and sd charts.

    Parameters
    ----------
    subgroup_size : int
        Readings in a group, 2 to 100.

    Returns
    -------
    ChartConstants
        All nine.

    Raises
    ------
    BadInput
        If the size is not a whole number from 2 to 100.

    Notes
    -----
    c4 = √(2/(n - 1)) Γ(n/2)/Γ((n - 1)/2); d2 and E R² from the distribution of the range by
    Gauss-Legendre. ISO 7870-2 prints the same (from memory).

    Examples
    --------
    >>> round(chart_constants(5).d2, 5)
    2.32593
    """
    n = whole(subgroup_size, "subgroup_size", at_least=2)
    if n > _LARGEST_GROUP:
        raise BadInput(
            f"subgroup_size is {n}; give 2 to {_LARGEST_GROUP}.",
            field="subgroup_size",
            given=n,
            allowed=f"2 to {_LARGEST_GROUP}",
        )
    return _constants(n)


@lru_cache(maxsize=128)
def _constants(n: int) -> ChartConstants:
    """Return the constants, by quadrature over the distribution of the range."""
    from scipy.special import gammaln, ndtr  # noqa: PLC0415  heavy library, loaded when asked

    c4 = math.sqrt(2.0 / (n - 1)) * math.exp(float(gammaln(n / 2.0) - gammaln((n - 1) / 2.0)))
    nodes, weights = np.polynomial.legendre.leggauss(240)
    far = 9.0
    x = far * nodes
    low = ndtr(x)
    d2 = far * float(np.sum(weights * (1.0 - low**n - (1.0 - low) ** n)))
    half = 0.5 * (far - x)[:, None]
    high = ndtr(x[:, None] + half * (nodes + 1.0))
    inner = 1.0 - high**n - (1.0 - low[:, None]) ** n + (high - low[:, None]) ** n
    squared = 2.0 * far * float(np.sum(weights[:, None] * weights * half * inner))
    d3 = math.sqrt(squared - d2**2)
    swing = 3.0 * math.sqrt(1.0 - c4**2) / c4
    return ChartConstants(
        c4=c4,
        d2=d2,
        d3=d3,
        A2=3.0 / (d2 * math.sqrt(n)),
        A3=3.0 / (c4 * math.sqrt(n)),
        B3=max(0.0, 1.0 - swing),
        B4=1.0 + swing,
        D3=max(0.0, 1.0 - 3.0 * d3 / d2),
        D4=1.0 + 3.0 * d3 / d2,
    )
