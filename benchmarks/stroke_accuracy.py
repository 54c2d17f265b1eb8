"""Hold steady speeds, stroke times and the simulated filler against a full model of the stroke.

The full model (``tests/fakes/full_stroke.py``) has the piston's mass, the inertia, stretch and
gas of the liquid, and a general solver. ``python benchmarks/stroke_accuracy.py
docs/reference/stroke-accuracy.md`` prints every table and writes them into the page.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "fakes"))

import filler
from calibrate_tables import table, written
from full_stroke import AMBIENT, discharge, recharge

from fillwright.science.drive import AIR, Drive, steady_speed
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.stroke import GRAVITY, fill_fraction, recharge_limit
from fillwright.science.stroke_times import discharge_times, recharge_times
from fillwright.science.twin_strokes import Conditions, strokes_of
from fillwright.science.wet_tables import path_table

PRODUCTS = {
    "water": (FlowCurve(consistency=1.0e-3), 998.0),
    "oil, 0.1 Pa·s": (FlowCurve(consistency=0.1), 920.0),
    "shampoo, 6 Pa·s^0.6": (FlowCurve(consistency=6.0, index=0.6), 1020.0),
    "lotion, 15 Pa + 8 Pa·s^0.45": (
        FlowCurve(yield_stress=15.0, consistency=8.0, index=0.45),
        990.0,
    ),
    "syrup, 5 Pa·s": (FlowCurve(consistency=5.0), 1400.0),
    "syrup, 12 Pa·s": (FlowCurve(consistency=12.0), 1400.0),
}
FILL_NEEDLE = 4e-9
HOLLOW = 5e-4
DWELL, HEAD, CAVITY = 0.2, 0.25, 20_000.0


@dataclass(frozen=True, kw_only=True)
class Case:
    """A cycle: product, recharge needle, air pressure, and where it lies off the lattice."""

    name: str
    product: str
    back: float
    gauge: float = 6e5
    thickness: float = 0.0
    longer: float = 0.0
    lower: float = 0.0

    @cached_property
    def curve(self) -> FlowCurve:
        """The product at the thickness of the case."""
        start, consistency, index = (float(x) for x in PRODUCTS[self.product][0].figures)
        times = math.exp(self.thickness)
        return FlowCurve(yield_stress=start * times, consistency=consistency * times, index=index)

    @property
    def density(self) -> float:
        """Density of the product."""
        return PRODUCTS[self.product][1]

    @property
    def stroke(self) -> float:
        """Drawn stroke."""
        return filler.STROKE * math.exp(self.longer)

    @property
    def head(self) -> float:
        """Static pressure of the product above the cylinder."""
        return self.density * GRAVITY * (HEAD - self.lower)


@dataclass(frozen=True, kw_only=True)
class Cycle:
    """Both strokes of a cycle: recharge, share of the cylinder that fills, and fill."""

    back: float
    full: float
    fill: float


CASES = (
    Case(name="water", product="water", back=1.5e-9),
    Case(name="oil", product="oil, 0.1 Pa·s", back=3e-9),
    Case(name="shampoo", product="shampoo, 6 Pa·s^0.6", back=4e-9),
    Case(name="lotion", product="lotion, 15 Pa + 8 Pa·s^0.45", back=3e-9),
    Case(name="syrup, slow recharge", product="syrup, 5 Pa·s", back=1.5e-9),
    Case(name="syrup, recharge too fast", product="syrup, 5 Pa·s", back=4e-9),
    Case(name="syrup, 4 bar", product="syrup, 5 Pa·s", back=4e-9, gauge=4e5),
    Case(name="thick syrup, slow recharge", product="syrup, 12 Pa·s", back=1e-9),
    Case(name="thick syrup, recharge too fast", product="syrup, 12 Pa·s", back=2e-9),
    Case(
        name="syrup, colder, shorter stroke, lower level",
        product="syrup, 5 Pa·s",
        back=3e-9,
        gauge=5.87e5,
        thickness=0.1234,
        longer=-0.0337,
        lower=0.083,
    ),
    Case(
        name="lotion, warmer, shorter stroke",
        product="lotion, 15 Pa + 8 Pa·s^0.45",
        back=3e-9,
        gauge=6.07e5,
        thickness=-0.0712,
        longer=-0.2171,
        lower=0.031,
    ),
)


def drive_of(case: Case, needle: float) -> Drive:
    """Return the air drive of a case with a needle."""
    return filler.drive(needle, case.gauge)


@lru_cache
def in_full(case: Case) -> Cycle:
    """Return the cycle by the full model."""
    common = {"supply": AMBIENT + case.gauge, "stroke": case.stroke}
    suction = filler.full(filler.SUCTION, case.curve, case.density, **common, vent=case.back)
    filled = recharge(replace(suction, head=case.head), dwell=DWELL)
    outward = filler.full(filler.OUTWARD, case.curve, case.density, **common, vent=FILL_NEEDLE)
    swept = filler.AREA * case.stroke
    # What gas and stretch alone leave is no void, and a solver crawls on it.
    pushed = discharge(outward, void=filled.void if filled.void > HOLLOW * swept else 0.0)
    return Cycle(back=filled.time, full=1.0 - filled.void / swept, fill=pushed.time)


def by_dynamics(case: Case) -> Cycle:
    """Return the cycle by the air's own dynamics, computed for this case alone."""
    filled = recharge_times(
        drive_of(case, case.back),
        piston_area=filler.AREA,
        stroke=case.stroke,
        table=path_table(filler.SUCTION, case.curve, case.density),
        head=case.head,
        cavity_pressure=CAVITY,
        dwell=DWELL,
    )
    pushed = discharge_times(
        drive_of(case, FILL_NEEDLE),
        piston_area=filler.AREA,
        stroke=case.stroke,
        table=path_table(filler.OUTWARD, case.curve, case.density),
        void=filled.void,
    )
    return Cycle(
        back=float(filled.time[0]), full=float(filled.fill_fraction[0]), fill=float(pushed.time[0])
    )


