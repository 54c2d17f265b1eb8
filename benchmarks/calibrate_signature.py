"""How often what the dose signature states is right, on simulated machines.

Runs drawn from the prior, then with each assumption broken.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np
from calibrate_tables import share, table

from fillwright.science.signature import HEAVY_SHARE, PAIR_SHARE, PRIOR, recognise
from fillwright.science.signature_draw import DrawnRun, draw_level, draw_run
from fillwright.science.signature_grid import HEAVY_DF
from fillwright.science.signature_kinds import DoseKind, Signature

KINDS = list(DoseKind)
SD = 0.001
RUNS = 1500
DOSES = (20, 40, 80)
FEWEST = 100
SURE = 0.9
HALF = 0.5
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
    "drawn as the model has it": Machine(),
    "sd guessed three times too large": Machine(guess=3.0),
    "sd guessed three times too small": Machine(guess=1.0 / 3.0),
    "heavy tails (t, 4) in all": Machine(noise_df=4.0),
    "heavy tails (t, 3) in all": Machine(noise_df=3.0),
    "scale step of 1.3 sd": Machine(step=1.3),
    "hopper level not given": Machine(level_known=False),
    "effects of 2 sd": Machine(effect=2.0),
    "scale step of 2.7 sd": Machine(step=2.7),
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
    return f"{figure(rows):.4f} ± {np.std(again):.4f}"


def tables() -> Iterator[str]:
    """Yield how often the signature is right, and how far what it states is off."""
    rows = []
    for told, machine in MACHINES.items():
        for doses in DOSES:
            tally = drawn(machine, runs=RUNS, doses=doses)
            rows.append(f"| {told} | {doses} | {outcome(tally)} |")
            print(rows[-1], file=sys.stderr, flush=True)
    head = (
        "runs | doses | usable, % | best right, % | stated, % | error of what is stated, all "
        "kinds | of the best kind | stated above 0.9: right, % | steady called something, % "
        "| change within its 80 % range, % | size within its 80 % interval, %"
    )
    yield table("signature", head, rows)


def outcome(tally: Tally) -> str:
    """Print the columns of one row."""
    usable = f"{100 * len(tally.truth) / tally.runs:.0f}"
    if len(tally.truth) < FEWEST:
        return f"{usable} | – | – | – | – | – | – | – | –"
    posterior, truth = np.array(tally.posterior), np.array(tally.truth)
    hit = np.arange(len(KINDS)) == truth[:, None]
    top, right = np.max(posterior, axis=1), np.argmax(posterior, axis=1) == truth
    rows = np.arange(truth.size)
    sure = np.array(tally.stated) > SURE
    alarm = ((np.argmax(posterior, axis=1) != 0) & (top > HALF))[truth == 0]
    return " | ".join(
        [
            usable,
            share(right),
            f"{100 * float(np.mean(top)):.1f}",
            with_se(rows, lambda r: error(posterior[r].ravel(), hit[r].ravel(), TENTHS)),
            with_se(rows, lambda r: error(top[r], right[r], EDGES)),
            share(np.array(tally.named)[sure]),
            share(alarm),
            share(np.array(tally.change)),
            share(np.array(tally.size)),
        ]
    )
