"""Speed of the dosing statistics, as ratios against named alternatives in one run.

Each goal is printed with what was found; the script fails when one is missed.
"""

from __future__ import annotations

import itertools
import math
import sys
from collections.abc import Callable
from time import perf_counter

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from scipy import integrate, optimize, special

from fillwright.science.charts import cusum_chart, ewma_chart, individuals_chart
from fillwright.science.drift import watch_drift
from fillwright.science.proof import prove
from fillwright.science.runlength import arl_cusum
from fillwright.science.self_starting import self_starting
from fillwright.science.tolerance import tolerance_factor
from fillwright.science.trim import ShotGroup, next_setting
from fillwright.science.watch import watch_start, watch_take

FRESH = itertools.count()
COUNT = 100_000
STATES = 400
MISSED: list[str] = []


def best_of(call: Callable[[], object], *, repeats: int, inner: int = 1) -> float:
    """Return the shortest time of one call, in seconds."""
    times = []
    for _ in range(repeats):
        begin = perf_counter()
        for _ in range(inner):
            call()
        times.append((perf_counter() - begin) / inner)
    return min(times)


def told(name: str, ours: float, other: float, *, most: float = 0.0, least: float = 0.0) -> None:
    """Print one ratio with its goal: ours over the other, or the other over ours."""
    found = ours / other if most else other / ours
    kept = found <= most if most else found >= least
    goal = f"at most {most:g} times" if most else f"at least {least:g} times faster"
    print(f"{name}: {1e3 * ours:.3f} ms against {1e3 * other:.3f} ms, {found:.1f}; goal {goal}")
    if not kept:
        MISSED.append(name)


def adaptive_factor() -> float:
    """Return the factor for 30, 99 %, 95 % by nested adaptive quadrature.

    The textbook double integral: over the mean and, inside, over the sd.
    """
    n, df = 30, 29
    log_norm = math.log(2.0) + 0.5 * df * math.log(0.5 * df) - math.lgamma(0.5 * df)

    def half_width(z: float) -> float:
        return optimize.brentq(
            lambda r: special.ndtr(z + r) - special.ndtr(z - r) - 0.99, 0, z + 12
        )

    def beyond(least: float) -> float:
        return integrate.quad(
            lambda s: math.exp(log_norm + (df - 1) * math.log(s) - 0.5 * df * s * s),
            least,
            3.0,
            epsrel=1e-10,
        )[0]

    def surplus(k: float) -> float:
        return (
            integrate.quad(
                lambda z: (
                    2.0
                    * math.sqrt(n / (2.0 * math.pi))
                    * math.exp(-0.5 * n * z * z)
                    * beyond(half_width(z) / k)
                ),
                0,
                8 / math.sqrt(n),
                epsrel=1e-10,
            )[0]
            - 0.95
        )

    return float(optimize.brentq(surplus, 3.2, 3.5, xtol=1e-9))


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


def chain_length(k: float, h: float, shift: float) -> float:
    """Return the run length of both sums by a Markov chain of many states each.

    Brook and Evans, Biometrika 59 (1972); from memory.
    """
    wide = 2.0 * h / (2.0 * STATES - 1.0)
    place = wide * np.arange(STATES)

    def one(off: float) -> float:
        up = special.ndtr(place[None, :] + 0.5 * wide - place[:, None] + k - off)
        moves = np.diff(up, axis=1, prepend=0.0)
        return float(np.linalg.solve(np.eye(STATES) - moves, np.ones(STATES))[0])

    above, below = one(shift), one(-shift)
    return above * below / (above + below)


def integral_length() -> float:
    """Return the same by ours, without its memory of earlier answers."""
    return arl_cusum(0.5, 5.0 + 1e-12 * next(FRESH), shift=1.0)


def all_charts(z: np.ndarray) -> None:
    """Draw all charts over the whole array but the self-starting one."""
    cusum_chart(z)
    ewma_chart(z)
    individuals_chart(z)


def two_passes(z: np.ndarray) -> None:
    """Do one running sum and the means of all runs of five."""
    np.cumsum(z)
    sliding_window_view(z, 5).mean(axis=1)


def charts() -> None:
    """Compare the charts over a long run, and one more reading."""
    z = np.random.default_rng(1).standard_normal(COUNT)
    free = np.arange(1.0, COUNT + 1.0)
    ours = best_of(lambda: all_charts(z), repeats=25)
    other = best_of(lambda: two_passes(z), repeats=25)
    told("charts of 100,000 against cumsum and windows of five", ours, other, most=10.0)
    started = best_of(lambda: self_starting(z), repeats=15)
    both = best_of(lambda: special.ndtri(special.stdtr(free, z)), repeats=15)
    told("self-starting of 100,000 against its distribution calls", started, both, most=3.0)
    state = watch_start(sd=0.0006, sd_readings=30, target=0.0)
    for place in range(200):
        state = watch_take(state, 0.0006 * float(z[place]), position=place + 1.0).state

    def one_more() -> None:
        watch_drift(watch_take(state, 0.0003, position=201.0).state, limit=0.0025)

    one = best_of(one_more, repeats=9, inner=200)
    told("one more reading against all charts anew", one, ours + started, least=500.0)


def main() -> int:
    """Print every ratio with the absolute times beside it."""
    rng = np.random.default_rng(1)
    charts()
    assert abs(exact_factor() - adaptive_factor()) < 1e-7
    ours = best_of(exact_factor, repeats=40)
    other = best_of(adaptive_factor, repeats=2)
    told("exact factor against nested quad", ours, other, least=50.0)

    both = integral_length(), chain_length(0.5, 5.0, 1.0)
    assert abs(both[0] / both[1] - 1.0) < 5e-5, both
    ours = best_of(integral_length, repeats=40)
    other = best_of(lambda: chain_length(0.5, 5.0, 1.0), repeats=10)
    told(f"run length against {STATES} states", ours, other, least=50.0)

    readings = 0.25 + 0.0006 * rng.standard_normal(30)
    ours = best_of(trim_step, repeats=20)
    print(f"one step of the trim: {1e3 * ours:.2f} ms")
    ours = best_of(lambda: prove(readings, target=0.25, tolerance=0.0025), repeats=10)
    print(f"verdict on 30 readings: {1e3 * ours:.1f} ms")
    return 1 if MISSED else 0


if __name__ == "__main__":
    code = main()
    if MISSED:
        print("missed: " + ", ".join(MISSED))
    sys.exit(code)
