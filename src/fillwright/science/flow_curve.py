"""Flow curves: how the stress in a product grows with the rate at which it is sheared.

One form holds four models: stress = yield stress + consistency · rate^index. In a pipe the
wall stress follows from the flow by Newton's method on ln(wall stress - yield stress).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.science.given_many import all_above_zero, all_from_zero, all_inside

__all__ = ["MOST_INDEX", "FlowCurve", "nominal_rate", "wall_stress"]

MOST_INDEX: Final = 2.0
"""Largest index that is computed with; no product that is filled comes near it."""
_LEAST_INDEX: Final = 0.05
_STEPS: Final = 60
_CLOSE: Final = 1e-13
_LOWEST: Final = 1e-300


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowCurve:
    """Stress against rate of shear, for one product or for many.

    Newtonian: no yield stress, index 1. Power law: no yield stress. Bingham: index 1.
    Herschel and Bulkley, Kolloid-Zeitschrift 39, 291 (1926), from memory: all three.

    Parameters
    ----------
    yield_stress : float or ndarray
        Stress below which nothing flows. [Pa]
    consistency : float or ndarray
        Viscosity where the index is 1. [Pa·sⁿ]
    index : float or ndarray
        1 for a viscosity that does not depend on the rate, less for products that thin. [1]

    Raises
    ------
    BadInput
        If a figure is not finite, the consistency is not above zero, the yield stress is
        negative, or the index is outside 0.05 to 2.
    """

    yield_stress: ArrayLike = 0.0
    consistency: ArrayLike
    index: ArrayLike = 1.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "yield_stress", all_from_zero(self.yield_stress, "yield_pa"))
        object.__setattr__(self, "consistency", all_above_zero(self.consistency, "k_pa_sn"))
        kept = all_inside(self.index, "n", low=_LEAST_INDEX, high=MOST_INDEX)
        object.__setattr__(self, "index", kept)

    @property
    def figures(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Return yield stress, consistency and index as arrays. [Pa], [Pa·sⁿ], [1]."""
        return (
            np.asarray(self.yield_stress, dtype=np.float64),
            np.asarray(self.consistency, dtype=np.float64),
            np.asarray(self.index, dtype=np.float64),
        )

    @property
    def is_newtonian(self) -> NDArray[np.bool_]:
        """Return where the viscosity depends on nothing."""
        start, _, index = self.figures
        return np.asarray((start == 0.0) & (index == 1.0))

    def stress(self, rate: ArrayLike) -> NDArray[np.float64]:
        """Return the stress at a rate of shear.

        Parameters
        ----------
        rate : float or ndarray
            Rate of shear, zero or above. [1/s]

        Returns
        -------
        ndarray
            Stress; at rest the yield stress. [Pa]
        """
        start, consistency, index = self.figures
        return np.asarray(start + consistency * np.asarray(rate, dtype=np.float64) ** index)

    def rate(self, stress: ArrayLike) -> NDArray[np.float64]:
        """Return the rate of shear at a stress.

        Parameters
        ----------
        stress : float or ndarray
            Stress. [Pa]

        Returns
        -------
        ndarray
            Rate of shear, zero up to the yield stress. [1/s]
        """
        start, consistency, index = self.figures
        over = np.maximum(np.asarray(stress, dtype=np.float64) - start, 0.0)
        return np.asarray((over / consistency) ** (1.0 / index))


def nominal_rate(curve: FlowCurve, stress: ArrayLike) -> NDArray[np.float64]:
    """Return 8·velocity/bore of laminar pipe flow at a wall stress.

    Parameters
    ----------
    curve : FlowCurve
        The product.
    stress : float or ndarray
        Stress at the wall. [Pa]

    Returns
    -------
    ndarray
        Nominal rate of shear; zero up to the yield stress. [1/s]

    Notes
    -----
    The profile integrated over the pipe (Rabinowitsch and Mooney); Chhabra and Richardson,
    Non-Newtonian Flow and Applied Rheology, chapter 3, from memory.
    """
    start, _, _ = curve.figures
    wall = np.asarray(stress, dtype=np.float64)
    over = wall - start
    moves = over > 0.0
    log_rate, _ = _log_rate(curve, np.log(np.where(moves, over, 1.0)))
    return np.asarray(np.where(moves, np.exp(log_rate), 0.0))


def wall_stress(curve: FlowCurve, rate: ArrayLike) -> NDArray[np.float64]:
    """Return the wall stress of laminar pipe flow at a nominal rate of shear.

    Parameters
    ----------
    curve : FlowCurve
        The product.
    rate : float or ndarray
        8·velocity/bore, zero or above. [1/s]

    Returns
    -------
    ndarray
        Stress at the wall; at rest the yield stress. [Pa]
    """
    start, consistency, index = curve.figures
    nominal = np.asarray(rate, dtype=np.float64)
    if np.all(curve.is_newtonian):
        return np.asarray(consistency * nominal)
    start, consistency, index, nominal = np.broadcast_arrays(start, consistency, index, nominal)
    moves = nominal > 0.0
    asked = np.log(np.where(moves, np.maximum(nominal, _LOWEST), 1.0))
    # Without a yield stress this start is the answer (Metzner and Reed's wall stress).
    log_over = np.log(consistency) + index * (np.log((3.0 * index + 1.0) / (4.0 * index)) + asked)
    if np.any((start > 0.0) & moves):
        log_over = _by_newton(curve, asked, log_over)
    return np.asarray(start + np.where(moves, np.exp(log_over), 0.0))


def _by_newton(
    curve: FlowCurve, asked: NDArray[np.float64], log_over: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return ln of the stress above the yield stress at ln of a nominal rate."""
    for _ in range(_STEPS):
        found, slope = _log_rate(curve, log_over)
        step = (found - asked) / slope
        log_over = log_over - step
        if np.all(np.abs(step) < _CLOSE * (1.0 + np.abs(log_over))):
            break
    return log_over


def _log_rate(
    curve: FlowCurve, log_over: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return ln of the nominal rate, and its slope, at ln of the stress above the yield."""
    start, consistency, index = curve.figures
    over = np.exp(log_over)
    share = over / (start + over)
    plug = 1.0 - share
    outer, middle, inner = 3.0 * index + 1.0, 2.0 * index + 1.0, index + 1.0
    profile = share**2 / outer + 2.0 * plug * share / middle + plug**2 / inner
    bend = (
        plug * share * (2.0 * share / outer + 2.0 * (plug - share) / middle - 2.0 * plug / inner)
    )
    log_rate = (
        np.log(4.0 * index)
        + (log_over - np.log(consistency)) / index
        + np.log(share)
        + np.log(profile)
    )
    return log_rate, 1.0 / index + plug + bend / profile
