"""The day: in what order to fill the open jobs, the cleaning between, what others would cost."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.knowledge.changeover_rules import shipped_rules
from fillwright.records.entities import JobFacts, RunsLike
from fillwright.records.units import min_from_s, s_from_min
from fillwright.science import changeover

__all__ = ["ATTRIBUTES", "DayLook", "DayRow", "DayWishes", "OrderRow", "OtherRow", "look"]

ATTRIBUTES = ("allergen", "colour", "scent", "base", "parts")
"""What the cleaning between two jobs depends on."""
_CLEANS = ((10.0, "flush through"), (30.0, "wet-end clean"), (math.inf, "full strip"))


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
class DayLook:
    """Everything the page of the day shows."""

    rows: tuple[DayRow, ...]
    order: tuple[OrderRow, ...]
    others: tuple[OtherRow, ...]
    changeover_min: float
    lateness_min: float
    is_exact: bool


def look(desk: Desk, wishes: DayWishes) -> DayLook:
    """Return the order of the open jobs that costs least.

    Raises
    ------
    BadInput
        If a time typed is none, or every order breaks an allergen rule.
    """
    with desk.book.lock:
        rows = tuple(_rows(desk, wishes.typed))
    if not rows:
        return DayLook(
            rows=(), order=(), others=(), changeover_min=0.0, lateness_min=0.0, is_exact=True
        )
    times = shipped_rules()
    rules = changeover.Rules(
        base=s_from_min(times.base_min),
        tables={
            name: {pair: s_from_min(value) for pair, value in table.items()}
            for name, table in times.tables.items()
        },
        default={name: s_from_min(value) for name, value in times.default.items()},
        forbidden=frozenset(wishes.forbidden),
    )
    jobs = [
        changeover.DayJob(
            name=row.number,
            duration=s_from_min(row.fill_min),
            due=math.inf if row.due_min is None else s_from_min(row.due_min),
            attributes=row.words,
        )
        for row in rows
    ]
    best = changeover.order_day(jobs, rules, lateness_weight=wishes.lateness_factor)
    return DayLook(
        rows=rows,
        order=tuple(_timed(rows, jobs, best.order, rules)),
        others=tuple(_others(jobs, best, rules, wishes.lateness_factor)),
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
        found.append(
            DayRow(
                number=number,
                facts=facts,
                fill_min=_time(given.get("minutes", ""), "minutes", number) or _usual_min(facts),
                due_min=_time(given.get("due_min", ""), "due_min", number),
                words={name: given.get(name) or _usual(facts, name) for name in ATTRIBUTES},
            )
        )
    return found


def _usual_min(facts: JobFacts) -> float:
    """Return minutes for a job that nobody timed: four containers a minute, setting up beside."""
    return float(10 * round(3 + facts.lot_size / 40))


def _usual(facts: JobFacts, name: str) -> str:
    """Return the word of an attribute that the facts of a job suggest."""
    if name == "base":
        return "oil" if facts.product.runs_like is RunsLike.OIL else "water"
    if name == "parts":
        return f"{facts.machine.name}, {facts.cylinder.capacity_ml:f} mL"
    return "light" if name == "colour" else "none"


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
    rules: changeover.Rules,
) -> list[OrderRow]:
    """Return the order with the cleaning before each job and when it is done."""
    clock, found = 0.0, []
    for before, now in pairwise((None, *order)):
        gap = rules.base
        if before is not None and now is not None:
            gap = changeover.between(jobs[before].attributes, jobs[now].attributes, rules)
        if now is None:
            continue
        clock += gap + jobs[now].duration
        gap_min = _min(gap)
        clean = next(words for up_to, words in _CLEANS if gap_min <= up_to)
        found.append(
            OrderRow(
                row=rows[now],
                gap_min=gap_min,
                clean="set up" if before is None else clean,
                done_min=_min(clock),
                late_min=_min(max(0.0, clock - jobs[now].due)),
            )
        )
    return found


def _others(
    jobs: Sequence[changeover.DayJob],
    best: changeover.DayOrder,
    rules: changeover.Rules,
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
        cost = changeover.cost_of(jobs, order, rules, lateness_weight=weight).cost
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
