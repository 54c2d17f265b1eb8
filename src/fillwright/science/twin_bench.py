"""A sound machine with its product, as a twin needs it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fillwright.science.stroke import GRAVITY
from fillwright.science.twin_strokes import Conditions, StrokeLattice, WetEnd, strokes_of

__all__ = ["TwinBench"]


@dataclass(frozen=True, kw_only=True)
class TwinBench:
    """A sound machine with its product.

    Attributes
    ----------
    wet : WetEnd
        What its strokes depend on.
    consistency : float
        Viscosity or consistency at reference. [Pa·sⁿ]
    index : float
        Flow index. [1]
    yield_stress : float
        Yield stress. [Pa]
    temperature : float
        Product temperature at reference, absolute. [K]
    thinning : float
        Constant B of ln µ = A + B/T. [K]
    expansion : float
        Relative growth of the product's volume for each kelvin. [1/K]
    noise : float
        Standard deviation of a sound dose, as a share of it. [1]
    readability : float
        Step of the weighing scale as a share of a dose. [1]
    drop_mass : float
        Mass of a full drop at the nozzle. [kg]
    nozzle_bore : float
        Bore of the nozzle. [m]
    gooseneck : float
        Volume between valve and nozzle tip. [m³]
    hopper_area : float
        Area of the hopper. [m²]
    """

    wet: WetEnd
    consistency: float
    index: float = 1.0
    yield_stress: float = 0.0
    temperature: float = 293.15
    thinning: float = 2000.0
    expansion: float = 3e-4
    noise: float = 8e-4
    readability: float = 1e-3
    drop_mass: float = 4e-5
    nozzle_bore: float = 0.010
    gooseneck: float = 6e-5
    hopper_area: float = 0.04

    @cached_property
    def reading_noise(self) -> float:
        """Standard deviation of a reading of a sound dose, as a share of it. [1]."""
        return math.hypot(self.noise, self.readability / math.sqrt(12.0))

    @cached_property
    def sound(self) -> dict[str, float]:
        """Both strokes of the sound machine at reference, by ``COLUMNS``. [unit of the column]."""
        wet = self.wet
        here = Conditions(
            thickness=np.zeros(1),
            stroke=np.array([wet.stroke]),
            supply=np.array([float(wet.drive.supply_pressure)]),
            head=np.array([wet.head]),
        )
        return {name: float(row[0]) for name, row in strokes_of([self.lattice], [here])[0].items()}

    @cached_property
    def lattice(self) -> StrokeLattice:
        """Strokes of the sound machine, kept."""
        return StrokeLattice(self.wet)

    @cached_property
    def stall_supply(self) -> float:
        """Supply at which a discharge no longer starts, absolute. [Pa]."""
        wet, drive = self.wet, self.wet.drive
        start = float(wet.discharge(np.zeros(1)).start[0]) + wet.density * GRAVITY * wet.rise
        force = start * wet.piston_area * (1.0 + float(drive.friction_share))
        return drive.ambient + (force + float(drive.friction)) / float(drive.cap_area)

    @cached_property
    def suction_loss(self) -> float:
        """Pressure lost on the way into the cylinder in a sound recharge. [Pa]."""
        wet = self.wet
        flow = wet.piston_area * wet.stroke / self.sound["recharge_time"]
        return float(wet.suction(np.zeros(1)).loss(np.array([flow]))[0])
