"""Speed of the dosing statistics, as ratios against named alternatives.

Exact tolerance factor against adaptive quadrature, one step of trim against one NumPy
eigenvalue problem of its size, charts over 100,000 readings against the plain recursion.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from time import perf_counter

import numpy as np
from scipy import integrate, optimize, special

from fillwright.science.charts import cusum_chart, ewma_chart, individuals_chart
from fillwright.science.proof import prove
from fillwright.science.self_starting import self_starting
from fillwright.science.tolerance import tolerance_factor
from fillwright.science.trim import ShotGroup, next_setting
from fillwright.science.watch import watch_start, watch_take

FRESH = itertools.count()


def best_of(call: Callable[[], object], *, repeats: int, inner: int = 1) -> float:
    """Return the shortest time of one call, in seconds."""
    times = []
    for _ in range(repeats):
        begin = perf_counter()
        for _ in range(inner):
            call()
        times.append((perf_counter() - begin) / inner)
    return min(times)


def adaptive_factor() -> float:
    """Return the factor for 30, 99 %, 95 % by nested adaptive quadrature."""

    def half_width(z: float) -> float:
        return optimize.brentq(
            lambda r: special.ndtr(z + r) - special.ndtr(z - r) - 0.99, 0, z + 12
        )

    def surplus(k: float) -> float:
        return (
            integrate.quad(
                lambda z: (
                    2
                    * math.sqrt(30 / (2 * math.pi))
                    * math.exp(-15 * z * z)
                    * special.chdtrc(29, 29 * (half_width(z) / k) ** 2)
                ),
                0,
                8 / math.sqrt(30),
                epsrel=1e-10,
            )[0]
            - 0.95
        )

    return float(optimize.brentq(surplus, 3, 4, xtol=1e-10))


def exact_factor() -> float:
    """Return the same factor by ours, without its memory of earlier answers."""
    return tolerance_factor(30, content=0.99, confidence=0.95 + 1e-12 * next(FRESH))


def trim_step() -> object:
    """Return the next setting after six shots in three stays."""
    stays = [
        ShotGroup(setting=2.40e-4, readings=(0.2391, 0.2385)),
        ShotGroup(setting=2.46e-4, readings=(0.2455, 0.2461)),
        ShotGroup(setting=2.49e-4, readings=(0.2483, 0.2490)),
    ]
    return next_setting(
        stays,
        target=0.25,
        upper_limit=0.2525,
        within=0.005,
        probability=0.95,
        alpha=0.05,
        cylinder=5e-4,
        density=1000.0,
        readability=1e-4,
    )


def plain_charts(z: list[float]) -> float:
    """Return the end of both sums, EWMA and moving range by the plain recursion."""
    up = down = mean = moving = 0.0
    before = z[0]
    for value in z:
        up = max(0.0, up + value - 0.5)
        down = max(0.0, down - value - 0.5)
        mean = 0.1 * value + 0.9 * mean
        moving += abs(value - before)
        before = value
    return up + down + mean + moving


def all_charts(z: np.ndarray) -> None:
    """Draw the same charts, and the self-starting values, over the whole array."""
    cusum_chart(z)
    ewma_chart(z)
    individuals_chart(z)


def main() -> None:
    """Print every ratio with the absolute time beside it."""
    rng = np.random.default_rng(1)
    z = rng.standard_normal(100_000)
    values = z.tolist()
    readings = 0.25 + 0.0006 * rng.standard_normal(30)
    matrix = rng.standard_normal((9, 6, 6))
    matrix = matrix + matrix.transpose(0, 2, 1)
    assert abs(exact_factor() - adaptive_factor()) < 1e-7

    ours = best_of(exact_factor, repeats=20)
    other = best_of(adaptive_factor, repeats=3)
    print(f"exact factor: {1e3 * ours:.2f} ms, adaptive quadrature {other / ours:.0f} times that")

    ours = best_of(trim_step, repeats=20)
    other = best_of(lambda: np.linalg.eigh(matrix), repeats=20)
    print(f"trim step: {1e3 * ours:.2f} ms, {ours / other:.0f} times nine 6x6 eigenproblems")

    ours = best_of(lambda: all_charts(z), repeats=5)
    other = best_of(lambda: plain_charts(values), repeats=3)
    print(f"charts of 100,000: {1e3 * ours:.1f} ms, plain recursion {other / ours:.1f} times that")

    other = best_of(lambda: self_starting(z), repeats=3)
    print(
        f"self-starting values of 100,000: {1e3 * other:.1f} ms, {other / ours:.1f} times charts"
    )

    state = watch_start(sd=0.0006, sd_readings=30, target=0.0)
    one = best_of(lambda: watch_take(state, 0.0003, position=1), repeats=5, inner=200)
    per = best_of(lambda: plain_charts(values), repeats=3) / len(values)
    print(f"live watch: {1e6 * one:.0f} us a reading, {one / per:.0f} times the plain recursion")

    ours = best_of(lambda: prove(readings, target=0.25, tolerance=0.0025), repeats=10)
    other = best_of(exact_factor, repeats=20)
    print(f"verdict on 30 readings: {1e3 * ours:.1f} ms, {ours / other:.0f} exact factors")


if __name__ == "__main__":
    main()
