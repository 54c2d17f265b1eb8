"""A simulated piston filler, weighing scale and bench, for the demo and for tests.

Every figure of theirs is invented. Chance comes from the generator that is passed in and
time from the count that is passed in, so a run can be had again.
"""

from __future__ import annotations

from fillwright.scale.simulated.bench import Placed, SimulatedBench, bench_from
from fillwright.scale.simulated.machine import Filler, SimulatedMachine, Wheel, simulated_from
from fillwright.scale.simulated.scale import SimulatedScale
from fillwright.scale.simulated.senses import Seen

__all__ = [
    "Filler",
    "Placed",
    "Seen",
    "SimulatedBench",
    "SimulatedMachine",
    "SimulatedScale",
    "Wheel",
    "bench_from",
    "simulated_from",
]
