"""Time the lot test, exact, against named alternatives; figures are ratios of medians.

Run by ``python benchmarks/bench_lot_test.py``.  Alternatives: the rule read out in plain decimals
by a Python loop, and numpy's float mean and standard deviation, which is not exact.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from decimal import Decimal

import numpy as np

from fillwright.knowledge.load import rule_set
from fillwright.science.quantity import decide_lots, lot_test

RULES = rule_set("AU-2009/233")
LABEL, SHORTAGE, FACTOR, N = Decimal(500), Decimal(15), Decimal("0.234"), 125
LOTS = 100_000


def in_decimals(sample: list[Decimal]) -> bool:
    """Decide one lot by a plain loop over decimals."""
    mean = sum(sample, Decimal(0)) / N
    variance = sum(((x - mean) ** 2 for x in sample), Decimal(0)) / (N - 1)
    short = sum(x < LABEL - SHORTAGE for x in sample)
    far = sum(x < LABEL - 2 * SHORTAGE for x in sample)
    return mean + FACTOR * variance.sqrt() >= LABEL and short <= 7 and far == 0


def in_floats(errors: np.ndarray) -> np.ndarray:
    """Decide lots by float mean and standard deviation: a float stands at a legal limit."""
    grams = errors * 0.01
    mean_ok = grams.mean(axis=1) + 0.234 * grams.std(axis=1, ddof=1) >= 0
    return mean_ok & ((grams < -15).sum(axis=1) <= 7) & ((grams < -30).sum(axis=1) == 0)


def seconds(call: Callable[[], object], repeats: int) -> float:
    """Return the median time of a call, after one to warm up."""
    call()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    """Print times and ratios."""
    rng = np.random.default_rng(5)
    errors = np.rint(rng.normal(0, 500, (LOTS, N))).astype(np.int64)
    sample = [LABEL + Decimal(int(e)).scaleb(-2) for e in errors[0]]

    def one() -> object:
        return lot_test(RULES, sample, nominal=LABEL, unit="g", lot_size=5000)

    def many() -> object:
        return decide_lots(
            RULES, errors, division=Decimal("0.01"), nominal=LABEL, unit="g", lot_size=5000
        )

    t_one, t_decimal = seconds(one, 200), seconds(lambda: in_decimals(sample), 200)
    t_many, t_float = seconds(many, 5), seconds(lambda: in_floats(errors), 5)
    print(f"one lot of {N}: {1e3 * t_one:.2f} ms with every figure and sentence (goal < 2 ms)")
    print(f"  against a plain loop over decimals, verdict only: {t_one / t_decimal:.2f} times")
    print(f"{LOTS} lots of {N}: {t_many:.3f} s (goal < 1 s)")
    print(f"  against numpy float mean and deviation, not exact: {t_many / t_float:.2f} times")
    loop = t_decimal * LOTS
    print(f"  against the loop over decimals, extrapolated: {t_many / loop:.5f} times")


if __name__ == "__main__":
    main()
