"""Stated chances against seeded simulations, each within its own sampling error.

The simulated machines are invented. Every test prints what it found with its standard error.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass

import numpy as np
import pytest
from scipy import optimize, special

from fillwright.science.capability import capability
from fillwright.science.content import content_upper_bound
from fillwright.science.order import order_tests
from fillwright.science.proof import prove_chance, tolerance_factor
from fillwright.science.rounding import rounded_sd
from fillwright.science.self_starting import self_starting
from fillwright.science.trim import Direction, ShotGroup, next_setting


@dataclass(frozen=True)
class Trims:
    """What a crowd of simulated trims came to."""

    shots: np.ndarray
    over: np.ndarray
    done: np.ndarray
    inside: np.ndarray
    stated: np.ndarray


def _say(line):
    """Print a line; the test run shows it where the output is asked for."""
    sys.stdout.write(line + "\n")


def _share(hits, name):
    """A share and its standard error, printed."""
    found = float(np.mean(hits))
    error = math.sqrt(max(found * (1 - found), 1e-4) / len(hits))
    _say(f"{name}: {found:.4f} with standard error {error:.4f} of {len(hits)}")
    return found, error


def _trims(count, seed, *, alpha=0.05):
    """Trim so many machines: slope, offset, held air, wheel, scatter and step all drawn."""
    rng = np.random.default_rng(seed)
    rows = []
    for _ in range(count):
        cylinder = rng.choice([1e-4, 2.5e-4, 5e-4, 1e-3])
        density = rng.uniform(800, 1300)
        target = rng.uniform(0.12, 0.9) * cylinder * density
        slope = density * (1 + 0.0155 * rng.standard_normal())
        slope *= 1 - abs(0.004 * rng.standard_normal())
        offset = 0.012 * cylinder * density * rng.standard_normal()
        sd = 0.0025 * target * math.exp(0.5 * rng.standard_normal())
        step = 1e-5 if target < 0.3 else 1e-4
        groups, shots, over, mean = [], 0, 0, 0.0
        while True:
            act = next_setting(
                groups,
                target=target,
                upper_limit=1.01 * target,
                within=0.005,
                probability=0.9,
                alpha=alpha,
                cylinder=cylinder,
                density=density,
                readability=step,
            )
            if act.done or shots == 15:
                break
            if not groups or act.direction is not Direction.STAY:
                groups.append(ShotGroup(setting=act.setting, readings=()))
                wheel = 0.0008 * cylinder * density * rng.standard_normal()
                mean = offset + slope * act.setting + wheel
            dose = mean + sd * rng.standard_normal()
            over += dose > 1.01 * target
            readings = (*groups[-1].readings, round(dose / step) * step)
            groups[-1] = ShotGroup(setting=groups[-1].setting, readings=readings)
            shots += 1
        rows.append((shots, over, act.done, abs(mean / target - 1) <= 0.005, act.p_within))
    shots, over, done, inside, stated = (np.array(column) for column in zip(*rows, strict=True))
    return Trims(shots, over, done, inside, stated)


def test_trim_keeps_its_promises_on_simulated_machines():
    """At most 5 % of shots over, 90 % truly inside, five shots on average, few undone."""
    found = _trims(500, seed=11)
    over, error_over = _share(
        np.repeat([1, 0], [found.over.sum(), (found.shots - found.over).sum()]), "over, per shot"
    )
    inside, error = _share(found.inside[found.done], "truly inside when done")
    stated = found.stated[found.done].mean()
    undone, _ = _share(~found.done, "undone after 15 shots")
    _say(f"shots {found.shots.mean():.2f}, stated inside {stated:.4f}")

    assert over <= 0.05 + 3 * error_over
    assert inside >= 0.90 - 3 * error
    assert inside == pytest.approx(stated, abs=0.02 + 3 * error)
    assert found.shots.mean() <= 5
    assert undone <= 0.06


def test_trim_keeps_a_stricter_overfill_promise():
    """With alpha 1 % at most one shot in a hundred is over."""
    found = _trims(200, seed=12, alpha=0.01)
    over, error = _share(
        np.repeat([1, 0], [found.over.sum(), (found.shots - found.over).sum()]), "over, per shot"
    )

    assert over <= 0.01 + 3 * error


@pytest.mark.parametrize(("n", "content", "confidence"), [(5, 0.9, 0.95), (30, 0.99, 0.95)])
def test_the_tolerance_interval_covers_as_stated(n, content, confidence):
    """Mean plus and minus k sd holds the content in the stated share of 40,000 samples."""
    rng = np.random.default_rng(21)
    row = rng.standard_normal((40_000, n))
    k = tolerance_factor(n, content=content, confidence=confidence)
    mean, half = row.mean(axis=1), k * row.std(axis=1, ddof=1)
    held = special.ndtr(mean + half) - special.ndtr(mean - half) >= content
    found, error = _share(held, f"holds {content} of all, n = {n}")

    assert found == pytest.approx(confidence, abs=3 * error)


@pytest.mark.parametrize("offset", [0.0, 0.2, 0.4, 0.6])
def test_a_false_claim_is_rarely_proved(offset):
    """With exactly 99 % inside, the claim of 99 % is proved in less than 5 % of runs."""
    rng = np.random.default_rng(22)
    sd = _sd_at_the_edge(offset)
    row = offset + sd * rng.standard_normal((40_000, 30))
    k = tolerance_factor(30, content=0.99, confidence=0.95)
    proved = np.abs(row.mean(axis=1)) + k * row.std(axis=1, ddof=1) <= 1
    found, error = _share(proved, f"false claim proved, offset {offset}")

    assert found <= 0.05
    expected = prove_chance(30, true_sd=sd, offset=offset, tolerance=1.0)
    assert found == pytest.approx(expected, abs=3.5 * error)


@pytest.mark.parametrize(("n", "offset"), [(5, 0.0), (30, 0.0), (30, 0.3)])
def test_the_upper_bound_of_the_content_holds(n, offset):
    """With exactly 99 % inside, the 95 % bound lies below it in 5 % of runs at most."""
    rng = np.random.default_rng(23)
    sd = _sd_at_the_edge(offset)
    below = []
    for _ in range(250):
        row = offset + sd * rng.standard_normal(n)
        bound = content_upper_bound(row.mean(), row.std(ddof=1), n, tolerance=1.0)
        below.append(bound < 0.99)
    found, error = _share(below, f"bound below the truth, n = {n}, offset {offset}")

    assert found <= 0.05 + 2.5 * error


def _sd_at_the_edge(offset):
    """The sd that leaves exactly 99 % inside ±1."""
    return optimize.brentq(
        lambda s: special.ndtr((1 - offset) / s) - special.ndtr((-1 - offset) / s) - 0.99, 0.1, 1
    )


@pytest.mark.parametrize("n", [4, 10, 30])
def test_a_steady_run_is_rarely_called_unsteady(n):
    """Jointly at most 2 % false alarm, and no less than half of it."""
    rng = np.random.default_rng(24)
    alarms = [not order_tests(row).steady for row in rng.standard_normal((3000, n))]
    found, error = _share(alarms, f"steady run called unsteady, n = {n}")

    assert 0.01 - 3 * error <= found <= 0.02 + 3 * error


@pytest.mark.parametrize("n", [10, 30])
def test_the_bound_of_ppk_covers(n):
    """The lower bound lies below the true Ppk in about 95 % of samples."""
    rng = np.random.default_rng(25)
    row = 0.2 + 0.25 * rng.standard_normal((4000, n))
    below = [
        capability(n, mean=m, sd_overall=s, lower=-1.0, upper=1.0).ppk_lower < 0.8 / 0.75
        for m, s in zip(row.mean(axis=1), row.std(axis=1, ddof=1), strict=True)
    ]
    found, error = _share(below, f"Ppk bound below the truth, n = {n}")

    assert found == pytest.approx(0.95, abs=0.01 + 3 * error)


def test_the_bound_of_a_rounded_sd_covers():
    """A step of twice the sd: the true sd is below the bound in at least nine of ten runs."""
    rng = np.random.default_rng(26)
    below = []
    for _ in range(60):
        row = np.round((rng.uniform() + 0.5 * rng.standard_normal(20)) / 1.0) * 1.0
        below.append(rounded_sd(row, readability=1.0).sd_upper >= 0.5)
    found, error = _share(below, "sd below its bound")

    assert found >= 0.95 - 3 * error


def test_self_starting_values_are_independent_standard_normal():
    """Mean 0, sd 1 and no correlation of neighbours over 2,000 short runs."""
    rng = np.random.default_rng(27)
    z = np.array([self_starting(row)[2:] for row in 250 + 7 * rng.standard_normal((2000, 20))])
    error = 1 / math.sqrt(z.size)
    _say(f"mean {z.mean():.4f}, sd {z.std():.4f}, error {error:.4f}")

    assert z.mean() == pytest.approx(0.0, abs=4 * error)
    assert z.std() == pytest.approx(1.0, abs=4 * error)
    assert np.mean(z[:, 1:] * z[:, :-1]) == pytest.approx(0.0, abs=4 * error)


def test_the_self_starting_cusum_alarms_as_seldom_as_a_known_one():
    """Run length without a shift: within 10 % and 3 standard errors of the 465 of known k, h."""
    rng = np.random.default_rng(28)
    runs, longest = 600, 4000
    row = rng.standard_normal((runs, longest))
    count = np.arange(1.0, longest + 1)
    mean = np.cumsum(row, axis=1) / count
    before = np.concatenate([np.zeros((runs, 1)), mean[:, :-1]], axis=1)
    squares = np.cumsum((row - before) * (row - mean), axis=1)
    ratio = (row[:, 2:] - mean[:, 1:-1]) / np.sqrt(squares[:, 1:-1] / count[:-2])
    ratio *= np.sqrt(count[1:-1] / count[2:])
    z = special.ndtri(special.stdtr(count[:-2], ratio))
    assert z[0] == pytest.approx(self_starting(row[0])[2:], abs=1e-8)
    up = down = np.zeros(runs)
    length = np.full(runs, longest)
    for place in range(z.shape[1]):
        up = np.maximum(0, up + z[:, place] - 0.5)
        down = np.maximum(0, down - z[:, place] - 0.5)
        length = np.minimum(length, np.where((up > 5) | (down > 5), place + 1, longest))
    error = length.std() / math.sqrt(runs)
    _say(f"run length {length.mean():.1f} with standard error {error:.1f}")

    assert length.mean() == pytest.approx(465.4, abs=46 + 3 * error)
