"""A simulated piston filler: the wheel that a person turns, and the twin behind it.

Wheel, play, creep and the air held after a start are here; what a stroke does is the twin's.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

import numpy as np
from numpy.random import Generator

from fillwright.errors import BadInput
from fillwright.records.entities import JobFacts
from fillwright.records.units import g_from_kg, m3_from_ml, pa_from_bar, share_from_pct
from fillwright.scale.simulated.filler import twin_bench
from fillwright.scale.simulated.senses import Seen, seen_at
from fillwright.science.air import AMBIENT
from fillwright.science.twin import Twin
from fillwright.science.twin_bench import TwinBench
from fillwright.science.twin_faults import Effect, Fault

__all__ = ["Filler", "SimulatedMachine", "Wheel", "simulated_from"]

# How simulated machines differ from their plates: relative standard deviations, invented.
_SLOPE_SD: Final = 0.015
_HELD_AIR_SD: Final = 0.004
_OFFSET_SD: Final = 0.008
_DOSE_SD: Final = 0.0025
_DOSE_SPREAD: Final = 0.3
_LEAST_STROKE_SHARE: Final = 0.01
_TIMED: Final = 10

Filler = Callable[[JobFacts, float], TwinBench]
"""Makes the inside of a machine from a job and the scatter of its doses, as a share of one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheel:
    """The wheel of a simulated machine and what it moves.

    Parameters
    ----------
    ml_per_mark : float
        What one mark of the volume scale sweeps.
    offset_ml : float
        What the piston sweeps at mark zero, were the scale straight down to there.
    sd_ml : float
        How well a setting comes back; drawn anew each time the wheel is moved.
    lost_motion_marks : float
        Play: after turning down, the piston stops this much too late.
    last_mark : float
        End of the volume scale.
    setting_marks : float
        Where it was left.
    """

    ml_per_mark: float
    offset_ml: float = 0.0
    sd_ml: float = 0.0
    lost_motion_marks: float = 0.0
    last_mark: float = 100.0
    setting_marks: float = 0.0


