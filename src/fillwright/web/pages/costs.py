"""What a container costs, and a quote: prices and losses are asked once, each optional."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, StoreFull
from fillwright.jobs.desk import find_job
from fillwright.jobs.money import costs, quotes
from fillwright.jobs.money.papers import cost_sheet, quote_sheet
from fillwright.jobs.money.prices import keep_prices, note_losses
from fillwright.records.entries import LossesNoted, PricesKept
from fillwright.records.fold import JobState
from fillwright.records.sheets_costs import CostSheet, QuoteSheet
from fillwright.web.forms import figure, given, is_ticked, whole
from fillwright.web.printed import printed
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Form, Visit, go_to, route

__all__ = ["ROUTES"]

_MOST_LOTS: Final = 6
_MOST_JARS: Final = 100_000_000
_USUAL_LOTS: Final = (1, 2, 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """The figures that the forms begin with."""

    prices: PricesKept
    losses: LossesNoted
    product_cost_per_kg: Decimal | None
    container_cost_each: Decimal | None


def _show(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw what one costs."""
    state = visit.desk.book.job(visit.number)
    if state is None:
        return _no_job(visit)
    seen = None
    try:
        yearly = None
        if given(visit.query, "yearly"):
            yearly = whole(visit.query, "yearly", "How many a year", most=_MOST_JARS)
        seen = costs.look(visit.desk, visit.number, yearly=yearly)
    except BadInput as problem:
        error = error or problem
    return render(
        visit,
        "cost.html",
        status=422 if error and visit.form else 200,
        state=state,
        look=seen,
        asked=_asked(visit, state),
        error=error,
    )


def _press(visit: Visit) -> Response:
    """Keep prices, or what the job lost."""
    try:
        facts = find_job(visit.desk, visit.number).known
        if visit.params["what"] == "losses":
            note_losses(visit.desk, _losses(visit.form, visit.number), visit.press())
        else:
            keep_prices(
                visit.desk,
                facts,
                _prices(visit.form),
                visit.press(),
                product_cost_per_kg=_price(visit.form, "product_cost_per_kg"),
                container_cost_each=_price(visit.form, "container_cost_each"),
            )
    except BadInput as error:
        return _no_job(visit) if error.field == "job" else _show(visit, error=error)
    except StoreFull as error:
        return _show(visit, error=BadInput(str(error), field="store", code="not-available"))
    return go_to(f"/job/{visit.number}/cost")


def _print_cost(visit: Visit) -> Response:
    """Return what a job cost as a paper."""

    def sheet() -> CostSheet:
        yearly = None
        if given(visit.query, "yearly"):
            yearly = whole(visit.query, "yearly", "How many a year", most=_MOST_JARS)
        return cost_sheet(visit.desk, visit.number, yearly=yearly)

    return printed(visit, sheet, f"costs-{visit.number}")


def _like(visit: Visit) -> JobState | None:
    """Return the job that a quote is for another one of: the latest when none is named."""
    desk, number = visit.desk, given(visit.query, "like")
    numbers = desk.book.numbers()
    return desk.book.job(number or (numbers[-1] if numbers else ""))


def _usual(state: JobState) -> tuple[int, ...]:
    """Return the lot sizes that are quoted where none are typed."""
    return tuple(times * state.known.lot_size for times in _USUAL_LOTS)


def _print_quote(visit: Visit) -> Response:
    """Return a quote as a paper."""
    state = _like(visit)
    if state is None:
        return _no_job(visit)

    def sheet() -> QuoteSheet:
        sizes = _sizes(visit.query) or _usual(state)
        return quote_sheet(visit.desk, state.number, sizes)

    return printed(visit, sheet, f"quote-{state.number}", headline="No quote yet.")


def _quote(visit: Visit) -> Response:
    """Draw a quote."""
    desk, state = visit.desk, _like(visit)
    if state is None:
        return _no_job(visit)
    seen, error = None, None
    sizes = _usual(state)
    try:
        sizes = _sizes(visit.query) or sizes
        seen = quotes.look(desk, state.number, sizes)
    except BadInput as problem:
        error = problem
    return render(
        visit,
        "quote.html",
        state=None,
        look=seen,
        error=error,
        typed=visit.query,
        like=state,
        lots=" ".join(str(size) for size in sizes),
    )


def _sizes(query: Form) -> tuple[int, ...]:
    """Return the lot sizes that were typed, parted by blanks, commas or slashes.

    Raises
    ------
    BadInput
        If one is no whole number from 1.
    """
    # A number pad has no blank: a slash parts two sizes as well.
    typed = re.findall(r"[^\s,;/]+", given(query, "lots"))[:_MOST_LOTS]
    return tuple(
        whole({"lots": one}, "lots", "A lot size", least=1, most=_MOST_JARS) for one in typed
    )


def _prices(form: Form) -> PricesKept:
    """Return the prices that are the same for every job."""
    return PricesKept(
        money=given(form, "money"),
        work_cost_per_h=_price(form, "work_cost_per_h"),
        cleaner_per_litre=_price(form, "cleaner_per_litre"),
        air_cost_per_m3=_price(form, "air_cost_per_m3"),
    )


def _price(form: Form, field: str) -> Decimal | None:
    """Return a price, or None where none was typed."""
    return figure(form, field, "A price", least=0) if given(form, field) else None


def _losses(form: Form, number: str) -> LossesNoted:
    """Return what was lost beside the weighings."""

    def amount(field: str, name: str) -> Decimal | None:
        return figure(form, field, name, least=0) if given(form, field) else None

    return LossesNoted(
        job=number,
        flushed_kg=amount("flushed_kg", "The purge"),
        hopper_kg=amount("hopper_kg", "What stayed in the hopper"),
        cleaner_l=amount("cleaner_l", "The cleaner"),
        work_min=amount("work_min", "Work beside the bench"),
        is_purge_back=is_ticked(form, "is_purge_back"),
        is_trim_back=is_ticked(form, "is_trim_back"),
    )


def _asked(visit: Visit, state: JobState) -> _Asked:
    """Return what the forms begin with."""
    site, facts = visit.desk.book.site(), state.known
    return _Asked(
        prices=site.prices,
        losses=site.losses.get(state.number, LossesNoted(job=state.number)),
        product_cost_per_kg=site.prices.of_product(facts.product.name),
        container_cost_each=site.prices.of_container(facts.container.name),
    )


def _no_job(visit: Visit) -> Response:
    """Say that there is no such job."""
    words = f"There is no job {visit.number}. Open the job list to see the numbers."
    return plain_page(
        visit,
        status=404,
        headline="No such job.",
        words=words if visit.number else "Nothing was filled yet. Open a job first.",
    )


ROUTES: list[Route] = [
    route("/job/{number}/cost", _show, needs_person=True),
    route("/job/{number}/cost/{what}", _press, method="POST", needs_person=True),
    route("/job/{number}/cost.pdf", _print_cost),
    route("/quote", _quote, needs_person=True),
    route("/quote.pdf", _print_quote),
]
