"""Time the losses of a wet path over an array against scalar calls of the reference library.

Run as ``python benchmarks/bench_wetpath.py``. Both sides answer the same question: the loss of
one pipe, friction by the same formula, at many flows and viscosities; they must agree first.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable

import fluids
import numpy as np
from numpy.typing import NDArray

from fillwright.science.flow_curve import FlowCurve
from fillwright.science.wetpath import Piece, pressure_loss

CASES = 10_000
BORE, LENGTH, ROUGH, DENSITY = 0.016, 0.25, 1.5e-6, 1100.0
GOAL = 8.0


def timed(act: Callable[[], object], best_of: int = 5) -> float:
    """Return the shortest time of some runs. [s]."""
    times = []
    for _ in range(best_of):
        begin = time.perf_counter()
        act()
        times.append(time.perf_counter() - begin)
    return min(times)


def ours(flow: NDArray[np.float64], thick: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the losses of all cases in one call. [Pa]."""
    pipe = (Piece(bore=BORE, length=LENGTH, roughness=ROUGH),)
    return pressure_loss(pipe, flow, FlowCurve(consistency=thick), DENSITY, leaves=False).total


def one_pipe(flow: float, viscosity: float) -> float:
    """Return the loss of one case by scalar calls of the library. [Pa]."""
    speed = flow / (math.pi / 4.0 * BORE**2)
    number = fluids.Reynolds(V=speed, D=BORE, rho=DENSITY, mu=viscosity)
    factor = fluids.friction_factor(Re=number, eD=ROUGH / BORE, Method="Churchill_1977")
    return fluids.dP_from_K(factor * LENGTH / BORE, rho=DENSITY, V=speed)


def main() -> None:
    """Print the times, the ratio and how far the two are apart."""
    rng = np.random.default_rng(7)
    flow = 10.0 ** rng.uniform(-6.0, -3.0, CASES)
    thick = 10.0 ** rng.uniform(-3.0, 1.5, CASES)
    pairs = list(zip(flow.tolist(), thick.tolist(), strict=True))
    theirs = np.array([one_pipe(q, mu) for q, mu in pairs])
    apart = float(np.max(np.abs(ours(flow, thick) / theirs - 1.0)))
    scalar = timed(lambda: [one_pipe(q, mu) for q, mu in pairs], 9)
    whole = timed(lambda: ours(flow, thick), 50)
    print(f"{CASES} pipe losses in one call: {1e3 * whole:.2f} ms")
    print(f"{CASES} scalar calls of the library: {1e3 * scalar:.1f} ms")
    print(f"ratio {scalar / whole:.0f}, goal {GOAL:g}; worst difference {100.0 * apart:.2g} %")
    curve = FlowCurve(yield_stress=15.0, consistency=8.0 * thick, index=0.45)
    pipe = (Piece(bore=BORE, length=LENGTH),)
    herschel = timed(lambda: pressure_loss(pipe, flow, curve, DENSITY))
    print(f"{CASES} with a yield stress, no library to compare: {1e3 * herschel:.1f} ms")


if __name__ == "__main__":
    main()