def by_steady(case: Case) -> Cycle:
    """Return the cycle by steady speeds."""
    suction = path_table(filler.SUCTION, case.curve, case.density)
    outward = path_table(filler.OUTWARD, case.curve, case.density)
    swept = filler.AREA * case.stroke
    limit = recharge_limit(suction, swept=swept, head_pressure=case.head)
    cap = math.pi / 4.0 * float(drive_of(case, 1e-9).bore) ** 2
    back = case.stroke * cap / (case.back * AIR)
    full = fill_fraction(limit.flow_max, swept=swept, time=back, dwell=DWELL)
    speed = steady_speed(drive_of(case, FILL_NEEDLE), filler.AREA, outward.loss).speed
    return Cycle(back=back, full=float(full[0]), fill=case.stroke / float(speed[0]))


def by_twin(case: Case) -> Cycle:
    """Return the cycle by the simulated filler, read between the corners of its lattice."""
    curve, density = PRODUCTS[case.product]
    bench = filler.bench(curve, density, recharge=case.back)
    here = Conditions(
        thickness=np.array([case.thickness]),
        stroke=np.array([case.stroke]),
        supply=np.array([AMBIENT + case.gauge]),
        head=np.array([HEAD - case.lower]),
    )
    row = strokes_of([bench.lattice], [here])[0]
    return Cycle(
        back=float(row["recharge_time"][0]),
        full=1.0 - float(row["void"][0]) / (filler.AREA * case.stroke),
        fill=float(row["fill_time"][0]),
    )


WAYS: dict[str, Callable[[Case], Cycle]] = {
    "steady": by_steady,
    "dynamics": by_dynamics,
    "simulated": by_twin,
}


@dataclass(frozen=True, kw_only=True)
class Promise:
    """A bound on the largest error of a figure, found by one of the ways."""

    what: str
    way: str
    error: Callable[[Cycle, Cycle], float]
    bound: float

    def find(self, cycles: Sequence[tuple[Case, Cycle]]) -> float:
        """Return the largest error over cycles whose truth is known."""
        return max(self.error(WAYS[self.way](case), true) for case, true in cycles)


def off_back(found: Cycle, true: Cycle) -> float:
    """Return the error of the recharge time in percent."""
    return 100.0 * abs(found.back / true.back - 1.0)


def off_full(found: Cycle, true: Cycle) -> float:
    """Return the error of the share that fills in points."""
    return 100.0 * abs(found.full - true.full)


def over_full(found: Cycle, true: Cycle) -> float:
    """Return by how many points the cylinder is said to be fuller than it is."""
    return 100.0 * (found.full - true.full)


def off_fill(found: Cycle, true: Cycle) -> float:
    """Return the error of the fill time in percent."""
    return 100.0 * abs(found.fill / true.fill - 1.0)


PROMISES = (
    Promise(
        what="steady speeds: said fuller than it is, points",
        way="steady",
        error=over_full,
        bound=0.1,
    ),
    Promise(what="air dynamics: recharge time, %", way="dynamics", error=off_back, bound=0.25),
    Promise(what="air dynamics: fill, points", way="dynamics", error=off_full, bound=0.3),
    Promise(what="air dynamics: fill time, %", way="dynamics", error=off_fill, bound=0.75),
    Promise(what="simulated filler: recharge time, %", way="simulated", error=off_back, bound=0.5),
    Promise(what="simulated filler: fill, points", way="simulated", error=off_full, bound=0.2),
    Promise(what="simulated filler: fill time, %", way="simulated", error=off_fill, bound=1.0),
)


def tables() -> Iterator[str]:
    """Yield the promises, then each figure of each case."""
    cycles = [(case, in_full(case)) for case in CASES]
    rows = []
    for promise in PROMISES:
        found = promise.find(cycles)
        kept = "yes" if found <= promise.bound else "no"
        rows.append(f"| {promise.what} | at most {promise.bound:g} | {found:.2f} | {kept} |")
    yield table("promises", "largest error | promise | found | kept", rows)
    ways = {name: [way(case) for case in CASES] for name, way in WAYS.items()}

    def lines(shown: Callable[[Cycle], str], off: Callable[[Cycle, Cycle], float]) -> list[str]:
        """Print the truth of each case, and how far each way is off."""
        return [
            f"| {case.name} | {shown(true)} | "
            + " | ".join(f"{off(each[at], true):+.2f}" for each in ways.values())
            + " |"
            for at, (case, true) in enumerate(cycles)
        ]

    off = "steady speed, % off | air dynamics, % off | simulated filler, % off"
    yield table(
        "recharge",
        f"case | full model, s | {off}",
        lines(lambda c: f"{c.back:.4f}", lambda c, t: 100.0 * (c.back / t.back - 1.0)),
    )
    points = off.replace("% off", "points off")
    yield table(
        "filled",
        f"case | full model, % | {points}",
        lines(lambda c: f"{100.0 * c.full:.3f}", over_full),
    )
    yield table(
        "fill",
        f"case | full model, s | {off}",
        lines(lambda c: f"{c.fill:.4f}", lambda c, t: 100.0 * (c.fill / t.fill - 1.0)),
    )


def main() -> None:
    """Print every table, and write it into the page where one is given."""
    page = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    for text in tables():
        print(text, end="\n\n", flush=True)
        if page is not None:
            written(page, text)


if __name__ == "__main__":
    main()
