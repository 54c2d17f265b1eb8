"""A simulated piston filler, weighing scale and bench, for the demo and for tests.

Every figure of theirs is invented. Chance comes from the generator that is passed in and
time from the count that is passed in, so a run can be had again.
"""

from __future__ import annotations

from fillwright.scale.simulated.bench import Placed, SimulatedBench, bench_from
from fillwright.scale.simulated.machine import SimulatedMachine, simulated_from
from fillwright.scale.simulated.scale import SimulatedScale

__all__ = [
    "Placed",
    "SimulatedBench",
    "SimulatedMachine",
    "SimulatedScale",
    "bench_from",
    "simulated_from",
]
