"""Time the stroke map and the simulated filler against the ways they would be done otherwise.

Run as ``python benchmarks/bench_stroke.py``. Samples of the slow ways are timed and multiplied;
the count of cases is printed beside each.
"""

from __future__ import annotations

import math
import sys
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "fakes"))

import filler
import fluids
from full_stroke import AMBIENT, discharge, passing, recharge

from fillwright.science.drive import AIR
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.stroke_map import stroke_map
from fillwright.science.twin import run
from fillwright.science.wet_tables import path_table

SYRUP, DENSITY, CELLS, SAMPLE = FlowCurve(consistency=2.0), 1200.0, 10_000, 12
# The full model of a thin product is too slow to wait for.
FULL_AT = (2.0, 5.0)


def timed(act: Callable[[], object], best_of: int = 1) -> float:
    """Return the shortest time of some runs."""
    times = []
    for _ in range(best_of):
        begin = time.perf_counter()
        act()
        times.append(time.perf_counter() - begin)
    return min(times)


def whole_map(count: tuple[int, int, int] = (25, 20, 20)) -> object:
    """Return the map of many cells at once."""
    v, t, b = count
    return stroke_map(
        SYRUP,
        thickness=np.geomspace(0.01, 10.0, v),
        times=np.linspace(0.3, 6.0, t),
        bores=np.linspace(0.004, 0.02, b),
        density=DENSITY,
        suction=filler.SUCTION,
        outward=filler.OUTWARD[:-1],
        nozzle_length=0.08,
        drive=filler.drive(),
        piston_area=filler.AREA,
        stroke=filler.STROKE,
    )


def library_loss(flow: float, thick: float, path: tuple[object, ...]) -> float:
    """Return the loss of a path by scalar calls of the library."""
    total = 0.0
    for one in path:
        bore = float(one.bore)  # type: ignore[attr-defined]
        speed = flow / (math.pi / 4.0 * bore**2)
        number = fluids.Reynolds(V=speed, D=bore, rho=DENSITY, mu=thick)
        k = fluids.friction_factor(Re=number, eD=1.5e-6 / bore) * one.length / bore  # type: ignore[attr-defined]
        for bend in one.fittings:  # type: ignore[attr-defined]
            k += fluids.Darby3K(NPS=bore / 0.0254, Re=number, K1=bend.k1, Ki=bend.ki, Kd=bend.kd)
        total += fluids.dP_from_K(k, rho=DENSITY, V=speed)
    return total


def by_library(thick: float) -> float:
    """Return both steady flows of one cell by scalar losses inside a scalar root finder."""
    brentq(lambda q: library_loss(q, thick, filler.SUCTION) - 81_325.0, 1e-9, 1e-1)
    drive = filler.drive()
    top = 4e-9 * AIR / float(drive.rod_area)
    return float(brentq(lambda v: steady_speed_residual(drive, v, thick), 1e-9, 1.0001 * top))


def steady_speed_residual(drive: object, speed: float, thick: float) -> float:
    """Return what the needle passes less what the piston pushes, in scalars."""
    cap, ring = float(drive.cap_area), float(drive.rod_area)  # type: ignore[attr-defined]
    pull = cap * speed / (4e-8 * AIR)
    spread = (pull * 0.7) ** 2 + 1.0
    ratio = (0.3 + math.sqrt(max(0.09 - spread * (0.09 - 0.49), 0.0))) / spread
    load = library_loss(filler.AREA * speed, thick, filler.OUTWARD)
    left = (701_325.0 * ratio - AMBIENT) * cap - load * filler.AREA * 1.04 - 60.0
    behind = AMBIENT + left / ring
    passes = 4e-9 * AIR * passing(AMBIENT / behind, 0.3) / ring if behind > AMBIENT else 0.0
    return passes - speed


def by_solver(thick: float) -> float:
    """Return one fill time by a general solver with three states and a flow table."""
    table = path_table(filler.OUTWARD, FlowCurve(consistency=thick), DENSITY)
    drive = filler.drive()
    cap, ring = float(drive.cap_area), float(drive.rod_area)
    logs = (table.first[0] + table.step[0] * np.arange(table.log_flow.shape[1]), table.log_flow[0])

    def rates(_: float, y: np.ndarray) -> list[float]:
        x, p1, p2 = y
        force = (p1 - AMBIENT) * cap - (p2 - AMBIENT) * ring - 60.0
        over = force / (filler.AREA * 1.04)
        v = math.exp(np.interp(math.log(over), *logs)) / filler.AREA if over > 1e-6 else 0.0
        into = 4e-8 * AIR * 701_325.0 * passing(p1 / 701_325.0, 0.3)
        out = 4e-9 * AIR * p2 * passing(AMBIENT / p2, 0.3)
        room = 30e-6 + ring * (filler.STROKE - x)
        return [
            v, (into - p1 * cap * v) / (30e-6 + cap * x), (p2 * ring * v - out) / room,
        ]  # fmt: skip

    def stop(_: float, y: np.ndarray) -> float:
        return float(y[0] - filler.STROKE)

    stop.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(
        rates, (0.0, 600.0), [0.0, AMBIENT, 701_325.0], "LSODA", events=stop,
        rtol=1e-8, atol=[1e-10, 1e-2, 1e-2],
    )  # fmt: skip
    return float(found.t[-1])


def both_full(thick: float) -> None:
    """Run one full cycle: recharge and discharge with everything in them."""
    curve = FlowCurve(consistency=thick)
    recharge(filler.full(filler.SUCTION, curve, DENSITY))
    discharge(filler.full(filler.OUTWARD, curve, DENSITY))


def main() -> None:
    """Print the times and their ratios."""
    thick = (2.0 * np.geomspace(0.01, 10.0, SAMPLE)).tolist()
    whole_map()
    ours = timed(whole_map, 5)
    print(f"map of {CELLS} cells with air-dynamic fill times: {ours:.3f} s")
    ways = (
        ("scalar library losses in a scalar root finder", by_library, 12.0),
        ("three-state general solver, one stroke a cell", by_solver, 300.0),
    )
    for name, way, goal in ways:
        each = timed(lambda way=way: [way(mu) for mu in thick]) / SAMPLE
        print(f"{name}: {1e3 * each:.2f} ms x {CELLS}: {each * CELLS / ours:.0f} times, ", end="")
        print(f"goal {goal:g}")
    full = timed(lambda: [both_full(mu) for mu in FULL_AT]) / len(FULL_AT)
    print(f"full dynamic cycle a cell: {1e3 * full:.0f} ms x {CELLS}: ", end="")
    print(f"{full * CELLS / ours:.0f} times, which flatters")
    bench = filler.bench(FlowCurve(consistency=2.0), DENSITY)
    rngs = [np.random.default_rng(1)]
    cold = timed(lambda: run([bench], cycles=200, rngs=rngs))
    print(f"200 cycles of the twin, cold: {cold:.3f} s; 200 full: {200 * full:.0f} s; ", end="")
    print(f"{200 * full / cold:.0f} times, goal 50")
    tracemalloc.start()
    whole_map((100, 100, 100))
    most = tracemalloc.get_traced_memory()[1] / 2**20
    print(f"a map of 1,000,000 cells takes {most:.0f} MiB at most, goal 1024")


if __name__ == "__main__":
    main()
