"""A quote for a new job at several lot sizes, with a range from the spread of earlier jobs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, find_job, refuse_practice
from fillwright.jobs.limits import limits_of
from fillwright.jobs.money.costs import amounts_of, is_alike
from fillwright.jobs.money.prices import PRICE_WORDS, money_words, prices_for
from fillwright.jobs.money.use import JobUse, use_of
from fillwright.records.entities import JobFacts
from fillwright.records.units import kg_from_g
from fillwright.science.costs import Amount, Price, lot_cost, quote

__all__ = ["QuoteLine", "QuoteLook", "look"]

_EACH: Final = (
    Amount.GIVEAWAY,
    Amount.REJECT_PRODUCT,
    Amount.REJECT_CONTAINERS,
    Amount.AIR,
    Amount.RUN,
)
"""What grows with the lot; all the rest is there whatever its size."""
_WITH_DOSE: Final = (Amount.GIVEAWAY, Amount.REJECT_PRODUCT, Amount.AIR)
_SAID: Final = (
    Amount.PURGE,
    Amount.HOPPER,
    Amount.CLEANER,
    Amount.AIR,
    Amount.MORE_WORK,
)
"""What a quote lacks where an earlier job did not say it."""
_LIKE_ENOUGH: Final = 2
_MOST: Final = 12
_LOOKED: Final = 200
_IN_TEN: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteLine:
    """The quote for one lot size: for the whole lot and for one, with its range in words."""

    lot_size: int
    whole: str
    whole_range: str
    each: str
    each_range: str


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteLook:
    """Everything the quote page shows.

    Parameters
    ----------
    headline, why : str
        The quote of the first lot size, and what it rests on.
    lines : tuple of QuoteLine
        One for each lot size asked about.
    rests_on : tuple of str
        Numbers of the earlier jobs.
    missing : tuple of str
        Prices that are not said, and what earlier jobs did not say of their losses.
    product, container : str
        What is quoted.
    """

    headline: str
    why: str
    lines: tuple[QuoteLine, ...]
    rests_on: tuple[str, ...]
    missing: tuple[str, ...]
    product: str
    container: str


def look(desk: Desk, number: str, lot_sizes: tuple[int, ...]) -> QuoteLook:
    """Return what another job like one that is there is likely to cost.

    Parameters
    ----------
    desk : Desk
        Where the journal is.
    number : str
        The job that the new one is like: product, container, machine.
    lot_sizes : tuple of int
        Lot sizes to quote.

    Returns
    -------
    QuoteLook
        The quote, and how many jobs it rests on.

    Raises
    ------
    BadInput
        If there is no such job, it is practice, a lot size is not above zero, nothing has a
        price, or no job like it was finished.
    """
    if not lot_sizes or min(lot_sizes) < 1:
        message = "Give one lot size or several, each one or more."
        raise BadInput(message, field="lots", given=str(lot_sizes), allowed="1 or more")
    refuse_practice(number, "nothing is quoted by it")
    with desk.book.lock:
        facts = find_job(desk, number).known
        prices, money = prices_for(desk, facts), desk.book.site().prices.money
        if all(price is None for price in prices.values()):
            message = "Nothing has a price yet. Say what things cost, then quote."
            raise BadInput(message, field="prices", code="missing")
        past, how = _earlier(desk, facts)
        split = [_split(use, facts, desk, prices) for use in past]
    word, sold_each = facts.container.word, _sold_each(desk, facts, prices)
    if any(fixed + each + sold_each <= 0 for fixed, each in split):
        message = "With these prices a job costs nothing. Say what product or work costs."
        raise BadInput(message, field="prices", code="missing")
    found = quote(
        [fixed for fixed, _ in split],
        [each for _, each in split],
        sold_each=sold_each,
        lot_sizes=lot_sizes,
        confidence=_IN_TEN / 10,
    )
    lines = tuple(
        _line(
            int(size),
            float(found.middle[place]),
            None if found.low is None else float(found.low[place]),
            None if found.high is None else float(found.high[place]),
            money,
        )
        for place, size in enumerate(found.lot_sizes)
    )
    first = lines[0]
    if found.rests_on == 1:
        spread = "It rests on one earlier job: no range can be told."
    else:
        spread = (
            f"It rests on {found.rests_on} earlier jobs; {_IN_TEN} in 10 jobs to come lie in the "
            "range."
        )
    if any(use.going_out and use.giveaway_g is None for use in past):
        spread += " One of them has no weights, so no giveaway."
    return QuoteLook(
        headline=f"{first.lot_size} {word}s: {first.whole}, {first.each} each.",
        why=f"{spread} {how}",
        lines=lines,
        rests_on=tuple(use.number for use in past),
        missing=(
            *(f"No price for {PRICE_WORDS[p]}." for p, v in prices.items() if v is None),
            *_unsaid(past, prices),
        ),
        product=facts.product.name,
        container=facts.container.name,
    )


def _earlier(desk: Desk, facts: JobFacts) -> tuple[list[JobUse], str]:
    """Return earlier jobs that speak for a new one, the nearest kind of which there are two."""
    kinds: tuple[tuple[Callable[[JobFacts], bool], str], ...] = (
        (lambda f: is_alike(f, facts), "Same product and container."),
        (lambda f: f.product.name == facts.product.name, "Same product, other containers too."),
        (
            lambda f: (
                (f.product.runs_like, f.machine.name)
                == (facts.product.runs_like, facts.machine.name)
            ),
            f"Products that run like {facts.product.runs_like.value} on {facts.machine.name}.",
        ),
    )
    found: list[JobUse] = []
    words = ""
    for suits, told in kinds:
        more = list(_finished(desk, suits))
        if len(more) > len(found):
            found, words = more, told
        if len(found) >= _LIKE_ENOUGH:
            break
    if not found:
        message = "No job like this one was finished yet: the first one teaches the quote."
        raise BadInput(message, field="job", given=facts.number, code="missing")
    return found, words


def _finished(desk: Desk, suits: Callable[[JobFacts], bool]) -> Iterator[JobUse]:
    """Yield what finished jobs of a kind used, the latest first."""
    many = 0
    for number in desk.book.numbers()[: -_LOOKED - 1 : -1]:
        state = desk.book.job(number)
        if state is None or state.run is None or state.run.finished is None:
            continue
        if many < _MOST and suits(state.known):
            use = use_of(desk, state)
            if use.going_out:
                many += 1
                yield use


def _split(
    use: JobUse, facts: JobFacts, desk: Desk, prices: dict[Price, float | None]
) -> tuple[float, float]:
    """Return what an earlier job cost whatever its size, and what it cost for each on top."""
    parts = lot_cost(amounts_of(use), prices, containers=use.going_out).parts
    fixed = each = 0.0
    scale = float(limits_of(facts, desk.rule_sets).label_g / use.label_g)
    for part in parts:
        if part.is_sold or part.cost is None:
            continue
        cost = float(part.cost[0])
        if part.what in _EACH:
            # Product and air go with the size of the dose; jars and minutes are as they were.
            each += cost / use.going_out * (scale if part.what in _WITH_DOSE else 1.0)
        else:
            fixed += cost
    return fixed, each


def _unsaid(past: list[JobUse], prices: dict[Price, float | None]) -> tuple[str, ...]:
    """Return what some earlier jobs did not put on record, so that it counts as nothing there."""
    found: dict[Amount, list[str]] = {}
    for use in past:
        cost = lot_cost(amounts_of(use), prices, containers=use.going_out)
        for what in cost.missing_amounts:
            if what in _SAID:
                found.setdefault(what, []).append(use.number)
    return tuple(
        f"{what.value.capitalize()}: not said in job {', '.join(numbers)}, and counted as nothing."
        for what, numbers in found.items()
    )


def _sold_each(desk: Desk, facts: JobFacts, prices: dict[Price, float | None]) -> float:
    """Return what one costs in label quantity and container."""
    label = kg_from_g(limits_of(facts, desk.rule_sets).label_g)
    return label * (prices[Price.PRODUCT] or 0.0) + (prices[Price.CONTAINER] or 0.0)


def _line(
    size: int, middle: float, low: float | None, high: float | None, money: str
) -> QuoteLine:
    """Return the quote of one lot size in words."""
    whole_range = each_range = "no range"
    if low is not None and high is not None:
        whole_range = f"{money_words(low, '')} to {money_words(high, money)}"
        each_range = f"{money_words(low / size, '')} to {money_words(high / size, money)}"
    return QuoteLine(
        lot_size=size,
        whole=money_words(middle, money),
        whole_range=whole_range,
        each=money_words(middle / size, money),
        each_range=each_range,
    )
