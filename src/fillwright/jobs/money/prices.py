"""What things cost, as the site said it once; each is optional, and what is missing is said."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep_on_site, refuse_practice
from fillwright.records.entities import JobFacts
from fillwright.records.entries import LossesNoted, PricesKept
from fillwright.records.kinds_costs import ContainerPrice, ProductPrice
from fillwright.records.units import per_m3_from_per_litre, per_s_from_per_h
from fillwright.science.costs import Price

__all__ = ["PRICE_WORDS", "keep_prices", "money_words", "note_losses", "prices_for"]

PRICE_WORDS: Final[dict[Price, str]] = {
    Price.PRODUCT: "a kilogram of product",
    Price.CONTAINER: "a container with its lid",
    Price.WORK: "an hour of work",
    Price.CLEANER: "a litre of cleaner",
    Price.AIR: "a cubic metre of free air",
}
_MOST_MONEY: Final = Decimal(1_000_000)
_WHOLE_FROM: Final = 1000


def prices_for(desk: Desk, facts: JobFacts) -> dict[Price, float | None]:
    """Return the prices that hold for a job, for a kg, m³, second, or one; None where not said."""
    kept = desk.book.site().prices
    product = kept.of_product(facts.product.name)
    container = kept.of_container(facts.container.name)
    hour, litre, air = kept.work_cost_per_h, kept.cleaner_per_litre, kept.air_cost_per_m3
    return {
        Price.PRODUCT: None if product is None else float(product),
        Price.CONTAINER: None if container is None else float(container),
        Price.WORK: None if hour is None else per_s_from_per_h(hour),
        Price.CLEANER: None if litre is None else per_m3_from_per_litre(litre),
        Price.AIR: None if air is None else float(air),
    }


def keep_prices(
    desk: Desk,
    facts: JobFacts,
    prices: PricesKept,
    press: Press,
    *,
    product_cost_per_kg: Decimal | None,
    container_cost_each: Decimal | None,
) -> None:
    """Keep what things cost; those of other products and containers stay as they were.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    facts : JobFacts
        The job whose product and container are meant.
    prices : PricesKept
        Money, hour, cleaner and air.
    press : Press
        Who said it.
    product_cost_per_kg, container_cost_each : Decimal or None
        Of this product and this container; None takes the price away.

    Raises
    ------
    BadInput
        If a price is negative or far too large.
    """
    every = {
        "work_cost_per_h": prices.work_cost_per_h,
        "cleaner_per_litre": prices.cleaner_per_litre,
        "air_cost_per_m3": prices.air_cost_per_m3,
        "product_cost_per_kg": product_cost_per_kg,
        "container_cost_each": container_cost_each,
    }
    for field, value in every.items():
        if value is not None and not 0 <= value <= _MOST_MONEY:
            message = f"A price of {value} cannot be. Give 0 to {_MOST_MONEY}, or leave it empty."
            raise BadInput(message, field=field, given=str(value), allowed=f"0 to {_MOST_MONEY}")
    now = desk.book.site().prices
    products = [p for p in now.products if p.product != facts.product.name]
    containers = [c for c in now.containers if c.container != facts.container.name]
    if product_cost_per_kg is not None:
        products.append(ProductPrice(product=facts.product.name, cost_per_kg=product_cost_per_kg))
    if container_cost_each is not None:
        containers.append(
            ContainerPrice(container=facts.container.name, cost_each=container_cost_each)
        )
    fresh = replace(
        prices,
        money=prices.money.strip()[:12],
        products=tuple(products),
        containers=tuple(containers),
    )
    if fresh != now:
        keep_on_site(desk, [fresh], press)


def note_losses(desk: Desk, losses: LossesNoted, press: Press) -> None:
    """Keep what a job lost beside its weighings; a later note goes before an earlier one.

    Raises
    ------
    BadInput
        If there is no such job, or an amount is negative.
    """
    find_job(desk, losses.job)
    refuse_practice(losses.job, "it has no losses")
    every = {
        "flushed_kg": losses.flushed_kg,
        "hopper_kg": losses.hopper_kg,
        "cleaner_l": losses.cleaner_l,
        "work_min": losses.work_min,
    }
    for field, value in every.items():
        if value is not None and value < 0:
            message = f"{value} cannot be. Give zero or more, or leave it empty."
            raise BadInput(message, field=field, given=str(value), allowed="zero or more")
    if losses != desk.book.site().losses.get(losses.job):
        keep_on_site(desk, [losses], press)


def money_words(value: float, money: str) -> str:
    """Return a sum of money as the pages say it."""
    size = abs(value)
    if size >= _WHOLE_FROM:
        text = f"{value:,.0f}".replace(",", "\u202f")
    else:
        text = f"{value:.4f}" if 0 < size < 0.01 else f"{value:.2f}"  # noqa: PLR2004  a hundredth
    return f"{text.replace('-', '−')} {money}".strip()
