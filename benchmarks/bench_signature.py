"""Speed of the dose signature, as a ratio against fitting the same patterns one by one.

The other way is one ordinary or weighted least-squares fit of statsmodels for every pattern of
every kind, and beside it the bare fit of NumPy; the script fails where the goal is missed.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from time import perf_counter

import numpy as np
import statsmodels.api as sm

from fillwright.science.signature import recognise
from fillwright.science.signature_models import FADES, PHIS, STEP_FEWEST
from fillwright.science.signature_scan import CREEP_FEWEST, RATIOS, SCATTER_FEWEST

COUNT = 300
RAMPS = 16
CROSSED = 16
GOAL = 20


def best_of(call: Callable[[], object], *, repeats: int) -> float:
    """Return the shortest time of one call, in seconds."""
    times = []
    for _ in range(repeats):
        begin = perf_counter()
        call()
        times.append(perf_counter() - begin)
    return min(times)


Fit = Callable[[np.ndarray, np.ndarray], float]


def bare(x: np.ndarray, y: np.ndarray) -> float:
    """Return the sum of squares left by one least-squares fit of NumPy."""
    left = y - x @ np.linalg.lstsq(x, y, rcond=None)[0]
    return float(left @ left)


def full(x: np.ndarray, y: np.ndarray) -> float:
    """Return the same by one fit of statsmodels."""
    return float(sm.OLS(y, x).fit().ssr)


def one_by_one(y: np.ndarray, level: np.ndarray, by: Fit) -> int:
    """Fit every pattern of every kind; return how many fits that took."""
    n = y.size

    def fit(columns: list[np.ndarray], z: np.ndarray, weight: np.ndarray | None = None) -> float:
        x = np.column_stack(columns)
        return by(x, z) if weight is None else by(x * weight[:, None], z * weight)

    one, order = np.ones(n), np.arange(n)
    left = [fit([one], y)]
    left += [fit([one, order >= k], y) for k in range(STEP_FEWEST, n - STEP_FEWEST + 1)]
    ramps = [np.maximum(order - k + 1, 0) / (n - k) for k in range(n - CREEP_FEWEST + 1)]
    left += [fit([one, ramp], y) for ramp in ramps]
    left += [fit([one, level, ramp], y) for ramp in ramps]
    places = range(SCATTER_FEWEST, n - SCATTER_FEWEST + 1)
    coarse = np.linspace(SCATTER_FEWEST, n - SCATTER_FEWEST, RAMPS).round()
    for ratio in RATIOS:
        for k in places:
            weight = np.where(order >= k, 1 / ratio, 1.0)
            left.append(fit([one], y, weight))
            left.append(fit([one, order >= k], y, weight))
        for k in coarse:
            rise = np.maximum(order - k + 1, 0) / (n - k)
            left.append(fit([one], y, 1 / (1 + (ratio - 1) * rise)))
            weight = np.where(order >= k, 1 / ratio, 1.0)
            left += [fit([one, order >= j], y, weight) for j in coarse[:CROSSED]]
    left += [fit([one, np.exp(-order / fade)], y) for fade in FADES]
    left += [fit([one, np.where(order % 2 == 0, 1.0, -1.0)], y), fit([one, level], y)]
    for phi in PHIS:
        left.append(fit([one[1:] * (1 - phi)], y[1:] - phi * y[:-1]))
    lowest = np.argsort(y)
    for k in range(1, n // 5):
        weight = one.copy()
        weight[lowest[:k]] = 1 / np.sqrt(65.0)
        left.append(fit([one], y, weight))
    return len(left)


def main() -> int:
    """Print the ratio with the absolute times beside it."""
    rng = np.random.default_rng(1)
    for count in (20, 60, 120, COUNT):
        y = 0.25 + 0.0006 * rng.standard_normal(count)
        y[count // 2 :] += 0.0012
        level = np.sqrt(np.linspace(1.0, 0.1, count))

        def ours(y: np.ndarray = y, level: np.ndarray = level) -> object:
            return recognise(y, target=0.25, readability=1e-4, level=level)

        print(f"{count} doses, nine kinds: {1e3 * best_of(ours, repeats=20):.1f} ms")
    mine = best_of(ours, repeats=20)
    z, height = (y - np.median(y)) / 0.0006, level - np.mean(level)
    count = one_by_one(z, height, bare)
    print(f"{COUNT} doses: {1e3 * mine:.1f} ms against {count} fits one by one")
    for name, by, repeats in (("numpy.linalg.lstsq", bare, 3), ("statsmodels OLS", full, 2)):
        ratio = best_of(lambda by=by: one_by_one(z, height, by), repeats=repeats) / mine
        print(f"  with {name}: {ratio:.0f} times that")
    print(f"  goal with statsmodels: at least {GOAL} times")
    return 0 if ratio >= GOAL else 1


if __name__ == "__main__":
    sys.exit(main())
