"""What held containers cost a job: product and containers lost, by what became of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from fillwright.jobs.desk import Desk
from fillwright.jobs.held.fates import kept_spans
from fillwright.jobs.held.settle import latest_of
from fillwright.jobs.held.words import OUTCOMES
from fillwright.jobs.limits import limits_of
from fillwright.jobs.release.lot import sample_of
from fillwright.records.fold import JobState
from fillwright.records.heldbook import Outcome
from fillwright.records.spans import Span, count, minus
from fillwright.records.units import kg_from_g

__all__ = ["HeldUse", "OutcomeUse", "held_use"]

_ORDER: Final[tuple[Outcome, ...]] = (
    "weighed-good",
    "released-with-reason",
    "topped-up",
    "relabelled",
    "emptied-back",
    "scrapped",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomeUse:
    """What one outcome used.

    Parameters
    ----------
    name : str
        The outcome in words.
    containers : int
        How many it stands for.
    lost_kg : float
        Product lost by it; above the label for those that go out.
    lost_containers : int
        Containers lost by it.
    note : str
        What is behind `lost_kg`.
    """

    name: str
    containers: int
    lost_kg: float
    lost_containers: int
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldUse:
    """What became of held containers, in product and containers.

    Parameters
    ----------
    scrapped, emptied, relabelled : int
        Containers.
    lost_kg : float
        Product in the scrapped ones at the aim, and what was not got out of the emptied ones.
    label_kg : float
        Product that the new labels of the re-labelled ones declare.
    over_kg : float
        Product in those above their new labels.
    rows : tuple of OutcomeUse
        By outcome; none that stands for nothing.
    """

    scrapped: int
    emptied: int
    relabelled: int
    lost_kg: float
    label_kg: float
    over_kg: float
    rows: tuple[OutcomeUse, ...]


def held_use(desk: Desk, state: JobState) -> HeldUse:
    """Return what became of held containers, in product and containers.

    Scrapped ones are taken at the aim; so is any other that has no weight of its own.
    """
    book, nets = state.held, sample_of(state, extra={})
    scrapped_g = state.known.aim_g * count(book.of("scrapped"))
    in_emptied_g = _product_g(state, nets, book.of("emptied-back"))
    back_g = sum((fact.back_g for fact in book.emptied()), Decimal(0))
    stuck_g = max(in_emptied_g - back_g, Decimal(0))
    label_g, over_g = _relabelled_g(desk, state)
    going = minus(book.of("relabelled"), kept_spans(state))
    lost: dict[str, tuple[Decimal, int, str]] = {
        "scrapped": (scrapped_g, count(book.of("scrapped")), "product and containers lost"),
        "emptied-back": (
            stuck_g,
            count(book.of("emptied-back")),
            f"{back_g / 1000:.3f} kg used again; the containers are counted as lost",
        ),
        "relabelled": (over_g, 0, "above their new labels; a new label each is not counted"),
        "topped-up": (_added_g(state), 0, "added by hand; it goes out with them"),
    }
    rows = []
    for outcome in _ORDER:
        many = count(book.of(outcome))
        lost_g, containers, note = lost.get(outcome, (Decimal(0), 0, "work alone"))
        if many:
            rows.append(
                OutcomeUse(
                    name=OUTCOMES[outcome],
                    containers=many,
                    lost_kg=kg_from_g(lost_g),
                    lost_containers=containers,
                    note=note,
                )
            )
    return HeldUse(
        scrapped=count(book.of("scrapped")),
        emptied=count(book.of("emptied-back")),
        relabelled=count(going),
        lost_kg=kg_from_g(scrapped_g + stuck_g),
        label_kg=kg_from_g(label_g),
        over_kg=kg_from_g(over_g),
        rows=tuple(rows),
    )


def _product_g(state: JobState, nets: Mapping[int, Decimal], spans: tuple[Span, ...]) -> Decimal:
    """Return the product in containers, by their latest weights, else at the aim."""
    facts = state.known
    total = Decimal(0)
    for span in spans:
        for number in range(span.first, span.last + 1):
            total += nets.get(number, state.lots.facts_for(facts, number).aim_g)
    return total


def _relabelled_g(desk: Desk, state: JobState) -> tuple[Decimal, Decimal]:
    """Return what the new labels declare, and what is in those containers above it."""
    label_g, over_g = Decimal(0), Decimal(0)
    nets = sample_of(state, extra={})
    for fact, spans in state.held.relabelled():
        going = minus(spans, kept_spans(state))
        # Weight and quantity of one product are in one proportion, whatever the label says.
        old = limits_of(state.known, desk.rule_sets).label_g
        each = old * Decimal(str(float(Fraction(fact.nominal) / Fraction(state.known.nominal))))
        label_g += each * count(going)
        over_g += _product_g(state, nets, going) - each * count(going)
    return label_g, over_g


def _added_g(state: JobState) -> Decimal:
    """Return what topping up added, where a container was weighed before it."""
    total = Decimal(0)
    spans = state.held.of("topped-up")
    latest = latest_of(state, spans)
    for number, now in latest.items():
        one = state.held.at(number)
        topped = [
            t.revision
            for t in state.held.settlings
            if t.outcome == "waits-for-weight"
            and not t.struck
            and any(s.first <= number <= s.last for s in t.spans)
        ]
        before = [
            w.fact.net_g
            for w in state.weighings
            if one is not None
            and topped
            and w.counts
            and w.fact.container == number
            and w.revision < min(topped)
        ]
        if before:
            total += now.net_g - before[-1]
    return max(total, Decimal(0))
