"""The day: machine by machine in what order to fill the open jobs, the cleaning between."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.day.cleaning import (
    CLEANS,
    TRAITS,
    clean_for,
    first_gap,
    last_filled,
    rules,
    traits,
)
from fillwright.jobs.desk import Desk, Press, keep_on_site
from fillwright.records.entities import JobFacts
from fillwright.records.entries import ProductTraits
from fillwright.records.units import min_from_s, s_from_min
from fillwright.science import changeover

__all__ = [
    "ATTRIBUTES",
    "DayLook",
    "DayRow",
    "DayWishes",
    "MachineDay",
    "OrderRow",
    "OtherRow",
    "keep_traits",
    "look",
]

ATTRIBUTES: Final = (*TRAITS, "parts")
"""What the cleaning between two jobs depends on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DayRow:
    """An open job as it goes into the order."""

    number: str
    facts: JobFacts
    fill_min: float
    due_min: float | None
    words: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRow:
    """A job in the order, with the cleaning before it and when it is done."""

    row: DayRow
    gap_min: float
    clean: str
    done_min: float
    late_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherRow:
    """Another order and what it would cost; no extra minutes where a rule forbids it."""

    name: str
    numbers: tuple[str, ...]
    extra_min: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayWishes:
    """What was typed: minutes, due times and words by job, lateness, allergens kept apart."""

    typed: Mapping[str, Mapping[str, str]]
    lateness_factor: float = 5.0
    forbidden: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineDay:
    """The order of the open jobs of one machine, and what others would cost."""

    machine: str
    order: tuple[OrderRow, ...]
    others: tuple[OtherRow, ...]
    changeover_min: float
    lateness_min: float
    is_exact: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DayLook:
    """Everything the page of the day shows; each machine has an order of its own."""

    rows: tuple[DayRow, ...]
    machines: tuple[MachineDay, ...]


def look(desk: Desk, wishes: DayWishes) -> DayLook:
    """Return for each machine the order of its open jobs that costs least.

    What a machine still bears from the job before, and a clean on record since, decide what
    its first job costs.

    Raises
    ------
    BadInput
        If a time typed is none, or every order breaks an allergen rule.
    """
    with desk.book.lock:
        rows = tuple(_rows(desk, wishes.typed))
        times = rules(frozenset(wishes.forbidden))
        # Every job is gone through for this, so once a machine and not once a row.
        lasts = {name: last_filled(desk, name) for name in {r.facts.machine.name for r in rows}}
        firsts = {
            row.number: first_gap(desk, lasts[row.facts.machine.name], row.words, times)
            for row in rows
        }
    ordered = sorted(rows, key=lambda row: row.facts.machine.name)
    return DayLook(
        rows=rows,
        machines=tuple(
            _machine_day(name, tuple(group), firsts, times, wishes.lateness_factor)
            for name, group in groupby(ordered, key=lambda row: row.facts.machine.name)
        ),
    )


def keep_traits(desk: Desk, wishes: DayWishes, press: Press) -> None:
    """Keep of each open job's product what the cleaning depends on, as it was typed."""
    with desk.book.lock:
        kept = desk.book.site().product_traits
        facts = {}
        for row in _rows(desk, wishes.typed):
            name = row.facts.product.name
            fact = ProductTraits(product=name, **{trait: row.words[trait] for trait in TRAITS})
            if kept.get(name) != fact:
                facts[name] = fact
        if facts:
            keep_on_site(desk, list(facts.values()), press)


def _machine_day(
    machine: str,
    rows: tuple[DayRow, ...],
    firsts: Mapping[str, tuple[float, str]],
    times: changeover.Rules,
    weight: float,
) -> MachineDay:
    """Return the order of one machine."""
    jobs = [
        changeover.DayJob(
            name=row.number,
            duration=s_from_min(row.fill_min),
            due=math.inf if row.due_min is None else s_from_min(row.due_min),
            attributes=row.words,
            first_gap=s_from_min(firsts[row.number][0]),
        )
        for row in rows
    ]
    best = changeover.order_day(jobs, times, lateness_weight=weight)
    return MachineDay(
        machine=machine,
        order=tuple(_timed(rows, jobs, best.order, times, firsts)),
        others=tuple(_others(jobs, best, times, weight)),
        changeover_min=_min(best.changeover),
        lateness_min=_min(best.lateness),
        is_exact=best.is_exact,
    )


