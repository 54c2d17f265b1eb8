"""Friction in a pipe beyond laminar flow, and the kinetic energy that leaves it."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.science.flow_curve import FlowCurve

__all__ = ["LAMINAR_TO", "bore_change", "friction_factor", "kinetic_factor"]

LAMINAR_TO: Final = 2100.0
"""Reynolds number up to which a flow is laminar. [1]"""
_BLEND: Final = 2100.0
_STEPS: Final = 30
_LEAST_RE: Final = 1e-9
_SLOW: Final = 8.0
_CLOSE: Final = 1e-13
_TURBULENT_KINETIC: Final = 1.05
_SLOW_CONTRACTION: Final = 2500.0
_SLOW_ENLARGEMENT: Final = 4000.0


def friction_factor(
    curve: FlowCurve, reynolds: ArrayLike, relative_roughness: ArrayLike
) -> NDArray[np.float64]:
    """Return Fanning's friction factor.

    Parameters
    ----------
    curve : FlowCurve
        The product.
    reynolds : float or ndarray
        Reynolds number after Metzner and Reed. [1]
    relative_roughness : float or ndarray
        Height of the roughness over the bore; counts for a Newtonian product only. [1]

    Returns
    -------
    ndarray
        Friction factor, a quarter of Darcy's. [1]

    Notes
    -----
    Newtonian: Churchill, Chemical Engineering 84 (24), 91 (1977), for all regimes. Others:
    16/Re to 2100; above it Dodge and Metzner, AIChE Journal 5, 189 (1959), blended in over
    2100 to 4200 in the logarithm, so that the loss never falls as the flow grows. Both from
    memory.
    """
    number = np.maximum(np.asarray(reynolds, dtype=np.float64), _LEAST_RE)
    rough = np.asarray(relative_roughness, dtype=np.float64)
    plain = curve.is_newtonian
    found = np.where(plain, _churchill(number, rough), 16.0 / number)
    _, _, index = curve.figures
    fast = ~plain & (number > LAMINAR_TO)
    if not np.any(fast):
        return np.asarray(found)
    laminar = 16.0 / number
    blended = _blended(laminar, _dodge_metzner(np.maximum(number, LAMINAR_TO), index), number)
    return np.asarray(np.where(fast, blended, found))


def kinetic_factor(curve: FlowCurve, reynolds: ArrayLike) -> NDArray[np.float64]:
    """Return how many velocity heads leave a pipe with the flow.

    Parameters
    ----------
    curve : FlowCurve
        The product; a yield stress is left out, which only lowers the factor towards 1.
    reynolds : float or ndarray
        Reynolds number after Metzner and Reed. [1]

    Returns
    -------
    ndarray
        2 for slow Newtonian flow, 1.05 for turbulent flow. [1]

    Notes
    -----
    The parabola of a power law integrated over the pipe: 3·(3n+1)²/((2n+1)(5n+3)).
    """
    _, _, index = curve.figures
    slow = 3.0 * (3.0 * index + 1.0) ** 2 / ((2.0 * index + 1.0) * (5.0 * index + 3.0))
    number = np.maximum(np.asarray(reynolds, dtype=np.float64), _LEAST_RE)
    share = np.clip(np.log(number / LAMINAR_TO) / np.log(2.0), 0.0, 1.0)
    # A straight-line blend lets the loss of a yield fluid fall as its flow grows.
    return np.asarray(slow ** (1.0 - share) * _TURBULENT_KINETIC**share)


def bore_change(
    before: ArrayLike, after: ArrayLike, reynolds: ArrayLike, *, darcy: ArrayLike | None = None
) -> NDArray[np.float64]:
    """Return the loss of a sudden change of bore, in velocity heads of the smaller bore.

    Parameters
    ----------
    before, after : float or ndarray
        Bores in the order of the flow. [m]
    reynolds : float or ndarray
        Reynolds number before the change. [1]
    darcy : float or ndarray, optional
        Darcy's friction factor before the change, for fast flow; that of a smooth pipe when
        left out. [1]

    Returns
    -------
    ndarray
        Zero where the bore does not change. [1]

    Notes
    -----
    Hooper, Chemical Engineering 95 (16), 89 (1988), from memory. His factor for a contraction
    counts heads of the larger bore; here both count heads of the smaller.
    """
    first, second = np.asarray(before, dtype=np.float64), np.asarray(after, dtype=np.float64)
    number = np.maximum(np.asarray(reynolds, dtype=np.float64), _LEAST_RE)
    factor = (
        4.0 * friction_factor(FlowCurve(consistency=1.0), number, 0.0)
        if darcy is None
        else np.asarray(darcy, dtype=np.float64)
    )
    ratio = np.maximum(first, second) / np.minimum(first, second)
    narrows = first > second
    slow = np.where(narrows, (1.2 + 160.0 / number) * (ratio**4 - 1.0), 2.0 * (1.0 - ratio**-4.0))
    fast = np.where(
        narrows,
        (0.6 + 0.48 * factor) * ratio**2 * (ratio**2 - 1.0),
        (1.0 + 0.8 * factor) * (1.0 - ratio**-2.0) ** 2,
    )
    is_slow = number <= np.where(narrows, _SLOW_CONTRACTION, _SLOW_ENLARGEMENT)
    heads = np.where(is_slow, slow, fast)
    # A head of the larger bore is 1/ratio⁴ of a head of the smaller.
    return np.asarray(np.where(narrows, heads / ratio**4, heads))


def _blended(
    laminar: NDArray[np.float64], turbulent: NDArray[np.float64], number: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the friction factor between laminar and turbulent flow."""
    share = np.clip((number - LAMINAR_TO) / _BLEND, 0.0, 1.0)
    upper = np.maximum(turbulent, laminar)
    return np.asarray(np.exp((1.0 - share) * np.log(laminar) + share * np.log(upper)))


def _churchill(number: NDArray[np.float64], rough: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return Churchill's factor; written in logarithms, it does not overflow in slow flow."""
    log_first = 16.0 * np.log(
        2.457 * -np.log((7.0 / np.maximum(number, _SLOW)) ** 0.9 + 0.27 * rough)
    )
    log_second = 16.0 * np.log(37_530.0 / number)
    log_third = 12.0 * np.log(8.0 / number)
    fast = -1.5 * np.logaddexp(np.where(number > _SLOW, log_first, -np.inf), log_second)
    return np.asarray(2.0 * np.exp(np.logaddexp(log_third, fast) / 12.0))


def _dodge_metzner(number: NDArray[np.float64], index: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return Dodge and Metzner's factor by Newton's method on its logarithm."""
    number, index = np.broadcast_arrays(number, index)
    gain = 4.0 / index**0.75
    log_factor = np.full(number.shape, np.log(1e-4))
    for _ in range(_STEPS):
        root = np.exp(-log_factor / 2.0)
        told = gain * (np.log10(number) + (1.0 - index / 2.0) * log_factor / np.log(10.0))
        miss = root - told + 0.4 / index**1.2
        slope = -root / 2.0 - gain * (1.0 - index / 2.0) / np.log(10.0)
        step = miss / slope
        log_factor = log_factor - step
        if np.all(np.abs(step) < _CLOSE):
            break
    return np.asarray(np.exp(log_factor))
