"""What a filler uses of compressed air, and what a compressor must give."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput
from fillwright.science.air import AMBIENT, REFERENCE_PRESSURE, must_be_thinner
from fillwright.science.given_many import all_above_zero, all_from_zero

__all__ = ["Compressor", "compressor", "free_air"]

_COMPRESSOR_SPARE: Final = 1.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Compressor:
    """What a compressor must give.

    Attributes
    ----------
    delivery : float
        Free air it must deliver, with some to spare, at the state of its inlet. [m³/s]
    tank : float
        Least tank that carries one peak. [m³]
    """

    delivery: float
    tank: float


def free_air(
    bore: ArrayLike,
    rod: ArrayLike,
    stroke: ArrayLike,
    *,
    supply: ArrayLike,
    dead_volume: ArrayLike = 0.0,
    ambient: float = AMBIENT,
) -> NDArray[np.float64]:
    """Return the free air of one double stroke of an air cylinder.

    Parameters
    ----------
    bore : float or ndarray
        Bore of the air cylinder. [m]
    rod : float or ndarray
        Diameter of its rod. [m]
    stroke : float or ndarray
        Length of the stroke. [m]
    supply : float or ndarray
        Supply pressure, absolute. [Pa]
    dead_volume : float or ndarray
        Volume filled and emptied besides the stroke, each side. [m³]
    ambient : float
        Pressure of the air around, absolute. [Pa]

    Returns
    -------
    ndarray
        Volume of reference air. [m³]

    Raises
    ------
    BadInput
        If the rod is no thinner than the bore, or a length or pressure is not above zero.

    Notes
    -----
    Each side fills from ambient pressure to the supply: (p_s (A S + V) - p_a V)/p0.
    """
    wide = all_above_zero(bore, "bore")
    thin = all_from_zero(rod, "rod")
    must_be_thinner(thin, wide)
    length = all_above_zero(stroke, "stroke")
    full = all_above_zero(supply, "supply")
    dead = all_from_zero(dead_volume, "dead_volume")
    areas = math.pi / 4.0 * (2.0 * wide**2 - thin**2)
    air = full * (areas * length + 2.0 * dead) - 2.0 * ambient * dead
    return np.asarray(air / REFERENCE_PRESSURE)


def compressor(
    *,
    mean_demand: float,
    peak_demand: float,
    peak_time: float,
    tank_high: float,
    tank_low: float,
) -> Compressor:
    """Return what a compressor and its tank must give.

    Parameters
    ----------
    mean_demand : float
        Free air used on average. [m³/s]
    peak_demand : float
        Free air used while a stroke moves. [m³/s]
    peak_time : float
        How long a stroke moves. [s]
    tank_high : float
        Pressure at which the compressor stops, absolute. [Pa]
    tank_low : float
        Pressure at which it starts, absolute. [Pa]

    Returns
    -------
    Compressor
        Delivery with 30 % to spare (common practice, no source), and the tank.

    Raises
    ------
    BadInput
        If the tank's upper pressure is not above its lower one.

    Notes
    -----
    The tank carries what one peak takes above the delivery, within its two pressures.
    """
    if tank_high <= tank_low:
        raise BadInput(
            f"tank_high is {tank_high:g} Pa, tank_low {tank_low:g} Pa; the compressor must stop "
            "at a higher pressure than it starts.",
            field="tank_high",
            given=tank_high,
            allowed=f"above {tank_low:g} Pa",
            code="inconsistent",
        )
    delivery = _COMPRESSOR_SPARE * mean_demand
    short = max(peak_demand - delivery, 0.0) * peak_time
    return Compressor(delivery=delivery, tank=short * REFERENCE_PRESSURE / (tank_high - tank_low))
