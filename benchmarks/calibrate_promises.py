"""What is promised of stated probabilities, and how each promise is counted again.

The page and the tests count the same things: the page with many runs, the tests with few. A
promise is broken when the figure is beyond its bound by more than three standard errors.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from calibrate_priming import End, flush
from calibrate_proofs import covered, covered_freely, falsely_proved
from calibrate_purges import KINDS as PURGES
from calibrate_purges import purge_of
from calibrate_signature import MACHINES, Tally, drawn
from calibrate_suspects import crowd as alarms
from calibrate_tables import ratio_of, share_of, table
from calibrate_trim_rules import Rule, crowd, trim_taught, trim_typed, trim_unseen
from calibrate_trims import KINDS as TRIMS
from calibrate_trims import Trimmed, trim_ours

from fillwright.science.capability import capability
from fillwright.science.order import order_tests
from fillwright.science.rounding import rounded_sd
from fillwright.science.sequential import SequentialPlan, sequential_plan

MANY = 3.0
AT_LEAST, AT_MOST = "at least", "at most"
Found = tuple[float, float]


@dataclass(frozen=True)
class Promise:
    """A bound on a figure, how the figure is counted, and with how many runs."""

    what: str
    sense: str
    bound: float
    find: Callable[[int], Found]
    runs: int
    few: int

    def broken(self, found: Found) -> bool:
        """Tell whether the figure is beyond the bound by more than three standard errors."""
        value, error = found
        gap = self.bound - value if self.sense == AT_LEAST else value - self.bound
        return gap > MANY * error


def tables() -> Iterator[str]:
    """Yield the promises with what was found."""
    rows = []
    for promise in PROMISES:
        value, error = promise.find(promise.runs)
        kept = "no" if promise.broken((value, error)) else "yes"
        rows.append(
            f"| {promise.what} | {promise.sense} {promise.bound:g} "
            f"| {value:.2f} ± {error:.2f} | {promise.runs} | {kept} |"
        )
        print(rows[-1], flush=True)
    yield table("promises", "what | promise | found | runs | kept", rows)


@lru_cache(maxsize=8)
def purged(kind: str, runs: int) -> tuple[End, ...]:
    """Flush so many invented purges of a kind."""
    rng = np.random.default_rng([71, list(PURGES).index(kind)])
    return tuple(flush(purge_of(kind, rng)) for _ in range(runs))


def left_in(kind: str, runs: int) -> Found:
    """Return how many purges of a hundred ended with more than 0.3 % left."""
    return percent(np.array([end.left >= 0.003 for end in purged(kind, runs)]))


def shots_of(kind: str, runs: int) -> Found:
    """Return the mean number of shots of a purge."""
    return mean_of(np.array([end.shots for end in purged(kind, runs)], dtype=float))


def overstated(kind: str, runs: int) -> Found:
    """Return by how many points of a hundred "primed" is less often right than stated."""
    return mean_of(
        np.array([100.0 * (end.stated - (end.left < 0.003)) for end in purged(kind, runs)])
    )


@lru_cache(maxsize=32)
def trimmed(kind: str, runs: int) -> tuple[Trimmed, ...]:
    """Trim so many invented machines of a kind."""
    return tuple(crowd(kind, trim_ours, runs))


def inside(kind: str, runs: int) -> Found:
    """Return how many trims of a hundred that were called done are truly inside."""
    return percent(np.array([end.inside for end in trimmed(kind, runs) if end.done]))


def over(kind: str, runs: int) -> Found:
    """Return how many shots of a hundred pass the upper limit."""
    return over_of(trimmed(kind, runs))


def over_of(ends: tuple[Trimmed, ...]) -> Found:
    """Return how many shots of a hundred of some trims pass the limit; the error counts trims."""
    found, error = ratio_of(
        np.array([end.over for end in ends], dtype=float),
        np.array([end.shots for end in ends], dtype=float),
    )
    return 100.0 * found, 100.0 * error


@lru_cache(maxsize=8)
def trimmed_told(kind: str, rule: Rule, runs: int) -> tuple[Trimmed, ...]:
    """Trim so many invented machines of a kind by a rule that was told something."""
    return tuple(crowd(kind, rule, runs))


def inside_told(kind: str, rule: Rule, runs: int) -> Found:
    """Return how many of a hundred of those trims that were called done are truly inside."""
    return percent(np.array([end.inside for end in trimmed_told(kind, rule, runs) if end.done]))


def over_told(kind: str, rule: Rule, runs: int) -> Found:
    """Return how many shots of a hundred of those trims pass the upper limit."""
    return over_of(trimmed_told(kind, rule, runs))


def inside_known(kind: str, runs: int) -> Found:
    """Return the same of machines that were trimmed five times before."""
    ends = crowd(kind, trim_taught, runs)
    return percent(np.array([end.inside for end in ends if end.done]))


@lru_cache(maxsize=4)
def plan(runs: int) -> SequentialPlan:
    """Return the plan of looks with false claims counted on so many runs."""
    return sequential_plan(rng=np.random.default_rng(72), runs=runs)


def claimed(runs: int) -> Found:
    """Return the false claims of a hundred runs at the worst offset that was counted."""
    made = plan(runs)
    return 100.0 * max(made.false_claims), 100.0 * made.standard_error


@lru_cache(maxsize=16)
def recognised(machine: str, runs: int) -> Tally:
    """Draw so many runs of 60 doses from a kind of machine."""
    return drawn(MACHINES[machine], runs=runs, doses=60)


def gap(machine: str, runs: int) -> Found:
    """Return by how many points of a hundred the best kind is less often right than stated."""
    tally = recognised(machine, runs)
    posterior = np.array(tally.posterior)
    right = np.argmax(posterior, axis=1) == np.array(tally.truth)
    return mean_of(100.0 * (np.max(posterior, axis=1) - right))


def sure(machine: str, runs: int) -> Found:
    """Return how many of a hundred names stated above 0.9 are right."""
    tally = recognised(machine, runs)
    return percent(np.array(tally.named)[np.array(tally.stated) > 0.9])


def reached(kind: str, runs: int) -> Found:
    """Return how often of a hundred the first changed container is held."""
    return percent(np.array([one.from_change <= one.changed for one in alarms(kind, runs)]))


def steady_called(runs: int) -> Found:
    """Return how many of a hundred steady runs of 30 the order tests call unsteady."""
    rows = np.random.default_rng(73).standard_normal((runs, 30))
    return percent(np.array([not order_tests(row).steady for row in rows]))


def ppk_above(runs: int) -> Found:
    """Return how often of a hundred the bound of Ppk lies below the true one."""
    row = 0.2 + 0.25 * np.random.default_rng(74).standard_normal((runs, 30))
    below = [
        capability(30, mean=m, sd_overall=s, lower=-1.0, upper=1.0).ppk_lower < 0.8 / 0.75
        for m, s in zip(row.mean(axis=1), row.std(axis=1, ddof=1), strict=True)
    ]
    return percent(np.array(below))


def sd_above(runs: int) -> Found:
    """Return how often of a hundred the bound of a coarsely rounded sd holds the true one."""
    rng = np.random.default_rng(75)
    rows = np.round(rng.uniform(size=(runs, 1)) + 0.5 * rng.standard_normal((runs, 20)))
    return percent(np.array([rounded_sd(row, readability=1.0).sd_upper >= 0.5 for row in rows]))


def percent(hits: np.ndarray) -> Found:
    """Return a share in percent with its standard error."""
    found, error = share_of(hits)
    return 100.0 * found, 100.0 * error


def mean_of(values: np.ndarray) -> Found:
    """Return a mean with its standard error."""
    return float(np.mean(values)), float(np.std(values)) / float(np.sqrt(values.size))


def _priming() -> Iterator[Promise]:
    """Yield what priming promises, for purges that fall as an exponential."""
    plain = "priming, exponential with bubbles"
    yield Promise(
        f"{plain}: more than 0.3 % left, % of purges",
        AT_MOST,
        10,
        lambda n: left_in("plain", n),
        1000,
        60,
    )
    yield Promise(f"{plain}: shots", AT_MOST, 14, lambda n: shots_of("plain", n), 1000, 60)
    for kind in ("plain", "quiet", "heavy", "linked", "guess_low", "no_guess", "coarse"):
        yield Promise(
            f"priming, {PURGES[kind]}: stated less true, points",
            AT_MOST,
            5,
            lambda n, k=kind: overstated(k, n),
            1000 if kind == "plain" else 300,
            60 if kind == "plain" else 20,
        )


def _trims() -> Iterator[Promise]:
    """Yield what the trim promises, on each kind of machine where it is kept."""
    for kind, told in TRIMS.items():
        if kind not in ("air", "rough", "rougher"):
            yield Promise(
                f"trim, {told}: truly inside when done, %",
                AT_LEAST,
                90,
                lambda n, k=kind: inside(k, n),
                500,
                40,
            )
        if kind not in ("dense_low", "rough", "rougher"):
            yield Promise(
                f"trim, {told}: shots over, %",
                AT_MOST,
                5,
                lambda n, k=kind: over(k, n),
                500,
                40,
            )
    yield Promise(
        f"trim, {TRIMS['air']}, told that the flush was not weighed: truly inside when done, %",
        AT_LEAST,
        90,
        lambda n: inside_told("air", trim_unseen, n),
        500,
        40,
    )
    for kind, rule, words in (
        ("air", trim_unseen, "the flush"),
        ("dense_low", trim_typed, "the density"),
    ):
        yield Promise(
            f"trim, {TRIMS[kind]}, told that {words} was not weighed: shots over, %",
            AT_MOST,
            5,
            lambda n, k=kind, r=rule: over_told(k, r, n),
            500,
            40,
        )
    yield Promise(
        "trim, known from five trims: truly inside when done, %",
        AT_LEAST,
        90,
        lambda n: inside_known("plain", n),
        250,
        12,
    )


def _proofs() -> Iterator[Promise]:
    """Yield what intervals and proofs promise."""
    for n, content, confidence, sides in (
        (4, 0.99, 0.95, 2),
        (30, 0.99, 0.95, 2),
        (43, 0.90, 0.99, 2),
        (30, 0.99, 0.95, 1),
    ):
        told = "two sides" if sides == 2 else "one side"
        what = f"tolerance interval, n = {n}, {100 * content:g} % of all, {told}: holds, %"

        def find(
            runs: int, held: tuple[int, float, float, int] = (n, content, confidence, sides)
        ) -> Found:
            return percent(covered(*held[:3], sides=held[3], runs=runs))

        yield Promise(what, AT_LEAST, 100 * confidence, find, 40_000, 10_000)
        yield Promise(
            f"{what}, no more than stated", AT_MOST, 100 * confidence, find, 40_000, 10_000
        )
    yield Promise(
        "smallest to largest of 93, 95 % of all, Cauchy doses: holds, %",
        AT_LEAST,
        95,
        lambda n: percent(covered_freely(0.95, 0.95, runs=n, heavy=True)),
        10_000,
        3000,
    )
    for offset in (0.0, 0.4):
        yield Promise(
            f"proof on 30, 99 % inside, offset {offset:g}: false claims, %",
            AT_MOST,
            5,
            lambda n, o=offset: percent(falsely_proved(30, o, runs=n)[0]),
            40_000,
            10_000,
        )
    yield Promise(
        "planned looks, worst offset: false claims, %", AT_MOST, 5, claimed, 100_000, 10_000
    )
    yield Promise(
        "order tests, steady runs called unsteady, %", AT_MOST, 2, steady_called, 10_000, 1000
    )
    yield Promise("bound of Ppk below the true one, %", AT_LEAST, 94, ppk_above, 10_000, 1000)
    yield Promise(
        "bound of a rounded sd (profile likelihood) above the true one, %",
        AT_LEAST,
        95,
        sd_above,
        400,
        40,
    )


def _signature() -> Iterator[Promise]:
    """Yield what the signature promises on runs of 60 doses."""
    for machine in MACHINES:
        if machine in ("effects of 2 sd", "scale step of 2.7 sd"):
            continue
        yield Promise(
            f"signature, {machine}: stated less right, points",
            AT_MOST,
            5,
            lambda n, m=machine: gap(m, n),
            1000,
            80,
        )
        yield Promise(
            f"signature, {machine}: right when stated above 0.9, %",
            AT_LEAST,
            90,
            lambda n, m=machine: sure(m, n),
            1000,
            80,
        )


def _suspects() -> Iterator[Promise]:
    """Yield how often the first changed container is held."""
    for kind, bound in (
        ("step 1", 95),
        ("step 2", 95),
        ("step 3", 95),
        ("creep 0.1", 85),
        ("creep 0.05", 80),
        ("creep 0.02", 80),
    ):
        yield Promise(
            f"suspect range, {kind} sd: first changed container held, %",
            AT_LEAST,
            bound,
            lambda n, k=kind: reached(k, n),
            1000,
            60,
        )


PROMISES = [*_priming(), *_trims(), *_proofs(), *_signature(), *_suspects()]
