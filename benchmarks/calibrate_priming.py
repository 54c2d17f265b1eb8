"""How far the stated probability of priming can be trusted, on invented purges."""

from __future__ import annotations

import itertools
import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from calibrate_purges import KINDS, Purge, purge_of
from calibrate_tables import mean, share, table

from fillwright.science.priming import (
    PrimingPrior,
    PrimingState,
    prime_start,
    prime_state,
    prime_take,
)

PURGES = 240
FIRST_ROW = 1000
LONGEST = 45
ASKED_FROM = 4
BINS = (0.0, 0.1, 0.3, 0.5, 0.7, 0.85, 0.95, 1.0)


@dataclass(frozen=True)
class End:
    """How one purge ended: shots, shortfall left, what was stated, and every statement."""

    shots: int
    left: float
    stated: float
    said: tuple[tuple[float, bool], ...]
    learnt: PrimingPrior


def flush(purge: Purge, *, prior: PrimingPrior | None = None, probability: float = 0.83) -> End:
    """Flush until the answer is primed, asking after every shot from the fourth on."""
    now = prime_start(
        purge.dose_guess, sd_guess=purge.sd_guess, prior=prior, probability=probability
    )
    said, state, shots = [], None, 0
    while shots < LONGEST:
        now = prime_take(now, float(purge.readings[shots]))
        shots += 1
        if shots < ASKED_FROM:
            continue
        state = prime_state(now)
        said.append((state.p_primed, bool(purge.short[shots] < state.limit)))
        if state.primed:
            break
    assert isinstance(state, PrimingState)
    return End(shots, float(purge.short[shots]), state.p_primed, tuple(said), state.learnt)


def outcome(ends: list[End]) -> str:
    """Print the columns of one row."""
    left = np.array([end.left for end in ends])
    return " | ".join(
        [
            mean(np.array([end.shots for end in ends]), digits=1),
            mean(left, digits=3, times=100.0),
            share(left >= 0.003),
            share(left >= 0.006),
            f"{np.mean([end.stated for end in ends]):.3f}",
            f"{np.mean(left < 0.003):.3f}",
        ]
    )


def reliability(ends: list[End]) -> str:
    """Print stated and true shares, bin by bin; the error is over purges, not statements."""
    cells = []
    for low, high in itertools.pairwise(BINS):
        rows = []
        for end in ends:
            inside = [(p, t) for p, t in end.said if low <= p < high or p == high == 1.0]
            if inside:
                stated, true = (sum(column) for column in zip(*inside, strict=True))
                rows.append((len(inside), stated, true))
        if len(rows) < 20:
            cells.append("–")
            continue
        count, stated, true = np.array(rows, dtype=float).T
        total = count.sum()
        error = math.sqrt(float(np.sum((true - count * true.sum() / total) ** 2))) / total
        cells.append(f"{stated.sum() / total:.2f} / {true.sum() / total:.2f} ± {error:.2f}")
    return " | ".join(cells)


def tables() -> Iterator[str]:
    """Yield the tables of priming."""
    crowd = {}
    for seed, (kind, told) in enumerate(KINDS.items()):
        rng = np.random.default_rng([1, seed])
        count = FIRST_ROW if kind == "plain" else PURGES
        crowd[kind] = [flush(purge_of(kind, rng)) for _ in range(count)]
        print(f"{told}: {outcome(crowd[kind])}", file=sys.stderr, flush=True)
    head = "shots | left, % | above 0.3 %, % of purges | above 0.6 % | stated | true"
    rows = [f"| {told} | {outcome(crowd[kind])} |" for kind, told in KINDS.items()]
    yield table("priming", f"purges | {head}", rows)
    names = " | ".join(f"{a:.2g} to {b:.2g}" for a, b in itertools.pairwise(BINS))
    rows = [f"| {told} | {reliability(crowd[kind])} |" for kind, told in KINDS.items()]
    yield table("reliability", f"purges | {names}", rows)
    yield table("rules", f"rule, purges of the first row | {head}", list(rules()))
    yield table("priors", f"what is thought beforehand | purges | {head}", list(priors()))
    yield table("second", f"purges | {head}", list(second_starts()))


def priors() -> Iterator[str]:
    """Yield what other beliefs before the first shot, and a higher probability, come to."""
    for seed, kind in enumerate(("plain", "power", "double", "late")):
        for told, prior, level in (
            ("as shipped", PrimingPrior(), 0.83),
            ("slow ends in 35 of 100", PrimingPrior(slow_share=0.35), 0.83),
            (
                "slow ends in 35, late pockets in 15",
                PrimingPrior(slow_share=0.35, late_share=0.15),
                0.83,
            ),
            (
                "slow ends in 60 of 100, probability 0.93",
                PrimingPrior(slow_share=0.6),
                0.93,
            ),
        ):
            rng = np.random.default_rng([9, seed])
            ends = [
                flush(purge_of(kind, rng), prior=prior, probability=level)
                for _ in range(PURGES // 2)
            ]
            yield f"| {told} | {KINDS[kind]} | {outcome(ends)} |"


def rules() -> Iterator[str]:
    """Yield what other rules do on the purges of the first row."""

    def crowd() -> list[Purge]:
        rng = np.random.default_rng([1, 0])
        return [purge_of("plain", rng) for _ in range(PURGES)]

    def stopped(purge: Purge, stop: Callable[[np.ndarray], bool], at_least: int) -> End:
        for n in range(at_least, LONGEST):
            if stop(purge.readings[:n]):
                return End(n, float(purge.short[n]), math.nan, (), PrimingPrior())
        return End(LONGEST, float(purge.short[LONGEST]), math.nan, (), PrimingPrior())

    plain: dict[str, tuple[Callable[[np.ndarray], bool], int]] = {
        "two weights within 1 %": (lambda y: abs(y[-1] - y[-2]) < 0.01 * y[-1], 2),
        "last three within 0.5 %": (lambda y: np.ptp(y[-3:]) < 0.005 * y[-1], 3),
        "always 10 shots": (lambda _: True, 10),
        "always 14 shots": (lambda _: True, 14),
        "always 20 shots": (lambda _: True, 20),
    }
    for told, (stop, at_least) in plain.items():
        ends = [stopped(purge, stop, at_least) for purge in crowd()]
        yield f"| {told} | {outcome(ends).replace('nan', '–')} |"
    for level in (0.7, 0.8, 0.83, 0.9, 0.95, 0.98):
        ends = [flush(purge, probability=level) for purge in crowd()]
        yield f"| probability {level} | {outcome(ends)} |"


def second_starts() -> Iterator[str]:
    """Yield what the second and third start do with what the ones before taught."""
    for kind in ("plain", "power", "double", "late"):
        rng = np.random.default_rng([2, list(KINDS).index(kind)])
        rounds: list[list[End]] = [[], [], []]
        for _ in range(PURGES // 2):
            first = purge_of(kind, rng)
            taught = None
            for number in range(3):
                again = first if number == 0 else first.again(rng)
                end = flush(again, prior=taught)
                rounds[number].append(end)
                taught = replace(end.learnt)
        for number, ends in enumerate(rounds, 1):
            yield f"| {KINDS[kind]}, start {number} | {outcome(ends)} |"
