"""What leaks past a piston or a valve through the ring-shaped gap of a seal."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import OutsideModel
from fillwright.science.given_many import all_above_zero, all_from_zero, all_inside

__all__ = ["annular_leak"]


def annular_leak(
    bore: ArrayLike,
    *,
    gap: ArrayLike,
    land: ArrayLike,
    pressure: ArrayLike,
    consistency: ArrayLike,
    index: ArrayLike = 1.0,
    eccentricity: ArrayLike = 0.0,
) -> NDArray[np.float64]:
    """Return the flow through a thin ring-shaped gap.

    Parameters
    ----------
    bore : float or ndarray
        Bore that the seal runs in. [m]
    gap : float or ndarray
        Radial gap. [m]
    land : float or ndarray
        Length of the gap along the flow. [m]
    pressure : float or ndarray
        Pressure across it. [Pa]
    consistency : float or ndarray
        Viscosity, or consistency of a power-law product. [Pa·sⁿ]
    index : float or ndarray
        Flow index n; 1 for a Newtonian product. [1]
    eccentricity : float or ndarray
        How far off centre, as a share of the gap; for Newtonian products only. [1]

    Returns
    -------
    ndarray
        Leak. [m³/s]

    Raises
    ------
    BadInput
        If a size is not above zero, the pressure negative or the eccentricity not 0 to 1.
    OutsideModel
        If the gap is no thin gap, or an eccentric gap is asked of a power-law product.

    Notes
    -----
    A slit of width πD between plates: Q = πD h² n/(2(2n + 1)) (hΔp/(2KL))^(1/n), which for
    n = 1 is πD h³Δp/(12µL); off centre that grows by 1 + 1.5 ε² (both from memory, Poiseuille
    and Piercy; the tests integrate the profile and the gap).

    Examples
    --------
    >>> leak = annular_leak(0.05, gap=1e-5, land=0.008, pressure=2e5, consistency=1e-3)
    >>> round(1e9 * float(leak), 1)
    327.2
    """
    wide, thin = all_above_zero(bore, "bore"), all_from_zero(gap, "radial_gap")
    length = all_above_zero(land, "land")
    push = all_from_zero(pressure, "pressure")
    thick = all_above_zero(consistency, "consistency")
    n = all_above_zero(index, "n")
    off = all_inside(eccentricity, "eccentricity", low=0.0, high=1.0 + 1e-12)
    if np.any(thin > 0.1 * wide):
        raise OutsideModel(
            f"radial_gap is {1e3 * float(np.max(thin)):g} mm; the equation of a thin gap holds "
            "up to a tenth of the bore. Measure the gap again.",
            field="radial_gap",
            given=float(np.max(thin)),
            allowed="up to a tenth of the bore",
        )
    if np.any((off > 0.0) & (n != 1.0)):
        raise OutsideModel(
            "eccentricity is known for Newtonian products only; leave it out for this one.",
            field="eccentricity",
            given=float(np.max(off)),
            allowed="0 unless n is 1",
        )
    grip = np.power(thin * push / (2.0 * thick * length), 1.0 / n)
    concentric = math.pi * wide * np.square(thin) * n / (2.0 * (2.0 * n + 1.0)) * grip
    return np.asarray(concentric * (1.0 + 1.5 * np.square(off)))