def _rows(desk: Desk, typed: Mapping[str, Mapping[str, str]]) -> list[DayRow]:
    """Return the jobs that are still to fill, with what was typed for them."""
    found = []
    for number in desk.book.numbers():
        state = desk.book.job(number)
        if state is None or state.facts is None or state.released is not None:
            continue
        if state.run is not None and state.run.finished is not None:
            continue
        facts, given = state.known, typed.get(number, {})
        if given.get("skip"):
            continue
        usual = traits(desk, facts)
        found.append(
            DayRow(
                number=number,
                facts=facts,
                fill_min=_time(given.get("minutes", ""), "minutes", number) or _usual_min(facts),
                due_min=_time(given.get("due_min", ""), "due_min", number),
                words={name: given.get(name) or usual[name] for name in ATTRIBUTES},
            )
        )
    return found


def _usual_min(facts: JobFacts) -> float:
    """Return minutes for a job that nobody timed: four containers a minute, setting up beside."""
    return float(10 * round(3 + facts.lot_size / 40))


def _time(text: str, field: str, number: str) -> float | None:
    """Return minutes that were typed, or None for nothing."""
    if not text.strip():
        return None
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not 0 <= value <= 100_000:  # noqa: PLR2004  some ten weeks
        message = f"Job {number}: {text.strip()!r} is no time. Type minutes, 0 or more."
        raise BadInput(message, field=field, given=text, allowed="minutes", code="type")
    return value


def _timed(
    rows: Sequence[DayRow],
    jobs: Sequence[changeover.DayJob],
    order: Sequence[int],
    times: changeover.Rules,
    firsts: Mapping[str, tuple[float, str]],
) -> list[OrderRow]:
    """Return the order with the cleaning before each job and when it is done."""
    clock, found = 0.0, []
    for before, now in pairwise((None, *order)):
        if now is None:
            continue
        if before is None:
            gap_min, why = firsts[jobs[now].name]
            is_bare = gap_min <= _min(times.base)
            clean = "set up" if is_bare else CLEANS[clean_for(gap_min)]
            clean += f" ({why})" if why else ""
        else:
            gap = changeover.between(jobs[before].attributes, jobs[now].attributes, times)
            gap_min = _min(gap)
            clean = CLEANS[clean_for(gap_min)]
        clock += s_from_min(gap_min) + jobs[now].duration
        found.append(
            OrderRow(
                row=rows[now],
                gap_min=gap_min,
                clean=clean,
                done_min=_min(clock),
                late_min=_min(max(0.0, clock - jobs[now].due)),
            )
        )
    return found


def _others(
    jobs: Sequence[changeover.DayJob],
    best: changeover.DayOrder,
    times: changeover.Rules,
    weight: float,
) -> list[OtherRow]:
    """Return other orders and what they would cost more."""
    wanted = (
        ("by number", tuple(range(len(jobs)))),
        ("earliest due first", tuple(sorted(range(len(jobs)), key=lambda at: jobs[at].due))),
        ("turned round", best.order[::-1]),
    )
    found = []
    for name, order in wanted:
        cost = changeover.cost_of(jobs, order, times, lateness_weight=weight).cost
        found.append(
            OtherRow(
                name=name,
                numbers=tuple(jobs[at].name for at in order),
                extra_min=None if math.isinf(cost) else _min(cost - best.cost),
            )
        )
    return found


def _min(time: float) -> float:
    """Return minutes, without the last digit's noise of the conversion."""
    return float(f"{min_from_s(time):.10g}")
