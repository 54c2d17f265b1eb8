"""How often what the dose signature states is right, on simulated machines.

Runs drawn from the prior, then with each assumption broken; every figure has its standard
error. Takes minutes: ``python benchmarks/signature_calibration.py RUNS DOSES``.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from fillwright.science.signature import HEAVY_SHARE, PAIR_SHARE, PRIOR, recognise
from fillwright.science.signature_draw import DrawnRun, draw_level, draw_run
from fillwright.science.signature_grid import HEAVY_DF
from fillwright.science.signature_kinds import DoseKind, Signature

KINDS = list(DoseKind)
SD = 0.001
SEED = 7
RESAMPLED = 200
OTHER = {
    DoseKind.STEP: DoseKind.SCATTER,
    DoseKind.SCATTER: DoseKind.STEP,
    DoseKind.CREEP: DoseKind.LEVEL,
    DoseKind.LEVEL: DoseKind.CREEP,
}
TENTHS = np.linspace(0.0, 1.0 + 1e-9, 11)
EDGES = np.array([0.0, 0.35, 0.5, 0.65, 0.8, 0.9, 0.97, 1.0 + 1e-9])


@dataclass(frozen=True, kw_only=True)
class Machine:
    """What is broken: guess of the sd, tails, step of the scale, level not known, effects."""

    guess: float = 1.0
    noise_df: float | None = None
    step: float = 0.0
    level_known: bool = True
    effect: float | None = None


MACHINES = {
    "matched": Machine(),
    "sd guess x 3": Machine(guess=3.0),
    "sd guess / 3": Machine(guess=1.0 / 3.0),
    "t4 noise": Machine(noise_df=4.0),
    "step 1.3 sd": Machine(step=1.3),
    "step 1.5 sd": Machine(step=1.5),
    "no level": Machine(level_known=False),
    "t3 noise": Machine(noise_df=3.0),
    "effects 2 sd": Machine(effect=2.0),
    "step 2.7 sd": Machine(step=2.7),
}


@dataclass(kw_only=True)
class Tally:
    """What came of the runs of one machine."""

    runs: int = 0
    posterior: list[list[float]] = field(default_factory=list)
    truth: list[int] = field(default_factory=list)
    stated: list[float] = field(default_factory=list)
    named: list[bool] = field(default_factory=list)
    change: list[bool] = field(default_factory=list)
    size: list[bool] = field(default_factory=list)

    def add(self, answer: Signature, run: DrawnRun, kind: DoseKind) -> None:
        """Count one run."""
        self.runs += 1
        if answer.best is None:
            return
        self.posterior.append([answer.posterior.of(k) for k in KINDS])
        self.truth.append(KINDS.index(kind))
        self.stated.append(answer.stated)
        self.named.append(kind in (answer.together or (answer.best,)))
        if answer.best is kind and run.change is not None:
            low, high = answer.change_interval
            self.change.append(low <= run.change <= high)
        if answer.best is kind and run.size is not None:
            low, high = answer.size_interval
            self.size.append(low <= SD * run.size <= high)


def drawn(machine: Machine, *, runs: int, doses: int) -> Tally:
    """Return what came of so many runs."""
    rng = np.random.default_rng(SEED)
    tally = Tally()
    for _ in range(runs):
        kind = KINDS[rng.choice(len(KINDS), p=[PRIOR.of(k) for k in KINDS])]
        second = OTHER.get(kind) if rng.random() < PAIR_SHARE else None
        heavy = kind is not DoseKind.SHORT and rng.random() < HEAVY_SHARE
        df = HEAVY_DF if heavy and machine.noise_df is None else machine.noise_df
        level = draw_level(rng, doses)
        run = draw_run(
            rng, kind, level=level, with_kind=second, noise_df=df, effect=machine.effect
        )
        shown = 0.25 + SD * (run.doses + machine.step * rng.uniform())
        if machine.step:
            shown = np.round(shown / (machine.step * SD)) * machine.step * SD
        answer = recognise(
            shown,
            target=0.25,
            readability=machine.step * SD,
            level=level if machine.level_known else None,
            sd_guess=machine.guess * SD * math.exp(0.3 * rng.standard_normal()),
        )
        tally.add(answer, run, kind)
    return tally


def error(stated: np.ndarray, right: np.ndarray, edges: np.ndarray) -> float:
    """Return the mean gap between stated and right over bins, weighted by their size."""
    bins = np.digitize(stated, edges) - 1
    return float(np.sum(np.abs(np.bincount(bins, stated - right)))) / stated.size


def with_se(rows: np.ndarray, figure: Callable[[np.ndarray], float]) -> str:
    """Return a figure of the runs with its standard error by resampling them."""
    rng = np.random.default_rng(SEED)
    again = [figure(rng.choice(rows, rows.size)) for _ in range(RESAMPLED)]
    return f"{figure(rows):.4f} ({np.std(again):.4f})"


def share(values: list[bool]) -> str:
    """Return a share with its standard error."""
    if not values:
        return "none"
    mean = float(np.mean(values))
    return f"{mean:.3f} ({math.sqrt(mean * (1 - mean) / len(values)):.3f})"


def main() -> None:
    """Print a block of figures for each machine."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    doses = int(sys.argv[2]) if len(sys.argv) > 2 else 50
    for name, machine in MACHINES.items():
        tally = drawn(machine, runs=runs, doses=doses)
        posterior, truth = np.array(tally.posterior), np.array(tally.truth)
        print(f"{name}: {runs} runs of {doses} doses, {truth.size} usable", flush=True)
        if truth.size < 100:
            continue
        hit = np.arange(len(KINDS)) == truth[:, None]
        best = np.argmax(posterior, axis=1)
        top, right = np.max(posterior, axis=1), best == truth
        stated, named = np.array(tally.stated), np.array(tally.named)
        rows = np.arange(truth.size)

        def kinds(r: np.ndarray, p: np.ndarray = posterior, h: np.ndarray = hit) -> float:
            return error(p[r].ravel(), h[r].ravel(), TENTHS)

        def leading(r: np.ndarray, p: np.ndarray = top, h: np.ndarray = right) -> float:
            return error(p[r], h[r], EDGES)

        print(f"  best right {share(list(right))}, stated {np.mean(top):.3f}")
        print(f"  named right {share(list(named))}, stated {np.mean(stated):.3f}")
        print(f"  calibration error, all kinds {with_se(rows, kinds)}")
        print(f"  calibration error, best kind {with_se(rows, leading)}")
        sure = stated > 0.9
        print(f"  stated above 0.9: right {share(list(named[sure]))}")
        alarm = list(((best != 0) & (top > 0.5))[truth == 0])
        print(f"  steady called something above 0.5: {share(alarm)}")
        print(f"  80 % intervals hold: change {share(tally.change)}, size {share(tally.size)}")


if __name__ == "__main__":
    main()
