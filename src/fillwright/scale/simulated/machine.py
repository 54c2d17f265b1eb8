"""A simulated piston filler: what dose comes out at what setting of its wheel.

The dose model is the one that a trim assumes (offset, slope, wheel error, scatter); lost
motion, air after a start, creep and short doses are what happens beside it.
"""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Final

import numpy as np
from numpy.random import Generator

from fillwright.errors import BadInput
from fillwright.records.entities import JobFacts

__all__ = ["SimulatedMachine", "simulated_from"]

# How simulated machines differ from their plates: relative standard deviations, invented.
_SLOPE_SD: Final = 0.015
_HELD_AIR_SD: Final = 0.004
_OFFSET_SD: Final = 0.008
_DOSE_SD: Final = 0.0025
_DOSE_SPREAD: Final = 0.3


class SimulatedMachine:
    """A piston filler with a hand wheel, just started.

    Parameters
    ----------
    chance : Generator or int
        Where its chance comes from: a generator, or the seed of one.
    slope_g_per_mark : float
        What one mark of the volume scale adds to a dose.
    offset_g : float
        Dose at mark zero, were the scale straight down to there.
    dose_sd_g : float
        Scatter of a dose.
    wheel_sd_g : float
        How well a setting comes back; drawn anew each time the wheel is moved.
    lost_motion_marks : float
        Play of the wheel: after turning down, the piston stops this much too late.
    creep_g_per_dose : float
        What each dose adds to the next, from the start on.
    air_share : float
        Most that the first dose after a start lacks, as a share of a dose.
    air_doses : float
        Doses after which a third of that lack is left.
    short_chance : float
        Chance that a dose is short by far, as when a recharge was cut off.
    short_share : float
        Most that such a dose lacks, as a share of a dose.
    last_mark : float
        End of the volume scale.
    setting_marks : float
        Where the wheel was left.
    """

    def __init__(
        self,
        chance: Generator | int,
        *,
        slope_g_per_mark: float,
        offset_g: float = 0.0,
        dose_sd_g: float,
        wheel_sd_g: float,
        lost_motion_marks: float = 0.0,
        creep_g_per_dose: float = 0.0,
        air_share: float = 0.05,
        air_doses: float = 1.5,
        short_chance: float = 0.0,
        short_share: float = 0.3,
        last_mark: float = 100.0,
        setting_marks: float = 0.0,
    ) -> None:
        self._rng = np.random.default_rng(chance)
        self._slope_g_per_mark = slope_g_per_mark
        self._offset_g = offset_g
        self._dose_sd_g = dose_sd_g
        self._wheel_sd_g = wheel_sd_g
        self._lost_motion_marks = lost_motion_marks
        self._creep_g_per_dose = creep_g_per_dose
        self._air_share = air_share
        self._air_doses = air_doses
        self._short_chance = short_chance
        self._short_share = short_share
        self._last_mark = last_mark
        self._setting_marks = setting_marks
        self._stop_marks = setting_marks
        self._wheel_error_g = 0.0
        self._crept_g = 0.0
        self._air_now = 0.0
        self.start()

    @property
    def setting_marks(self) -> float:
        """Where the pointer stands."""
        return self._setting_marks

    @property
    def mean_dose_g(self) -> float:
        """Dose at this setting without scatter, air or short doses."""
        mean_g = self._offset_g + self._slope_g_per_mark * self._stop_marks
        return mean_g + self._wheel_error_g + self._crept_g

    def start(self) -> None:
        """Start with air in the product path, as after cleaning or an empty hopper."""
        self._air_now = self._air_share * float(self._rng.uniform(0.5, 1.0))

    def turn_to(self, marks: float | Decimal) -> None:
        """Turn the wheel until the pointer stands at `marks`, and lock it.

        Parameters
        ----------
        marks : float or Decimal
            Between 0 and the last mark. Coming from below, the stop follows at once; coming
            from above, it stays behind by the lost motion.

        Raises
        ------
        BadInput
            If the volume scale does not go there.
        """
        to = float(marks)
        if not 0.0 <= to <= self._last_mark:
            allowed = f"0 to {self._last_mark:g}"
            message = f"The volume scale goes from {allowed}, not to {marks}. Never wind past it."
            raise BadInput(message, field="setting_marks", given=marks, allowed=allowed)
        if to == self._setting_marks:
            return
        self._setting_marks = to
        self._stop_marks = min(max(self._stop_marks, to), to + self._lost_motion_marks)
        self._wheel_error_g = float(self._rng.normal(0.0, self._wheel_sd_g))

    def creep_on(self, g_per_dose: float) -> None:
        """Let every dose from now on move the next by so much."""
        self._creep_g_per_dose = g_per_dose

    def creep_off(self) -> None:
        """Stop the creep; what it has moved stays until the wheel makes up for it."""
        self._creep_g_per_dose = 0.0

    def fill(self) -> float:
        """Fill one container and return the true dose in grams."""
        # As many draws for every dose, so that a fault switched on changes nothing else.
        scatter_g = float(self._rng.normal(0.0, self._dose_sd_g))
        is_short = float(self._rng.random()) < self._short_chance
        short = float(self._rng.uniform(0.5, 1.0)) * self._short_share if is_short else 0.0
        full_g = self.mean_dose_g
        dose_g = full_g * (1.0 - self._air_now) * (1.0 - short) + scatter_g
        self._air_now *= math.exp(-1.0 / self._air_doses)
        self._crept_g += self._creep_g_per_dose
        return max(dose_g, 0.0)


def simulated_from(facts: JobFacts, rng: Generator) -> SimulatedMachine:
    """Return a simulated machine like the one of a job, with differences of its own.

    Parameters
    ----------
    facts : JobFacts
        The machine's plate, the cylinder that is fitted, the product, the aim.
    rng : Generator
        Draws how this machine differs from its plate, and is its chance from then on.

    Returns
    -------
    SimulatedMachine
        The wheel stands wherever somebody left it. Slope, offset and scatter are drawn with
        invented spreads; the product holds a little air.
    """
    product, machine = facts.product, facts.machine
    growth = 1 + product.expansion_per_k * (product.product_c - product.density_c)
    g_per_ml = float(product.density_g_per_ml / growth)
    nominal_slope = float(facts.cylinder.ml_per_mark) * g_per_ml
    cylinder_g = float(facts.cylinder.capacity_ml) * g_per_ml
    last_mark = float(machine.last_mark)
    slope = nominal_slope * (1.0 + float(rng.normal(0.0, _SLOPE_SD)))
    slope *= 1.0 - abs(float(rng.normal(0.0, _HELD_AIR_SD)))
    offset_g = cylinder_g * float(rng.normal(0.0, _OFFSET_SD))
    spread = math.exp(float(rng.normal(0.0, _DOSE_SPREAD)))
    dose_sd = _DOSE_SD * spread if facts.expected_sd_pct is None else _share(facts.expected_sd_pct)
    return SimulatedMachine(
        rng,
        slope_g_per_mark=slope,
        offset_g=offset_g,
        dose_sd_g=float(facts.aim_g) * dose_sd,
        wheel_sd_g=cylinder_g * _share(machine.wheel_sd_pct_of_cylinder),
        lost_motion_marks=float(machine.lost_motion_marks),
        last_mark=last_mark,
        setting_marks=last_mark * float(rng.uniform(0.2, 0.8)),
    )


def _share(pct: Decimal) -> float:
    """Return a share from a percentage."""
    return float(pct) / 100.0
