"""The papers of costs, filled from what their pages show: a quote, and what a job cost."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from fillwright.jobs.desk import Desk, find_job
from fillwright.jobs.money import costs, quotes
from fillwright.jobs.words import plain
from fillwright.records.entities import JobFacts
from fillwright.records.sheets import FactLine
from fillwright.records.sheets_costs import (
    CostPaperLine,
    CostSheet,
    QuotePaperLine,
    QuoteSheet,
)

__all__ = ["cost_sheet", "quote_sheet"]

_LEAST_MIN = 0.5


def quote_sheet(desk: Desk, number: str, lot_sizes: tuple[int, ...]) -> QuoteSheet:
    """Return a quote as a paper.

    Parameters
    ----------
    desk : Desk
        Where the journal is.
    number : str
        The job that the new one is like.
    lot_sizes : tuple of int
        Lot sizes to quote.

    Raises
    ------
    BadInput
        Where the page refuses: no such job, no lot size, no price, or nothing to rest on.
    """
    with desk.book.lock:
        look = quotes.look(desk, number, lot_sizes)
        facts = find_job(desk, number).known
        past = [desk.book.job(one) for one in look.rests_on]
        return QuoteSheet(
            job=number,
            product=facts.product.name,
            container=facts.container.name,
            label=facts.label_words,
            word=facts.container.word,
            maker=desk.book.site().settings.maker,
            lines=tuple(
                QuotePaperLine(
                    lot_size=line.lot_size,
                    each=line.each,
                    each_range=line.each_range,
                    whole=line.whole,
                    whole_range=line.whole_range,
                )
                for line in look.lines
            ),
            rests_on=look.rests_on,
            why=look.why,
            prices=_prices(desk, facts),
            missing=look.missing,
            made_at=desk.clock.now(),
            zone=desk.clock.zone(),
            program=desk.program,
            is_invented=facts.is_invented
            or any(state is not None and state.known.is_invented for state in past),
        )


def cost_sheet(desk: Desk, number: str, *, yearly: int | None = None) -> CostSheet:
    """Return what a job cost as a paper.

    Parameters
    ----------
    desk : Desk
        Where the journal is.
    number : str
        Job number.
    yearly : int, optional
        Containers filled in a year; those on record when left out.

    Raises
    ------
    BadInput
        Where the page refuses: no such job, a practice job, or nothing of it goes out.
    """
    with desk.book.lock:
        look = costs.look(desk, number, yearly=yearly)
        facts, use = find_job(desk, number).known, look.use
        above = "" if use.giveaway_g is None else f"{use.giveaway_g:.2f} g"
        told = [
            ("Filled", str(use.filled)),
            ("Scrapped", str(use.scrapped)),
            ("Going out", str(use.going_out)),
            ("Above the label, mean", above),
            *(
                ("Set up" if stage == "setup" else stage.capitalize(), f"{minutes:.0f} min")
                for stage, minutes in use.minutes.items()
                if minutes >= _LEAST_MIN
            ),
        ]
        return CostSheet(
            job=number,
            product=facts.product.name,
            container=facts.container.name,
            lot_code=facts.lot_code,
            word=facts.container.word,
            headline=look.headline,
            why=look.why,
            lines=_lines(look.lines),
            sold=_lines(look.sold),
            held=_lines(look.held),
            scatter=look.scatter,
            missing=look.missing,
            facts=(
                *(FactLine(name=name, words=words) for name, words in told if words),
                *_prices(desk, facts),
            ),
            notes=use.notes,
            made_at=desk.clock.now(),
            zone=desk.clock.zone(),
            program=desk.program,
            is_invented=facts.is_invented,
        )


def _lines(lines: Iterable[costs.CostLine]) -> tuple[CostPaperLine, ...]:
    """Return lines of the page for the paper."""
    return tuple(
        CostPaperLine(name=one.name, amount=one.amount, cost=one.cost, each=one.each)
        for one in lines
    )


def _price(value: Decimal) -> str:
    """Return a price with its hundredths, and with all it has where it has more."""
    hundredths = value.quantize(Decimal("0.01"))
    return f"{hundredths:f}" if hundredths == value else plain(value)


def _prices(desk: Desk, facts: JobFacts) -> tuple[FactLine, ...]:
    """Return what things cost today, as the site said it."""
    kept = desk.book.site().prices
    rows = (
        (f"A kilogram of {facts.product.name}", kept.of_product(facts.product.name)),
        (f"A {facts.container.name} with lid", kept.of_container(facts.container.name)),
        ("An hour of work", kept.work_cost_per_h),
        ("A litre of cleaner", kept.cleaner_per_litre),
        ("A cubic metre of free air", kept.air_cost_per_m3),
    )
    return tuple(
        FactLine(name=name, words=f"{_price(value)} {kept.money}".strip())
        for name, value in rows
        if value is not None
    )
