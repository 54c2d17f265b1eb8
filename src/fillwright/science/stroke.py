"""Limits of a stroke at steady speed: the fastest full recharge, and what a faster one leaves.

Level A: for limits, verdicts and maps. Times that a person reads off a watch are those of
`stroke_times`, because the air's exhaust side must first empty.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.science.air import AMBIENT
from fillwright.science.flow_table import FlowTable
from fillwright.science.given_many import all_above_zero, all_from_zero

__all__ = [
    "GRAVITY",
    "RELEASE_PRESSURE",
    "Limiting",
    "RechargeLimit",
    "fill_fraction",
    "recharge_limit",
]

GRAVITY: Final = 9.80665
RELEASE_PRESSURE: Final = 20_000.0


class Limiting(StrEnum):
    """What limits the recharge."""

    VAPOUR = "vapour"
    AIR_RELEASE = "air-release"
    SUPPLY = "supply"
    YIELD = "yield"


@dataclass(frozen=True, slots=True, kw_only=True)
class RechargeLimit:
    """The fastest recharge that still fills.

    Attributes
    ----------
    available : ndarray
        Pressure that can push product into the cylinder. [Pa]
    flow_max : ndarray
        Flow at that pressure; zero where it will not feed. [m³/s]
    fastest : ndarray
        Shortest time in which the cylinder fills; infinite where it will not feed. [s]
    limiting : ndarray of str
        A ``Limiting`` for each case.
    """

    available: NDArray[np.float64]
    flow_max: NDArray[np.float64]
    fastest: NDArray[np.float64]
    limiting: NDArray[np.str_]


def recharge_limit(
    table: FlowTable,
    *,
    swept: ArrayLike,
    head_pressure: ArrayLike = 0.0,
    vapour_pressure: ArrayLike = 0.0,
    release_pressure: ArrayLike = RELEASE_PRESSURE,
    dwell: ArrayLike = 0.0,
    drive_time: ArrayLike = 0.0,
    ambient: float = AMBIENT,
) -> RechargeLimit:
    """Return the greatest flow from the hopper and the shortest recharge that still fills.

    Parameters
    ----------
    table : FlowTable
        Losses from the hopper to the cylinder, the kinetic part included.
    swept : float or ndarray
        Volume of the drawn stroke. [m³]
    head_pressure : float or ndarray
        Density times g times the height of the product above the cylinder's axis. [Pa]
    vapour_pressure : float or ndarray
        Vapour pressure of the product. [Pa]
    release_pressure : float or ndarray
        Pressure at which dissolved or stirred-in air comes out; a guess until the recharge
        knee has been measured. [Pa]
    dwell : float or ndarray
        Rest at the rear stop before the valve turns. [s]
    drive_time : float or ndarray
        Shortest time of the drive itself. [s]
    ambient : float
        Pressure of the air around, absolute. [Pa]

    Returns
    -------
    RechargeLimit
        Times are those of a piston at steady speed, not of a stop watch.

    Raises
    ------
    BadInput
        If the swept volume is not above zero or another figure is negative.

    Notes
    -----
    Suction has what the air around and the head can push, less the pressure at which a void
    opens, the greater of vapour and release pressure; never more than an atmosphere.
    """
    volume = all_above_zero(swept, "swept")
    boils = all_from_zero(vapour_pressure, "vapour_pressure")
    releases = all_from_zero(release_pressure, "release_pressure")
    shape = np.broadcast_shapes(
        table.start.shape, volume.shape, np.shape(head_pressure), boils.shape, releases.shape
    )
    pushed = ambient + np.asarray(head_pressure) - np.maximum(boils, releases)
    available = np.broadcast_to(pushed, shape).astype(np.float64)
    rows = np.broadcast_to(np.arange(table.cases), shape)
    flow = table.take(rows).flow(available)
    feeds = flow > 0.0
    filling = np.where(feeds, volume / np.where(feeds, flow, 1.0), np.inf)
    own = all_from_zero(drive_time, "drive_time")
    fastest = np.maximum(filling - all_from_zero(dwell, "dwell"), own)
    limiting = np.where(boils >= releases, Limiting.VAPOUR.value, Limiting.AIR_RELEASE.value)
    limiting = np.where(fastest <= own, Limiting.SUPPLY.value, limiting)
    limiting = np.where(~feeds & (available > 0.0), Limiting.YIELD.value, limiting)
    return RechargeLimit(
        available=available,
        flow_max=flow,
        fastest=np.asarray(fastest),
        limiting=np.asarray(limiting, dtype=np.str_),
    )


def fill_fraction(
    flow_max: ArrayLike, *, swept: ArrayLike, time: ArrayLike, dwell: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Return how full the cylinder is after a recharge of a given time.

    Parameters
    ----------
    flow_max : float or ndarray
        Greatest flow from the hopper. [m³/s]
    swept : float or ndarray
        Volume of the drawn stroke. [m³]
    time : float or ndarray
        Time of the stroke at steady speed. [s]
    dwell : float or ndarray
        Rest at the rear stop before the valve turns. [s]

    Returns
    -------
    ndarray
        Share that is full; on the safe side by about two hundredths where it is below 1. [1]

    Raises
    ------
    BadInput
        If the volume is not above zero or a figure is negative.

    Notes
    -----
    Never put the time of a stop watch here: while the exhaust side empties the piston stands
    and nothing flows in.
    """
    volume = all_above_zero(swept, "swept")
    flow = all_from_zero(flow_max, "flow_max")
    spent = all_from_zero(time, "recharge") + all_from_zero(dwell, "dwell")
    return np.asarray(np.minimum(flow * spent / volume, 1.0))
