"""The question of the day's order."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Final

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Figures, Given, Real, Text, Values
from fillwright.records.units import min_from_s, s_from_min

if TYPE_CHECKING:
    from fillwright.science.changeover import DayOrder

__all__ = ["day_order"]

_MOST: Final = 60
Minutes = Annotated[float, Real(at_least=0, at_most=100_000)]
_ARROW: Final = "->"


class DayJobGiven(Given):
    """A job of the day."""

    id: Text = Field(description="What the bench calls it.")
    minutes: Minutes = Field(description="Minutes it takes, without changing over.")
    due_min: Minutes | None = Field(
        default=None, description="Minutes from now by which it must be done."
    )
    allergen: Text | None = Field(default=None, description="Allergen; none when left out.")
    colour: Text = Field(description="light, dark, or a word of your own.")
    scent: Text = Field(description="none, scented, or a word of your own.")
    base: Text = Field(description="water, oil, or a word of your own.")
    parts: Text = Field(description="Set of parts that it is filled with.")


class ChangeoverRulesGiven(Given):
    """Times of changing over, instead of those that come with the program."""

    base_minutes: Minutes | None = Field(default=None, description="Minutes of every changeover.")
    tables: dict[str, dict[str, Minutes]] | None = Field(
        default=None,
        description="For allergen, colour, scent, base, parts: minutes by from->to; any->none, "
        "none->any and any->other stand for the rest.",
    )
    default: dict[str, Minutes] | None = Field(
        default=None, description="Minutes of a change that no table names, by attribute."
    )
    forbidden: Values[Annotated[Values[Text], Field(min_length=2, max_length=2)]] | None = Field(
        default=None, description="Pairs [from, to] of allergens that are never ordered."
    )


_EXAMPLE: Final = [
    {
        "id": "A",
        "minutes": 40,
        "due_min": 240,
        "colour": "light",
        "scent": "none",
        "base": "water",
        "parts": "one",
    },
    {
        "id": "B",
        "minutes": 30,
        "due_min": 90,
        "colour": "dark",
        "scent": "scented",
        "base": "water",
        "parts": "one",
    },
]


class DayOrderGiven(Given):
    """The jobs of a day."""

    jobs: Annotated[Values[DayJobGiven], Field(min_length=1, max_length=_MOST)] = Field(
        description="The jobs.", examples=[_EXAMPLE]
    )
    changeover_rules: ChangeoverRulesGiven | None = Field(
        default=None, description="Your own times of changing over."
    )
    lateness_weight: Annotated[float, Real(at_least=0, at_most=1e6)] = Field(
        description="What a minute late counts against a minute of changing over.", examples=[5]
    )


class OtherOrder(Figures):
    """Another order and what it would cost; null where an allergen rule forbids it."""

    name: str
    order: tuple[str, ...]
    changeover_min: float | None
    lateness_min: float
    cost: float | None


class DayOrderAnswer(Answer):
    """The order, the changeovers between, and what others would cost."""

    order: tuple[str, ...]
    changeover_min: float
    lateness_min: float
    cost: float
    exact: bool
    changeovers_min: tuple[float, ...]
    others: tuple[OtherOrder, ...]


def day_order(given: DayOrderGiven) -> DayOrderAnswer:
    """Answer with the order of the day's jobs that costs least."""
    from fillwright.knowledge.changeover_rules import shipped_rules  # noqa: PLC0415
    from fillwright.science import changeover  # noqa: PLC0415  loaded when asked

    names = [job.id for job in given.jobs]
    if len(set(names)) != len(names):
        twice = next(name for name in names if names.count(name) > 1)
        message = f"jobs: {twice!r} is there twice; give each job its own id."
        raise BadInput(message, field="jobs", given=twice, code="inconsistent")
    own = given.changeover_rules or ChangeoverRulesGiven()
    shipped = shipped_rules()
    tables = own.tables if own.tables is not None else shipped.tables
    default = own.default if own.default is not None else shipped.default
    if own.tables is not None and own.default is None:
        default = {}
    _check(tables, default)
    base_min = shipped.base_min if own.base_minutes is None else own.base_minutes
    rules = changeover.Rules(
        base=s_from_min(base_min),
        tables={
            name: {pair: s_from_min(time) for pair, time in table.items()}
            for name, table in tables.items()
        },
        default={name: s_from_min(time) for name, time in default.items()},
        forbidden=frozenset((pair[0], pair[1]) for pair in own.forbidden or ()),
    )
    jobs = [
        changeover.DayJob(
            name=job.id,
            duration=s_from_min(job.minutes),
            due=math.inf if job.due_min is None else s_from_min(job.due_min),
            attributes={
                "allergen": job.allergen or "none",
                "colour": job.colour,
                "scent": job.scent,
                "base": job.base,
                "parts": job.parts,
            },
        )
        for job in given.jobs
    ]
    best = changeover.order_day(jobs, rules, lateness_weight=given.lateness_weight)
    others = (
        ("as given", tuple(range(len(jobs)))),
        ("earliest due first", tuple(sorted(range(len(jobs)), key=lambda at: jobs[at].due))),
        ("turned round", best.order[::-1]),
    )
    costed = [
        (
            name,
            changeover.cost_of(jobs, order, rules, lateness_weight=given.lateness_weight),
        )
        for name, order in others
    ]
    late = "nothing is late"
    if best.lateness > 0.0:
        late = f"{_minutes(best.lateness):g} min late in all"
    how = "no order is better" if best.is_exact else "found by insertion and exchanges"
    return DayOrderAnswer(
        order=tuple(names[at] for at in best.order),
        changeover_min=_minutes(best.changeover),
        lateness_min=_minutes(best.lateness),
        cost=_minutes(best.cost),
        exact=best.is_exact,
        changeovers_min=(
            base_min,
            *(
                _minutes(changeover.between(jobs[a].attributes, jobs[b].attributes, rules))
                for a, b in pairwise(best.order)
            ),
        ),
        others=tuple(_other(name, found, names) for name, found in costed),
        because=(f"{_minutes(best.changeover):g} min of changing over, {late}; {how}."),
        assumptions=(
            (
                "A changeover takes the base and the largest change of one attribute; the first "
                "job is set up in the base."
            ),
            (
                "An allergen rule is hard: a forbidden pair is never ordered. Cleaning and swab "
                "are in the minutes of an allowed one."
            ),
        ),
        sources=("Dynamic programme of Held and Karp 1962, from memory; times are judgement",),
    )


