"""What tolerance intervals hold and proofs claim, on invented normal doses."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from calibrate_tables import share, table
from scipy.special import ndtr

from fillwright.science.proof import prove_chance
from fillwright.science.sequential import sequential_chance, sequential_plan
from fillwright.science.sequential_rates import edge_sd
from fillwright.science.tolerance import distribution_free_n, tolerance_factor

RUNS = 40_000


def tables() -> Iterator[str]:
    """Yield the tables of proving."""
    yield table("tolerance", "interval | n | stated, % | holds, % of samples", list(intervals()))
    head = "n | offset over tolerance | sd at the edge | false claims, % | computed, %"
    yield table("edge", head, list(at_the_edge()))
    yield from proofs()


def covered(n: int, content: float, confidence: float, *, sides: int, runs: int) -> np.ndarray:
    """Return whether each drawn sample's limits hold the content."""
    rng = np.random.default_rng([21, n, sides])
    row = rng.standard_normal((runs, n))
    k = tolerance_factor(n, content=content, confidence=confidence, sides=sides)
    centre, half = row.mean(axis=1), k * row.std(axis=1, ddof=1)
    below = ndtr(centre - half) if sides == 2 else 0.0
    return ndtr(centre + half) - below >= content


def covered_freely(content: float, confidence: float, *, runs: int, heavy: bool) -> np.ndarray:
    """Return whether smallest and largest of so many hold the content, whatever the law."""
    n = distribution_free_n(content, confidence)
    rng = np.random.default_rng([22, n])
    row = rng.standard_cauchy((runs, n)) if heavy else rng.standard_normal((runs, n))
    low, high = row.min(axis=1), row.max(axis=1)
    if heavy:
        return (np.arctan(high) - np.arctan(low)) / math.pi >= content
    return ndtr(high) - ndtr(low) >= content


def intervals() -> Iterator[str]:
    """Yield how often limits hold what they are stated to hold."""
    for n, content, confidence, sides in (
        (4, 0.99, 0.95, 2),
        (10, 0.99, 0.95, 2),
        (30, 0.99, 0.95, 2),
        (43, 0.90, 0.99, 2),
        (100, 0.99, 0.95, 2),
        (10, 0.99, 0.95, 1),
        (30, 0.99, 0.95, 1),
    ):
        held = covered(n, content, confidence, sides=sides, runs=RUNS)
        told = f"{100 * content:g} % of all, {'two sides' if sides == 2 else 'one side'}"
        yield f"| {told} | {n} | {100 * confidence:g} | {share(held)} |"
    for heavy in (False, True):
        held = covered_freely(0.95, 0.95, runs=RUNS // 4, heavy=heavy)
        law = "Cauchy" if heavy else "normal"
        n = distribution_free_n(0.95, 0.95)
        yield f"| smallest to largest, 95 % of all, {law} doses | {n} | 95 | {share(held)} |"


def falsely_proved(n: int, offset: float, *, runs: int) -> tuple[np.ndarray, float]:
    """Return whether each run with exactly 99 % inside proves 99 %, and the chance computed."""
    sd = edge_sd(offset, content=0.99)
    row = offset + sd * np.random.default_rng([23, n]).standard_normal((runs, n))
    k = tolerance_factor(n, content=0.99, confidence=0.95)
    proved = np.abs(row.mean(axis=1)) + k * row.std(axis=1, ddof=1) <= 1.0
    return proved, prove_chance(n, true_sd=sd, offset=offset, tolerance=1.0)


def at_the_edge() -> Iterator[str]:
    """Yield how often a claim that is just not true is proved."""
    for n in (10, 30):
        for offset in (0.0, 0.2, 0.4, 0.7):
            proved, chance = falsely_proved(n, offset, runs=RUNS)
            yield (
                f"| {n} | {offset:.1f} | {edge_sd(offset, content=0.99):.4f} | {share(proved)} "
                f"| {100 * chance:.2f} |"
            )


def proofs() -> Iterator[str]:
    """Yield the tables of sequential proving."""
    rng = np.random.default_rng(3)
    plan = sequential_plan(rng=rng)
    rows = [
        f"| {n} | {k:.4f} | {f:.4f} |"
        for n, k, f in zip(plan.looks, plan.factors, plan.futile_factors, strict=True)
    ]
    yield table("looks", "look at n | enough: room of at least, sds | ends: room below, sds", rows)
    rows = [
        f"| {offset:.1f} | {100 * rate:.2f} ± {100 * plan.standard_error:.2f} |"
        for offset, rate in zip(plan.offsets, plan.false_claims, strict=True)
    ]
    yield table("false", "offset over tolerance | false claims, % of runs", rows)
    rows = []
    for sd in (0.15, 0.20, 0.25, 0.28, 0.30, 0.34, 0.40, 0.50):
        for offset in (0.0, 0.2):
            found = sequential_chance(plan, sd, offset=offset, tolerance=1.0, rng=rng)
            blind = sequential_chance(
                plan, sd, offset=offset, tolerance=1.0, rng=rng, futility=False
            )
            rows.append(
                f"| {sd:.2f} | {offset:.1f} | {100 * found.chance:.1f} "
                f"± {100 * found.standard_error:.1f} | {100 * blind.chance:.1f} "
                f"| {found.mean_readings:.1f} | {blind.mean_readings:.1f} "
                f"| {100 * found.stopped_early:.1f} |"
            )
    head = "true sd | offset | enough, % | without early end | readings | without early end"
    yield table("power", f"{head} | ended early, %", rows)
