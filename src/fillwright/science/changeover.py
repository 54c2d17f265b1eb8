"""The order of a day's jobs: least changeover and lateness, forbidden pairs never."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from fillwright.errors import BadInput
from fillwright.science.given import not_negative

__all__ = [
    "EXACT_TO",
    "DayJob",
    "DayOrder",
    "Rules",
    "between",
    "cost_of",
    "order_day",
]

EXACT_TO: Final = 12
"""So many jobs are ordered exactly; above, by insertion and exchanges."""
_NONE: Final = "none"
_Front = list[tuple[float, float, tuple[int, ...]]]
Between = Callable[[int, int], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayJob:
    """A job of the day.

    Attributes
    ----------
    name : str
        What the bench calls it.
    duration : float
        Time that it takes, without changing over. [s]
    due : float
        When it must be done, counted from the start of the day; infinite where it need not. [s]
    attributes : mapping of str to str
        What the cleaning between jobs depends on.
    first_gap : float or None
        Time before it when it is the first of the day, after what the machine still bears;
        infinite where it may not be, none for the base time. [s]
    """

    name: str
    duration: float
    due: float
    attributes: Mapping[str, str]
    first_gap: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """Times of changing over.

    Attributes
    ----------
    base : float
        Time of every changeover, the first setting up included. [s]
    tables : mapping of str to mapping
        For each attribute, time by ``"from->to"``; ``any`` and ``other`` stand for the rest. [s]
    default : mapping of str to float
        Time of a change that no table names. [s]
    forbidden : frozenset of tuple of str
        Pairs (from, to) of the allergen that are never ordered.
    """

    base: float
    tables: Mapping[str, Mapping[str, float]]
    default: Mapping[str, float]
    forbidden: frozenset[tuple[str, str]] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class DayOrder:
    """An order and what it costs.

    Attributes
    ----------
    order : tuple of int
        Places of the jobs as they were given.
    changeover : float
        Time spent changing over. [s]
    lateness : float
        Sum of the times by which jobs are late. [s]
    cost : float
        Changeover plus weight times lateness. [s]
    is_exact : bool
        True where no order is better.
    """

    order: tuple[int, ...]
    changeover: float
    lateness: float
    cost: float
    is_exact: bool


def between(first: Mapping[str, str], then: Mapping[str, str], rules: Rules) -> float:
    """Return the time to change over from one job to the next.

    Parameters
    ----------
    first, then : mapping of str to str
        Attributes of the two jobs.
    rules : Rules
        Times.

    Returns
    -------
    float
        Base plus the largest change of one attribute; infinite for a forbidden pair. [s]
    """
    pair = (first.get("allergen", _NONE), then.get("allergen", _NONE))
    if pair in rules.forbidden:
        return math.inf
    names = set(rules.tables) | set(rules.default)
    changes = (_one(first.get(name, _NONE), then.get(name, _NONE), name, rules) for name in names)
    return rules.base + max(changes, default=0.0)


def cost_of(
    jobs: Sequence[DayJob], order: Sequence[int], rules: Rules, *, lateness_weight: float
) -> DayOrder:
    """Return what one order costs.

    Parameters
    ----------
    jobs : sequence of DayJob
        The jobs.
    order : sequence of int
        Their places in the order that is wanted.
    rules : Rules
        Times.
    lateness_weight : float
        What a time of lateness counts against a time of changing over. [1]

    Returns
    -------
    DayOrder
        Infinite cost where a forbidden pair is in it.
    """
    clock = changeover = lateness = 0.0
    for before, now in pairwise((-1, *order)):
        gap = _gap(jobs, before, now, rules)
        changeover += gap
        clock += gap + jobs[now].duration
        lateness += max(0.0, clock - jobs[now].due)
    if math.isinf(changeover):
        lateness = 0.0  # a forbidden order has no clock
    return DayOrder(
        order=tuple(order),
        changeover=changeover,
        lateness=lateness,
        cost=changeover + lateness_weight * lateness,
        is_exact=False,
    )


def order_day(jobs: Sequence[DayJob], rules: Rules, *, lateness_weight: float) -> DayOrder:
    """Return the order of least cost; exact up to twelve jobs.

    Parameters
    ----------
    jobs : sequence of DayJob
        The jobs of the day.
    rules : Rules
        Times of changing over, and pairs that are never ordered.
    lateness_weight : float
        What a time of lateness counts against a time of changing over. [1]

    Returns
    -------
    DayOrder
        The order.

    Raises
    ------
    BadInput
        If there is no job, the weight is negative, or every order holds a forbidden pair.

    Notes
    -----
    Dynamic programme over the set done and the last job (Held and Karp 1962, from memory);
    since lateness hangs on the clock, all pairs of changeover and cost that no other beats in
    both are carried along. Above twelve: insertion, then exchanges and moves of runs.
    """
    if not jobs:
        raise BadInput("jobs: there is no job to order.", field="jobs", code="missing")
    not_negative(lateness_weight, "lateness_weight")
    size = len(jobs)
    gaps = [[_gap(jobs, a, b, rules) for b in range(size)] for a in range(-1, size)]
    if size <= EXACT_TO:
        order = _exact(jobs, gaps, lateness_weight)
    else:
        order = _nearly(jobs, rules, lateness_weight)
    found = None
    if order is not None:
        found = cost_of(jobs, order, rules, lateness_weight=lateness_weight)
    if found is None or math.isinf(found.cost):
        tried = "Every order" if size <= EXACT_TO else "Every order that was found"
        raise BadInput(
            f"jobs: {tried} follows one allergen by another that the rules forbid. Clean between "
            "on another day, or take a job out.",
            field="jobs",
            given=", ".join(job.name for job in jobs),
            allowed="jobs that may follow one another",
            code="inconsistent",
        )
    return DayOrder(
        order=found.order,
        changeover=found.changeover,
        lateness=found.lateness,
        cost=found.cost,
        is_exact=size <= EXACT_TO,
    )


def _gap(jobs: Sequence[DayJob], before: int, now: int, rules: Rules) -> float:
    """Return the time before a job; for the first one, after what the machine still bears."""
    if before < 0:
        first = jobs[now].first_gap
        return rules.base if first is None else first
    return between(jobs[before].attributes, jobs[now].attributes, rules)


def _one(was: str, becomes: str, name: str, rules: Rules) -> float:
    """Return the time that the change of one attribute takes."""
    table = rules.tables.get(name, {})
    if f"{was}->{becomes}" in table:
        return table[f"{was}->{becomes}"]
    if was == becomes:
        return 0.0
    general = "any->other"
    if was == _NONE:
        general = "none->any"
    elif becomes == _NONE:
        general = "any->none"
    return table.get(general, rules.default.get(name, 0.0))


def _exact(
    jobs: Sequence[DayJob], gaps: Sequence[Sequence[float]], weight: float
) -> tuple[int, ...] | None:
    """Return the best order of all, or None where there is none."""
    size = len(jobs)
    lengths = [0.0] * (1 << size)
    for done in range(1, 1 << size):
        low = (done & -done).bit_length() - 1
        lengths[done] = lengths[done & (done - 1)] + jobs[low].duration
    fronts: dict[tuple[int, int], _Front] = {}
    for job in range(size):
        gap = gaps[0][job]
        late = max(0.0, gap + jobs[job].duration - jobs[job].due)
        fronts[1 << job, job] = [(gap, gap + weight * late, (job,))]
    for done in range(1, 1 << size):
        for last in range(size):
            front = fronts.pop((done, last), None)
            if front is None:
                continue
            if done == (1 << size) - 1:
                fronts[done, last] = front
                continue
            for job in range(size):
                gap = gaps[last + 1][job]
                if done >> job & 1 or math.isinf(gap):
                    continue
                after = done | 1 << job
                ready, due = lengths[after], jobs[job].due
                fresh = [
                    (
                        spent + gap,
                        cost + gap + weight * max(0.0, spent + gap + ready - due),
                        (*order, job),
                    )
                    for spent, cost, order in front
                ]
                key = (after, job)
                fronts[key] = _unbeaten(fronts.get(key, []) + fresh)
    ends = [best for front in fronts.values() for best in front]
    return min(ends, key=lambda end: (end[1], end[2]))[2] if ends else None


def _unbeaten(front: _Front) -> _Front:
    """Return those that no other beats in changeover and cost."""
    if len(front) == 1:
        return front
    kept: _Front = []
    least = math.inf
    for one in sorted(front):
        if one[1] < least:
            kept.append(one)
            least = one[1]
    return kept


def _nearly(jobs: Sequence[DayJob], rules: Rules, weight: float) -> tuple[int, ...]:
    """Return a good order of many jobs: insertion, then exchanges until none helps."""

    def rank(order: Sequence[int]) -> tuple[int, float]:
        forbidden = sum(
            math.isinf(_gap(jobs, before, now, rules)) for before, now in pairwise((-1, *order))
        )
        return forbidden, cost_of(jobs, order, rules, lateness_weight=weight).cost

    order: list[int] = []
    for job in sorted(range(len(jobs)), key=lambda place: jobs[place].due):
        order = min(([*order[:at], job, *order[at:]] for at in range(len(order) + 1)), key=rank)
    best, improved = rank(order), True
    while improved:
        improved = False
        for trial in _neighbours(order):
            value = rank(trial)
            if value < best:
                order, best, improved = trial, value, True
                break
    return tuple(order)


def _neighbours(order: list[int]) -> list[list[int]]:
    """Return orders with one stretch turned round, or one run of up to three moved."""
    size = len(order)
    found = [
        order[:a] + order[a:b][::-1] + order[b:]
        for a in range(size - 1)
        for b in range(a + 2, size + 1)
    ]
    for length in (1, 2, 3):
        for a in range(size - length + 1):
            run, rest = order[a : a + length], order[:a] + order[a + length :]
            found += [rest[:at] + run + rest[at:] for at in range(len(rest) + 1) if at != a]
    return found
