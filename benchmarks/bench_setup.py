"""Time the pages of Set up that compute, each at its first look, for products thin to thick.

Run as ``python benchmarks/bench_setup.py``. The map is held against the same strokes run one by
one: a sample of them is timed and multiplied, the count of strokes is printed beside it.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "fakes"))

from described import described_job, described_shop, thick_job

from fillwright.jobs.match.flowing import curve_of, thickness_at
from fillwright.jobs.setup import dose_budget as dosebudget
from fillwright.jobs.setup import stroke_map as strokemap
from fillwright.jobs.setup import stroke_plan as strokeplan
from fillwright.jobs.setup.rig import Rig, cavity_pa, conductance_at, drive_of, rig_of, suction_of
from fillwright.jobs.setup.stroke_times import StrokeReading, strokes_timed
from fillwright.records.entities import RunsLike
from fillwright.science.stroke_times import recharge_times
from fillwright.science.wet_tables import path_table

GOAL_S, RUNS, SAMPLE = 0.3, 3, 10
# What the pages remember from look to look, and what the map has of its own.
PLAN = (strokeplan.plan_of, strokeplan._recharge)  # noqa: SLF001  forgotten before each look
MAPS = strokemap._maps  # noqa: SLF001  as above
OPENINGS, TOLERANCE = strokemap._OPENINGS, strokemap._TOLERANCE  # noqa: SLF001  the same strokes


def timed(act: Callable[[], object], *, forgets_plan: bool = True) -> float:
    """Return the least processor time of some first looks, nothing remembered from before."""
    times = []
    for _ in range(RUNS):
        for known in (*(PLAN if forgets_plan else ()), MAPS):
            known.cache_clear()
        begin = time.process_time()
        act()
        times.append(time.process_time() - begin)
    return min(times)


def one_by_one(rig: Rig, picture: object) -> tuple[float, int]:
    """Return how long the recharges of a map take when run one at a time, and how many."""
    control = rig.air.recharge
    widest = conductance_at(control, float(control.points[-1].open_turns))
    temps = picture.temps_c
    cells = len(temps) * (OPENINGS + 1)
    begin = time.process_time()
    for place in range(SAMPLE):
        times = thickness_at(rig.flow, temps[place % len(temps)])
        drive = drive_of(rig, widest * 0.02 ** (place / SAMPLE), control)
        recharge_times(
            drive,
            piston_area=rig.piston_area,
            stroke=rig.stroke,
            table=path_table(suction_of(rig), curve_of(rig.flow, times=times), rig.density),
            head=rig.low_head_pressure,
            cavity_pressure=cavity_pa(rig),
            tolerance=TOLERANCE,
        )
    return (time.process_time() - begin) / SAMPLE * cells, cells


def main() -> None:
    """Print a line for each product."""
    jobs = {"syrup of 9 Pa s": thick_job()}
    for like in RunsLike:
        facts = described_job()
        jobs[f"like {like.value}"] = replace(facts, product=replace(facts.product, runs_like=like))
    print("ms of processor at a first look: start, map, budget, timed strokes")
    slowest = 0.0
    for name, facts in jobs.items():
        shop = described_shop(facts)
        desk, state = shop.desk, shop.state
        rig = rig_of(desk, state)
        start = timed(lambda r=rig: strokeplan.plan_of(r))
        strokeplan.plan_of(rig)
        look = timed(lambda d=desk, s=state: strokemap.look(d, s), forgets_plan=False)
        budget = timed(lambda d=desk, s=state: dosebudget.look(d, s), forgets_plan=False)
        ten = Decimal(str(round(1.2 * strokeplan.plan_of(rig).ten_s)))
        fit = timed(
            lambda d=desk, s=state, t=ten: strokes_timed(d, s, t, StrokeReading()),
            forgets_plan=False,
        )
        alone, count = one_by_one(rig, strokemap.look(desk, state).recharge)
        slowest = max(slowest, look)
        told = " ".join(f"{1e3 * value:7.0f}" for value in (start, look, budget, fit))
        print(f"{name:16} {told}   {count} strokes {alone / look:5.1f} times the whole map")
    held = "held" if slowest <= GOAL_S else "NOT held"
    print(f"goal of {1e3 * GOAL_S:.0f} ms a look at the map: {held} ({1e3 * slowest:.0f} ms)")


if __name__ == "__main__":
    np.seterr(all="raise", under="ignore")
    main()
