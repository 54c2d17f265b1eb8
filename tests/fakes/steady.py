"""A simulated bench whose weights are known beforehand: each shot at the aim, each empty alike."""

from __future__ import annotations

import time
from collections.abc import Iterable
from decimal import Decimal
from itertools import cycle

import numpy as np

from fillwright.records.entities import JobFacts
from fillwright.scale.simulated import Placed, SimulatedBench, bench_from
from fillwright.scale.simulated.bench import Purpose

__all__ = ["SteadyBench", "steady_bench"]


class SteadyBench(SimulatedBench):
    """A bench that fills and moves as the simulated one, and weighs what it was given."""

    empties: Iterable[Decimal]
    shots: Iterable[Decimal]
    _shown = Decimal(0)

    def place_empty(self) -> Placed:
        """Put the next of the empties on the pan."""
        self._shown = next(self.empties)
        return super().place_empty()

    def place_next(self, purpose: Purpose) -> Placed:
        """Put the next of the shots on the pan."""
        self._shown = next(self.shots)
        return super().place_next(purpose)

    def place_jar(self, number: int) -> Placed:
        """Put one of the batch on the pan, with the next of the shots."""
        self._shown = next(self.shots)
        return super().place_jar(number)

    def place_check_weight(self) -> None:
        """Put the known weight on the pan, which shows it."""
        self._shown = Decimal(str(self._check_weight_g))
        super().place_check_weight()

    def reading_now(self) -> Decimal:
        """Return what was given for what stands there."""
        return self._shown


def steady_bench(facts: JobFacts, empties: Iterable[str], shots: Iterable[str]) -> SteadyBench:
    """Return a bench for a job that weighs these again and again."""
    bench = bench_from(facts, np.random.default_rng(1), time.monotonic)
    bench.__class__ = SteadyBench
    bench.empties, bench.shots = (cycle(map(Decimal, row)) for row in (empties, shots))
    return bench
