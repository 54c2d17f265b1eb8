"""What a container of a job costs, where the money goes, and what less scatter is worth."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, find_job, refuse_practice
from fillwright.jobs.money.prices import PRICE_WORDS, money_words, prices_for
from fillwright.jobs.money.use import JobUse, use_of
from fillwright.jobs.release.aiming import UNKNOWN_SD_PCT, market_aims
from fillwright.records.entities import JobFacts
from fillwright.records.fold import JobState
from fillwright.records.units import kg_from_g, m3_from_ml, ml_from_litres, s_from_min
from fillwright.science.costs import Amount, CostPart, LotCost, Price, lot_cost, scatter_worth

__all__ = ["CostLine", "CostLook", "amounts_of", "is_alike", "look", "sd_known"]

_YEAR: Final = timedelta(days=365)
_TENTH_PCT: Final = Decimal("0.1")
_LEAST_SD_PCT: Final = Decimal("0.02")
_SD_STEP: Final = Decimal("0.01")
_SD_FINE: Final = Decimal("0.05")
_MOST_SD_PCT: Final = Decimal(3)
_SMALL_SHARE: Final = 0.005
_LOOKED: Final = 500
"""So many jobs back are looked through for those of a year."""
_WORK: Final = {
    Amount.MATCH: "match",
    Amount.SET_UP: "setup",
    Amount.TRIM_WORK: "trim",
    Amount.PROVE: "prove",
    Amount.RUN: "run",
    Amount.RELEASE: "release",
    Amount.STRIP: "strip",
    Amount.FAULT: "fault",
}
_ASK: Final = {
    Amount.GIVEAWAY: "nothing that goes out was weighed",
    Amount.PURGE: "the purge was not weighed: say how much",
    Amount.HOPPER: "what stayed in the hopper was not said",
    Amount.CLEANER: "litres of cleaner were not said",
    Amount.AIR: "the machine's air cylinder is not described",
    Amount.MORE_WORK: "work beside the bench was not said",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CostLine:
    """One part: its name, how much, what it cost, and its bar as a share of the dearest."""

    name: str
    amount: str
    cost: str
    each: str
    bar_pct: float
    is_sold: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CostLook:
    """Everything the cost page shows.

    Parameters
    ----------
    headline : str
        What one costs, or what is wanted first.
    why : str
        How much of that the buyer gets, and how much comes on top.
    lines : tuple of CostLine
        What comes on top, the dearest first.
    sold : tuple of CostLine
        What the buyer gets.
    missing : tuple of str
        What could not be counted, and what to do.
    held : tuple of CostLine
        What became of held ones, each with what it cost; also counted in `lines`.
    scatter : str
        What a tenth of a per cent of scatter is worth in a year; empty where it is not known.
    use : JobUse
        What the job used.
    money : str
        What the site calls its money.
    has_prices : bool
        True where anything at all has a price.
    """

    headline: str
    why: str
    lines: tuple[CostLine, ...]
    sold: tuple[CostLine, ...]
    missing: tuple[str, ...]
    held: tuple[CostLine, ...]
    scatter: str
    use: JobUse
    money: str
    has_prices: bool


def look(desk: Desk, number: str, *, yearly: int | None = None) -> CostLook:
    """Return what the cost page shows.

    Parameters
    ----------
    desk : Desk
        Where the journal is.
    number : str
        Job number.
    yearly : int, optional
        Containers filled in a year; those on record when left out.

    Returns
    -------
    CostLook
        The costs, the dearest first.

    Raises
    ------
    BadInput
        If there is no such job, or nothing of it goes out.
    """
    refuse_practice(number, "it has no costs")
    with desk.book.lock:
        state = find_job(desk, number)
        facts, use = state.known, use_of(desk, state)
        if not use.going_out:
            message = (
                "None of those filled goes out, so there is nothing to share the costs among."
                if use.filled
                else "Nothing was filled yet. The costs are told by the run."
            )
            raise BadInput(message, field="lot_size", given=0, code="missing")
        prices, money = prices_for(desk, facts), desk.book.site().prices.money
        cost = lot_cost(amounts_of(use), prices, containers=use.going_out)
        word = facts.container.word
        has_prices = any(price is not None for price in prices.values())
        sold, on_top = float(cost.sold[0]), float(cost.on_top[0])
        headline = (
            f"One {word} costs {money_words(float(cost.each[0]), money)}."
            if has_prices
            else "Say what things cost."
        )
        why = (
            f"{money_words(sold / use.going_out, money)} is what the buyer gets, "
            f"{money_words(on_top / use.going_out, money)} comes on top. {use.going_out} {word}s."
            if has_prices
            else "Each price is optional; what has none is left out, and said."
        )
        return CostLook(
            headline=headline,
            why=why,
            lines=_ranked(cost, use, money),
            sold=tuple(
                _line(part, use, money, sold)
                for part in cost.parts
                if part.is_sold and part.cost is not None
            ),
            missing=_missing(cost, facts),
            held=_held_lines(use, prices, money),
            scatter=_scatter(desk, state, yearly, prices, money),
            use=use,
            money=money,
            has_prices=has_prices,
        )


def amounts_of(use: JobUse) -> dict[Amount, float | None]:
    """Return what a job used in coherent SI, part by part."""
    out, held = use.going_out - use.held.relabelled, use.held
    beside = use.beside_min
    above = None if use.giveaway_g is None else out * kg_from_g(use.giveaway_g)
    if held.relabelled:
        above = (above or 0.0) + held.over_kg
    return {
        Amount.LABEL: out * kg_from_g(use.label_g) + held.label_kg,
        Amount.CONTAINERS: float(use.going_out),
        Amount.GIVEAWAY: above,
        Amount.PURGE: use.purge_kg,
        Amount.TRIM: use.trim_kg,
        Amount.HOPPER: use.hopper_kg,
        Amount.REJECT_PRODUCT: use.reject_kg,
        Amount.REJECT_CONTAINERS: float(held.scrapped + held.emptied),
        Amount.CLEANER: None
        if use.cleaner_l is None
        else m3_from_ml(ml_from_litres(use.cleaner_l)),
        Amount.AIR: use.air_m3,
        **{what: s_from_min(use.minutes[stage]) for what, stage in _WORK.items()},
        Amount.MORE_WORK: None if beside is None else s_from_min(beside),
    }


def is_alike(one: JobFacts, other: JobFacts) -> bool:
    """Tell whether two jobs filled the same product into the same container."""
    return (one.product.name, one.container.name, one.nominal, one.unit) == (
        other.product.name,
        other.container.name,
        other.nominal,
        other.unit,
    )


def sd_known(state: JobState) -> tuple[Decimal, bool]:
    """Return the spread of single doses in percent of the aim, and whether it was measured."""
    facts, proof = state.known, state.proof
    if proof is not None and proof.dose_sd_g > 0:
        share = Decimal(str(proof.dose_sd_g)) / facts.aim_g * 100
        return max(share.quantize(_SD_STEP), _SD_STEP), True
    return facts.expected_sd_pct or UNKNOWN_SD_PCT, False


def _scatter(
    desk: Desk,
    state: JobState,
    yearly: int | None,
    prices: dict[Price, float | None],
    money: str,
) -> str:
    """Return what a tenth of a per cent of scatter is worth in a year."""
    facts = state.known
    many = _in_a_year(desk, facts) if yearly is None else yearly
    price = prices[Price.PRODUCT]
    sd_pct, is_measured = sd_known(state)
    more_pct = max(sd_pct, _TENTH_PCT + _LEAST_SD_PCT)
    wide = [a.least_g for a in market_aims(desk, facts, sd_pct=more_pct)]
    slim = [a.least_g for a in market_aims(desk, facts, sd_pct=more_pct - _TENTH_PCT)]
    if price is None or None in wide or None in slim:
        return ""
    high, low = (max(a for a in aims if a is not None) for aims in (wide, slim))
    worth = float(
        scatter_worth(kg_from_g(high), kg_from_g(low), containers=many, product_price=price)
    )
    where = "measured" if is_measured else "taken, not measured"
    word = facts.container.word
    begin = f"Spread {sd_pct} % ({where})."
    if worth <= 0:
        return f"{begin} {_free_scatter(desk, facts, more_pct, high)}"
    told = f"{money_words(worth, money)} a year: the least safe aim moves {high - low:.2f} g"
    if more_pct > sd_pct:
        return f"{begin} A tenth of a per cent more would cost {told}, times {many} {word}s."
    return f"{begin} A tenth of a per cent less is worth {told}, times {many} {word}s."


def _free_scatter(desk: Desk, facts: JobFacts, sd_pct: Decimal, aim_g: float) -> str:
    """Return from which spread on scatter moves the least safe aim."""
    wider = sd_pct
    while wider < _MOST_SD_PCT:
        wider += _SD_FINE
        aims = [a.least_g for a in market_aims(desk, facts, sd_pct=wider)]
        if max((a for a in aims if a is not None), default=aim_g) > aim_g:
            return (
                "It costs no product: what the trim leaves of the average sets the aim, not the "
                f"scatter. Scatter begins to cost above {wider - _SD_FINE} %."
            )
    return "It costs no product under these rules."


def _in_a_year(desk: Desk, facts: JobFacts) -> int:
    """Return the containers of this kind that were filled in the last 365 days."""
    since = desk.clock.now() - _YEAR
    many = 0
    for number in desk.book.numbers()[-_LOOKED:]:
        state = desk.book.job(number)
        if state is None or state.opened_at is None or state.opened_at < since:
            continue
        many += state.filled_to if is_alike(state.known, facts) else 0
    return many


def _ranked(cost: LotCost, use: JobUse, money: str) -> tuple[CostLine, ...]:
    """Return what comes on top, the dearest first, with all that is tiny in one line."""
    costs = [0.0 if part.cost is None else float(part.cost[0]) for part in cost.ranked]
    dear = max(costs, default=0.0)
    pairs = list(zip(cost.ranked, costs, strict=True))
    lines = [_line(p, use, money, dear) for p, c in pairs if abs(c) >= _SMALL_SHARE * dear]
    small = [c for _, c in pairs if abs(c) < _SMALL_SHARE * dear]
    if small:
        lines.append(
            CostLine(
                name="all smaller parts",
                amount=f"{len(small)} of them",
                cost=money_words(sum(small), money),
                each=money_words(sum(small) / use.going_out, money),
                bar_pct=max(0.0, 100.0 * sum(small) / dear),
                is_sold=False,
            )
        )
    return tuple(lines)


def _line(part: CostPart, use: JobUse, money: str, dear: float) -> CostLine:
    """Return a part as the page says it."""
    cost = 0.0 if part.cost is None else float(part.cost[0])
    amount = amounts_of(use)[part.what] or 0.0
    return CostLine(
        name=part.what.value,
        amount=_amount_words(part, amount),
        cost=money_words(cost, money),
        each=money_words(cost / use.going_out, money),
        bar_pct=min(100.0, max(0.0, 100.0 * cost / dear)) if dear > 0 else 0.0,
        is_sold=part.is_sold,
    )


def _held_lines(
    use: JobUse, prices: dict[Price, float | None], money: str
) -> tuple[CostLine, ...]:
    """Return what each outcome of held ones cost; "no price" where nobody said one it needs."""
    product, container = prices[Price.PRODUCT], prices[Price.CONTAINER]
    costs: list[float | None] = []
    for row in use.held.rows:
        lacks = (row.lost_kg and product is None) or (row.lost_containers and container is None)
        lost = row.lost_kg * (product or 0.0) + row.lost_containers * (container or 0.0)
        costs.append(None if lacks else lost)
    dear = max((cost for cost in costs if cost is not None), default=0.0)
    return tuple(
        CostLine(
            name=row.name,
            amount=f"{row.containers}, {row.lost_kg:.3f} kg: {row.note}",
            cost="no price" if cost is None else money_words(cost, money),
            each="" if cost is None else money_words(cost / row.containers, money),
            bar_pct=min(100.0, max(0.0, 100.0 * (cost or 0.0) / dear)) if dear > 0 else 0.0,
            is_sold=False,
        )
        for row, cost in zip(use.held.rows, costs, strict=True)
    )


def _amount_words(part: CostPart, amount: float) -> str:
    """Return how much of a part was used."""
    match part.price:
        case Price.PRODUCT:
            return f"{amount:.3f} kg"
        case Price.CONTAINER:
            return f"{amount:.0f}"
        case Price.WORK:
            return f"{amount / s_from_min(1.0):.0f} min"
        case Price.CLEANER:
            return f"{amount / m3_from_ml(ml_from_litres(1.0)):.1f} L"
        case Price.AIR:
            return f"{amount:.2f} m³"


def _missing(cost: LotCost, facts: JobFacts) -> tuple[str, ...]:
    """Return what could not be counted."""
    named = {
        Price.PRODUCT: f"a kilogram of {facts.product.name}",
        Price.CONTAINER: f"a {facts.container.name} with its lid",
    }
    prices = [f"No price for {named.get(p, PRICE_WORDS[p])}." for p in cost.missing_prices]
    amounts = [
        f"{what.value.capitalize()}: {_ASK[what]}."
        for what in cost.missing_amounts
        if what in _ASK
    ]
    return (*prices, *amounts)