def _check(tables: object, default: object) -> None:
    """Refuse attributes that no job has, and pairs without an arrow."""
    allowed = ("allergen", "colour", "scent", "base", "parts")
    for part in (tables, default):
        if not isinstance(part, dict):
            continue
        for name, table in part.items():
            if name not in allowed:
                message = f"changeover_rules: {name!r} is no attribute; use {', '.join(allowed)}."
                raise BadInput(
                    message,
                    field="changeover_rules",
                    given=name,
                    allowed=", ".join(allowed),
                    code="choice",
                )
            for pair in table if isinstance(table, dict) else ():
                if _ARROW not in pair:
                    message = f"changeover_rules: write {pair!r} as from{_ARROW}to."
                    raise BadInput(message, field="changeover_rules", given=pair, code="type")


def _minutes(time: float) -> float:
    """Return minutes without the last digit's noise of the conversion."""
    return float(f"{min_from_s(time):.12g}")


def _other(name: str, found: DayOrder, names: list[str]) -> OtherOrder:
    """Return another order as the answer shows it."""
    allowed = math.isfinite(found.cost)
    return OtherOrder(
        name=name,
        order=tuple(names[at] for at in found.order),
        changeover_min=_minutes(found.changeover) if allowed else None,
        lateness_min=_minutes(found.lateness) if allowed else 0.0,
        cost=_minutes(found.cost) if allowed else None,
    )