class SimulatedMachine:
    """A piston filler with a hand wheel, just started.

    Parameters
    ----------
    bench : TwinBench
        The sound machine with its product.
    wheel : Wheel
        Its wheel.
    chance : Generator or int
        Where its chance comes from: a generator, or the seed of one.
    air_share : float
        Most that the first dose after a start lacks, as a share of a dose.
    air_doses : float
        Doses after which a third of that lack is left.
    valve_s : float
        Time of one turn of the product valve.
    """

    def __init__(
        self,
        bench: TwinBench,
        wheel: Wheel,
        chance: Generator | int,
        *,
        air_share: float = 0.05,
        air_doses: float = 1.5,
        valve_s: float = 0.3,
    ) -> None:
        self._rng = np.random.default_rng(chance)
        self._twin = Twin(bench, self._rng)
        self._wheel = wheel
        self._air_share = air_share
        self._air_doses = air_doses
        self._valve_s = valve_s
        self._setting_marks = wheel.setting_marks
        self._stop_marks = wheel.setting_marks
        self._wheel_error_ml = 0.0
        self._creep_ml_per_dose = 0.0
        self._crept_ml = 0.0
        self._air_now = 0.0
        self._seen: Seen | None = None
        self._stands: Hashable = None
        self.start()

    @property
    def setting_marks(self) -> float:
        """Where the pointer was set to."""
        return self._setting_marks

    @property
    def mean_dose_g(self) -> float:
        """Dose at this setting of the sound machine, without scatter, air or faults."""
        return self._g_per_ml * self._swept_ml

    @property
    def effects(self) -> tuple[Effect, ...]:
        """The faults that are set and what they do to this product."""
        return self._twin.effects

    @property
    def seen(self) -> Seen | None:
        """What a person at the bench saw and heard of the last cycle; None before the first."""
        return self._seen

    @property
    def gauge_bar_g(self) -> float:
        """What the air gauge reads while the machine is still."""
        return (self._twin.supply - AMBIENT) / pa_from_bar(1.0)

    def start(self) -> None:
        """Start with air in the product path, as after cleaning or an empty hopper."""
        self._air_now = self._air_share * float(self._rng.uniform(0.5, 1.0))

    def turn_to(self, marks: float | Decimal, *, via: float | Decimal | None = None) -> None:
        """Turn the wheel until the pointer stands at `marks`, and lock it.

        Parameters
        ----------
        marks : float or Decimal
            Between 0 and the last mark. Coming from below, the stop follows at once; coming
            from above, it stays behind by the lost motion.
        via : float or Decimal, optional
            Where a wheel that does not stand lower goes down to before it comes up.

        Raises
        ------
        BadInput
            If the volume scale does not go there.
        """
        to, wheel = float(marks), self._wheel
        if not 0.0 <= to <= wheel.last_mark:
            allowed = f"0 to {wheel.last_mark:g}"
            message = f"The volume scale goes from {allowed}, not to {marks}. Never wind past it."
            raise BadInput(message, field="setting_marks", given=marks, allowed=allowed)
        if via is None and to == self._setting_marks:
            return
        if via is not None and self._setting_marks >= to:
            low = float(via)
            self._stop_marks = min(max(self._stop_marks, low), low + wheel.lost_motion_marks)
        self._setting_marks = to
        self._stop_marks = min(max(self._stop_marks, to), to + wheel.lost_motion_marks)
        self._wheel_error_ml = float(self._rng.normal(0.0, wheel.sd_ml))

    def creep_on(self, g_per_dose: float) -> None:
        """Let every dose from now on move the next by so much."""
        self._creep_ml_per_dose = g_per_dose / self._g_per_ml

    def creep_off(self) -> None:
        """Stop the creep; what it has moved stays until the wheel makes up for it."""
        self._creep_ml_per_dose = 0.0

    def set_faults(self, faults: Sequence[Fault]) -> None:
        """Let these faults of the twin, and no others, act from the next cycle on."""
        self._twin.set_faults(faults)

    def stand(self, key: Hashable, facts: JobFacts, filler: Filler) -> None:
        """Let flow controls, air and product be as they are told from the next cycle on.

        Parameters
        ----------
        key : hashable
            How it stands; where that is as before, nothing is made anew.
        facts : JobFacts
            The job.
        filler : callable
            Makes the inside that stands so.
        """
        if key != self._stands:
            self._stands = key
            self._twin.stand(filler(facts, self._twin.bench.noise))

    def ten_strokes(self) -> float:
        """Fill into the bucket ten times, and return what the watch shows for it, in seconds."""
        turns = 2.0 * self._valve_s
        strokes_s = 0.0
        for _ in range(_TIMED):
            self.fill()
            seen = self._seen
            strokes_s += 0.0 if seen is None else seen.recharge_s + seen.fill_s + turns
        return strokes_s

    def fill(self) -> float:
        """Fill one container and return the true dose in grams."""
        wet = self._twin.bench.wet
        wanted = m3_from_ml(max(self._swept_ml, 0.0)) / wet.piston_area
        least = _LEAST_STROKE_SHARE * wet.stroke
        # At a stroke of nothing the piston stands; the cycle still draws its chance.
        stroke = max(wanted, least)
        cycle = self._twin.cycle(stroke)
        dose_g = g_from_kg(cycle.dose) * (1.0 - self._air_now) if wanted > least else 0.0
        self._seen = seen_at(self._twin, cycle, share=stroke / wet.stroke, held_air=self._air_now)
        self._air_now *= math.exp(-1.0 / self._air_doses)
        self._crept_ml += self._creep_ml_per_dose
        return dose_g

    @property
    def _g_per_ml(self) -> float:
        """Density of the product."""
        return g_from_kg(self._twin.bench.wet.density) * m3_from_ml(1.0)

    @property
    def _swept_ml(self) -> float:
        """What the piston sweeps at this setting."""
        swept_ml = self._wheel.offset_ml + self._wheel.ml_per_mark * self._stop_marks
        return swept_ml + self._wheel_error_ml + self._crept_ml


def simulated_from(
    facts: JobFacts, rng: Generator, filler: Filler | None = None
) -> SimulatedMachine:
    """Return a simulated machine like the one of a job, with differences of its own.

    Parameters
    ----------
    facts : JobFacts
        The machine's plate, the cylinder that is fitted, the product, the aim.
    rng : Generator
        Draws how this machine differs from its plate, and is its chance from then on.
    filler : callable, optional
        Makes its inside; an invented one where it is left out.

    Returns
    -------
    SimulatedMachine
        The wheel stands wherever somebody left it. Slope, offset and scatter are drawn with
        invented spreads; the product holds a little air.
    """
    machine, cylinder = facts.machine, facts.cylinder
    capacity_ml, last_mark = float(cylinder.capacity_ml), float(machine.last_mark)
    slope = 1.0 + float(rng.normal(0.0, _SLOPE_SD))
    slope *= 1.0 - abs(float(rng.normal(0.0, _HELD_AIR_SD)))
    offset_ml = capacity_ml * float(rng.normal(0.0, _OFFSET_SD))
    spread = math.exp(float(rng.normal(0.0, _DOSE_SPREAD)))
    expected = facts.expected_sd_pct
    dose_sd = _DOSE_SD * spread if expected is None else share_from_pct(expected)
    wheel = Wheel(
        ml_per_mark=float(cylinder.ml_per_mark) * slope,
        offset_ml=offset_ml,
        sd_ml=capacity_ml * share_from_pct(machine.wheel_sd_pct_of_cylinder),
        lost_motion_marks=float(machine.lost_motion_marks),
        last_mark=last_mark,
        setting_marks=last_mark * float(rng.uniform(0.2, 0.8)),
    )
    made = twin_bench(facts, dose_sd) if filler is None else filler(facts, dose_sd)
    valve = {} if machine.air is None else {"valve_s": float(machine.air.valve_s)}
    return SimulatedMachine(made, wheel, rng, **valve)
