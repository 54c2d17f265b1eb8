"""The air drive of a piston filler: areas, forces, and the steady speed under meter-out.

An air cylinder pushes the product piston; needles in its exhaust set the speed. Level A of the
stroke: steady speeds and what holds them, for whole arrays.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.science.air import (
    AMBIENT,
    GAS_CONSTANT,
    REFERENCE_DENSITY,
    REFERENCE_TEMPERATURE,
    AirPassage,
    must_be_thinner,
    opening_share,
)
from fillwright.science.given_many import all_above_zero, all_from_zero

__all__ = ["Drive", "HeldBy", "Steady", "steady_speed"]

Numbers = float | NDArray[np.float64]

AIR: Final = REFERENCE_DENSITY * GAS_CONSTANT * REFERENCE_TEMPERATURE
_HALVINGS: Final = 60


class HeldBy(StrEnum):
    """What holds the steady speed of a stroke."""

    NEEDLE = "needle"
    PRODUCT = "product"
    SUPPLY = "supply"
    STALLED = "stalled"


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """An air cylinder with its valve, its needle and its friction.

    Attributes
    ----------
    bore : float or ndarray
        Bore of the air cylinder. [m]
    rod : float or ndarray
        Diameter of its rod. [m]
    supply_pressure : float or ndarray
        Supply pressure, absolute. [Pa]
    supply : AirPassage
        Valve and tubing that the driving side fills through.
    meter_out : AirPassage
        Needle that the other side empties through.
    friction : float or ndarray
        Force lost whatever the product. [N]
    friction_share : float or ndarray
        Force lost as a share of the product's force. [1]
    dead_volume : float or ndarray
        Air volume besides the stroke, each side. [m³]
    ambient : float
        Pressure of the air around, absolute. [Pa]
    """

    bore: Numbers
    rod: Numbers
    supply_pressure: Numbers
    supply: AirPassage
    meter_out: AirPassage
    friction: Numbers = 60.0
    friction_share: Numbers = 0.04
    dead_volume: Numbers = 30e-6
    ambient: float = AMBIENT

    def __post_init__(self) -> None:
        bore = all_above_zero(self.bore, "air_bore")
        must_be_thinner(all_from_zero(self.rod, "rod"), bore)
        pressure = all_above_zero(self.supply_pressure, "supply_pressure")
        all_from_zero(self.friction, "friction")
        all_from_zero(self.friction_share, "friction_share")
        all_above_zero(self.dead_volume, "dead_volume")
        if (pressure <= self.ambient).any():
            raise BadInput(
                f"supply_pressure is {pressure.min():g} Pa, no higher than the air around; give "
                "the supply as an absolute pressure.",
                field="supply_pressure",
                given=float(pressure.min()),
                allowed=f"above {self.ambient:g} Pa",
            )

    @property
    def cap_area(self) -> NDArray[np.float64]:
        """Area of the side without the rod. [m²]."""
        return np.asarray(math.pi / 4.0 * np.square(self.bore))

    @property
    def rod_area(self) -> NDArray[np.float64]:
        """Area of the side with the rod. [m²]."""
        return np.asarray(math.pi / 4.0 * (np.square(self.bore) - np.square(self.rod)))

    def pressure_to_stall(self, piston_area: Numbers) -> NDArray[np.float64]:
        """Return the product pressure at which a discharge stands still.

        Parameters
        ----------
        piston_area : float or ndarray
            Area of the product piston. [m²]

        Returns
        -------
        ndarray
            Pressure over ambient; zero where the drive cannot beat its own friction. [Pa]
        """
        force = (np.asarray(self.supply_pressure) - self.ambient) * self.cap_area - self.friction
        return np.asarray(np.maximum(force, 0.0) / ((1.0 + self.friction_share) * piston_area))


@dataclass(frozen=True, slots=True, kw_only=True)
class Steady:
    """The steady speed of a stroke and what holds it.

    Attributes
    ----------
    speed : ndarray
        Speed of the piston; zero where it stalls. [m/s]
    load : ndarray
        Product pressure over ambient at that speed. [Pa]
    drive_pressure : ndarray
        Air on the driving side, absolute. [Pa]
    exhaust_pressure : ndarray
        Air on the other side, absolute. [Pa]
    held_by : ndarray of str
        A ``HeldBy`` for each case.
    """

    speed: NDArray[np.float64]
    load: NDArray[np.float64]
    drive_pressure: NDArray[np.float64]
    exhaust_pressure: NDArray[np.float64]
    held_by: NDArray[np.str_]


def steady_speed(
    drive: Drive,
    piston_area: Numbers,
    load: Callable[[NDArray[np.float64]], NDArray[np.float64]],
) -> Steady:
    """Return the steady speed of a discharge under meter-out.

    Parameters
    ----------
    drive : Drive
        The air drive; arrays in it broadcast against the cases.
    piston_area : float or ndarray
        Area of the product piston. [m²]
    load : callable
        Takes a flow for each case [m³/s] and returns the product pressure over ambient [Pa];
        at no flow the starting pressure.

    Returns
    -------
    Steady
        One entry for each case.

    Notes
    -----
    The supply gives the driving pressure at a speed (C ρ0 p ψ = p1 A1 v/(R T), a quadratic in
    p1/p_s), the balance of forces the exhaust pressure, and the needle must pass what the
    piston pushes out: one equation that falls with speed, solved by halving. Air after
    ISO 6358-1:2013 (from memory).
    """
    area = np.asarray(piston_area, dtype=np.float64)
    shape = np.broadcast_shapes(
        area.shape,
        drive.cap_area.shape,
        *(np.shape(part) for part in (drive.supply_pressure, drive.meter_out.conductance)),
    )
    fastest = np.broadcast_to(
        np.asarray(drive.meter_out.conductance) * AIR / drive.rod_area, shape
    ).astype(np.float64)
    start = np.asarray(load(np.zeros(shape or 1)), dtype=np.float64)
    fastest = np.broadcast_to(fastest, np.broadcast_shapes(shape, start.shape))
    low, high = np.zeros(fastest.shape), fastest.copy()
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        passes = _needle_speed(drive, _exhaust(drive, area, middle, load(area * middle)))
        low, high = np.where(passes > middle, middle, low), np.where(passes > middle, high, middle)
    stalls = start >= drive.pressure_to_stall(area)
    # The choked needle's own speed is met exactly; halving only comes near it.
    speed = np.where(stalls, 0.0, np.where(high == fastest, fastest, 0.5 * (low + high)))
    pressure = np.asarray(load(area * speed), dtype=np.float64)
    behind = np.where(stalls, drive.ambient, _exhaust(drive, area, speed, pressure))
    driving = drive_pressure(drive, speed)
    choked_supply = driving / drive.supply_pressure <= drive.supply.critical_ratio
    choked_needle = drive.ambient / behind <= drive.meter_out.critical_ratio
    held = np.where(choked_needle, HeldBy.NEEDLE.value, HeldBy.PRODUCT.value)
    held = np.where(choked_supply & ~choked_needle, HeldBy.SUPPLY.value, held)
    held = np.where(stalls, HeldBy.STALLED.value, held)
    return Steady(
        speed=speed,
        load=pressure,
        drive_pressure=driving,
        exhaust_pressure=behind,
        held_by=np.asarray(held, dtype=np.str_),
    )


def drive_pressure(drive: Drive, speed: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the pressure on the driving side while the piston runs at a steady speed.

    Parameters
    ----------
    drive : Drive
        The air drive.
    speed : ndarray
        Speed of the piston. [m/s]

    Returns
    -------
    ndarray
        Pressure, absolute. [Pa]
    """
    pull = drive.cap_area * speed / (np.asarray(drive.supply.conductance) * AIR)
    b = np.asarray(drive.supply.critical_ratio, dtype=np.float64)
    spread = np.square(pull * (1.0 - b)) + 1.0
    root = np.sqrt(np.maximum(b * b - spread * (b * b - np.square(1.0 - b)), 0.0))
    below = 1.0 / np.maximum(pull, 1e-300)
    ratio = np.where(pull * b >= 1.0, below, (b + root) / spread)
    return np.asarray(drive.supply_pressure * ratio)


def _exhaust(
    drive: Drive,
    area: NDArray[np.float64],
    speed: NDArray[np.float64],
    load: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the pressure on the exhaust side that balances the forces at a speed."""
    push = (drive_pressure(drive, speed) - drive.ambient) * drive.cap_area
    left = push - load * area * (1.0 + drive.friction_share) - drive.friction
    return np.asarray(drive.ambient + left / drive.rod_area)


def _needle_speed(drive: Drive, behind: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the speed at which the needle lets the exhaust side's air out."""
    ratio = drive.ambient / np.maximum(behind, drive.ambient)
    share = opening_share(ratio, drive.meter_out.critical_ratio)
    return np.asarray(drive.meter_out.conductance * AIR * share / drive.rod_area)
