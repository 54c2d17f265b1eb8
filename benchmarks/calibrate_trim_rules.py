"""The trim and plainer rules on the same invented machines, inside and outside the model."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import lru_cache, partial

import numpy as np
from calibrate_tables import mean, ratio_of, share, table
from calibrate_trims import (
    ABOVE,
    KINDS,
    MOST,
    Machine,
    Trimmed,
    machine_of,
    trim_by_proportion,
    trim_ours,
)

from fillwright.science.trim import history_of
from fillwright.science.trim_step import TrimPrior

MACHINES = 500
HEAD = (
    "shots | doses used | shots over, % | trims with one over, % | undone, % "
    "| truly inside when done, % | stated, %"
)
Rule = Callable[[Machine, np.random.Generator], Trimmed]
RULES: dict[str, Rule] = {
    "ours": trim_ours,
    "proportion from 95 %, first one in": lambda m, r: trim_by_proportion(m, r, start=0.95, row=1),
    "proportion from 95 %, two in a row": lambda m, r: trim_by_proportion(m, r, start=0.95, row=2),
    "proportion from 95 %, three in a row": lambda m, r: trim_by_proportion(
        m, r, start=0.95, row=3
    ),
}
MORE_RULES: dict[str, Rule] = {
    "ours, inside with 0.95": lambda m, r: trim_ours(m, r, probability=0.95),
    "ours, over with 0.01": lambda m, r: trim_ours(m, r, alpha=0.01),
    "proportion from nominal, first one in": lambda m, r: trim_by_proportion(
        m, r, start=1.0, row=1
    ),
    "proportion from nominal, two in a row": lambda m, r: trim_by_proportion(
        m, r, start=1.0, row=2
    ),
    "proportion from nominal, three in a row": lambda m, r: trim_by_proportion(
        m, r, start=1.0, row=3
    ),
}
UNSEEN_AIR = TrimPrior(air_chance=0.6)
TYPED_DENSITY = TrimPrior(slope_sd=0.065)
"""What the jobs tell the trim where the flush, or the density of this batch, was not weighed."""


def trim_unseen(machine: Machine, rng: np.random.Generator) -> Trimmed:
    """Trim a machine whose flush was not weighed, and say so."""
    return trim_ours(machine, rng, prior=UNSEEN_AIR)


def trim_typed(machine: Machine, rng: np.random.Generator) -> Trimmed:
    """Trim with a density that was not weighed of this batch, and say so."""
    return trim_ours(machine, rng, prior=TYPED_DENSITY)


_UNSEEN: dict[str, Rule] = {"ours, told that the flush was not weighed": trim_unseen}
_TYPED: dict[str, Rule] = {"ours, told that the density was not weighed": trim_typed}
TOLD: dict[str, dict[str, Rule]] = {
    "plain": {**_UNSEEN, **_TYPED},
    "air": _UNSEEN,
    "dense_low": _TYPED,
}
TAUGHT = ("plain", "dense_low", "air", "rough", "rougher", "heavy")
PAST = 5
ANEW = ("plain", "drift", "wild", "above")
ANEW_MACHINES = 200


def tables() -> Iterator[str]:
    """Yield what each rule comes to on each kind of machine."""
    rows = []
    for kind, told in KINDS.items():
        rules = RULES | TOLD.get(kind, {}) | (MORE_RULES if kind == "plain" else {})
        rows += [
            f"| {told} | {name} | {outcome(crowd(kind, rule, MACHINES))} |"
            for name, rule in rules.items()
        ]
        print(rows[-len(rules)], file=sys.stderr, flush=True)
    yield table("trim", f"machines | rule | {HEAD}", rows)
    rows = [
        f"| {KINDS[kind]} | {outcome(crowd(kind, trim_taught, MACHINES // 2))} |"
        for kind in TAUGHT
    ]
    yield table("history", f"machines with {PAST} trims before | {HEAD}", rows)
    yield table("small", f"dose over cylinder | {HEAD}", list(by_size()))


def anew_tables() -> Iterator[str]:
    """Yield what it comes to when a trim that does not settle begins anew, and when it ends."""
    rows = []
    for kind in ANEW:
        for words, begins in (("ends undone", False), ("begins anew, once", True)):
            ends = crowd(kind, partial(trim_ours, begins_anew=begins), ANEW_MACHINES)
            rows.append(f"| {KINDS.get(kind, ABOVE)} | {words} | {outcome(ends)} |")
            print(rows[-1], file=sys.stderr, flush=True)
    yield table("anew", f"machines | after {MOST} shots it | {HEAD}", rows)


def crowd(kind: str, rule: Rule, count: int) -> list[Trimmed]:
    """Trim so many machines, the same ones by every rule."""
    return [
        rule(machine, np.random.default_rng([62, number]))
        for number, machine in enumerate(machines(kind, count))
    ]


@lru_cache(maxsize=32)
def machines(kind: str, count: int) -> tuple[Machine, ...]:
    """Draw so many machines of a kind."""
    rng = np.random.default_rng([61, [*KINDS, "above"].index(kind)])
    return tuple(machine_of(kind, rng) for _ in range(count))


def trim_taught(machine: Machine, rng: np.random.Generator) -> Trimmed:
    """Trim a machine that was trimmed five times before, each set-up a little different."""

    def set_up() -> Machine:
        return replace(
            machine,
            gain=machine.gain * (1.0 + 0.003 * rng.standard_normal()),
            told_density=machine.told_density * (1.0 + 0.003 * rng.standard_normal()),
        )

    past = [trim_ours(set_up(), rng).past for _ in range(PAST)]
    return trim_ours(set_up(), rng, history=history_of(past))


def by_size() -> Iterator[str]:
    """Yield what the dose's share of the cylinder costs."""
    rng = np.random.default_rng([63])
    for low, high in ((0.12, 0.2), (0.2, 0.3), (0.3, 0.5), (0.5, 0.9)):
        ends = []
        for number in range(MACHINES):
            machine = machine_of("plain", rng, fill=(low, high))
            ends.append(trim_ours(machine, np.random.default_rng([64, number])))
        yield f"| {low:g} to {high:g} | {outcome(ends)} |"


def outcome(ends: list[Trimmed]) -> str:
    """Print the columns of one row."""
    shots = np.array([end.shots for end in ends], dtype=float)
    over = np.array([end.over for end in ends], dtype=float)
    done = np.array([end.done for end in ends])
    inside = np.array([end.inside for end in ends])[done]
    stated = np.array([end.stated for end in ends])[done]
    found, error = ratio_of(over, shots)
    return " | ".join(
        [
            mean(shots, digits=1),
            mean(np.array([end.used for end in ends]), digits=1),
            f"{100 * found:.1f} ± {100 * error:.1f}",
            share(over > 0),
            share(~done),
            share(inside) if inside.size else "–",
            f"{100 * float(np.mean(stated)):.1f}"
            if inside.size and np.isfinite(stated).all()
            else "–",
        ]
    )
