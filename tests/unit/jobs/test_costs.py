"""The cost page and the quote, on jobs whose sums are written beside the test."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from tests.fakes.workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.money import costs, quotes
from fillwright.jobs.money.prices import keep_prices, money_words, note_losses, prices_for
from fillwright.jobs.opening import open_job
from fillwright.records.book import stream_of
from fillwright.records.entries import ContainersSettled, LossesNoted, PricesKept
from fillwright.science.costs import Price


def priced(shop):
    """Say what everything costs."""
    keep_prices(
        shop.desk,
        shop.facts,
        PricesKept(
            money="EUR",
            work_cost_per_h=Decimal(36),
            cleaner_per_litre=Decimal(2),
            air_cost_per_m3=Decimal("0.03"),
        ),
        shop.press,
        product_cost_per_kg=Decimal(8),
        container_cost_each=Decimal("0.35"),
    )
    return shop


def test_a_jar_costs_what_its_parts_add_up_to():
    """Label and jar, giveaway, trim, minutes: each an amount times its price, by hand."""
    shop = priced(Workshop().to_finished())
    note_losses(
        shop.desk,
        LossesNoted(job=shop.number, hopper_kg=Decimal("0.5"), cleaner_l=Decimal(3)),
        shop.press,
    )

    seen = costs.look(shop.desk, shop.number)

    use = seen.use
    work = sum(use.minutes.values()) * 36 / 60
    on_top = 120 * use.giveaway_g / 1000 * 8 + 0.504 * 8 + 0.5 * 8 + 3 * 2 + work
    sold = 120 * (0.25 * 8 + 0.35)
    assert seen.headline == f"One jar costs {(sold + on_top) / 120:.2f} EUR."
    assert f"{sold / 120:.2f} EUR is what the buyer gets" in seen.why
    bars = [line.bar_pct for line in seen.lines if line.name != "all smaller parts"]
    assert bars[0] == 100.0
    assert bars == sorted(bars, reverse=True)


def test_what_has_no_price_or_amount_is_said():
    """Nothing is taken as nothing: the page names each, and still reckons the rest."""
    shop = Workshop().to_finished()
    keep_prices(
        shop.desk,
        shop.facts,
        PricesKept(),
        shop.press,
        product_cost_per_kg=Decimal(8),
        container_cost_each=None,
    )

    seen = costs.look(shop.desk, shop.number)

    assert "No price for a 250 mL jar with its lid." in seen.missing
    assert "No price for an hour of work." in seen.missing
    assert any("purge was not weighed" in line for line in seen.missing)
    assert any("litres of cleaner" in line for line in seen.missing)
    assert seen.has_prices


def test_without_a_price_the_page_asks_for_one():
    """The first thing is then to say what things cost."""
    shop = Workshop().to_finished()

    assert costs.look(shop.desk, shop.number).headline == "Say what things cost."


def test_nothing_filled_has_no_cost():
    """A job that filled nothing yet says so."""
    shop = Workshop()

    with pytest.raises(BadInput, match="Nothing was filled yet"):
        costs.look(shop.desk, shop.number)


def test_prices_of_other_products_stay():
    """A price that is taken away is that of this product alone."""
    shop = priced(Workshop())
    oil = job(product={"name": "Massage oil"})

    keep_prices(
        shop.desk,
        oil,
        shop.desk.book.site().prices,
        shop.press,
        product_cost_per_kg=Decimal(11),
        container_cost_each=None,
    )

    assert prices_for(shop.desk, shop.facts)[Price.PRODUCT] == 8.0
    assert prices_for(shop.desk, oil)[Price.PRODUCT] == 11.0
    # The container is the same one, and its price was taken away with the oil.
    assert prices_for(shop.desk, shop.facts)[Price.CONTAINER] is None
    assert prices_for(shop.desk, oil)[Price.WORK] == pytest.approx(0.01)


def test_a_price_below_nothing_is_refused():
    """A negative price is a slip, and nothing is kept."""
    shop = Workshop()

    with pytest.raises(BadInput, match="A price of -8"):
        keep_prices(
            shop.desk,
            shop.facts,
            PricesKept(),
            shop.press,
            product_cost_per_kg=Decimal(-8),
            container_cost_each=None,
        )

    assert shop.desk.book.site().prices == PricesKept()


@pytest.mark.parametrize("sd_g", ["0.3", "1.8"])
def test_scatter_costs_where_it_sets_the_aim(sd_g):
    """A small spread leaves the aim to the trim; a wide one moves it, jar by jar."""
    shop = priced(Workshop(job(expected_sd_pct=Decimal(sd_g) / Decimal("2.5"))).to_setup())
    facts = shop.facts
    sd_pct, is_measured = costs.sd_known(shop.state)

    words = costs._scatter(shop.desk, shop.state, 10_000, prices_for(shop.desk, facts), "EUR")

    assert not is_measured
    assert f"Spread {sd_pct} % (taken, not measured)." in words
    if sd_g == "0.3":
        assert "It costs no product" in words
    else:
        low, high = (
            costs.market_aims(shop.desk, facts, sd_pct=sd_pct - less)[0].least_g
            for less in (Decimal("0.1"), Decimal(0))
        )
        # Grams times 10 000 jars times 8 a kilogram.
        assert money_words((high - low) / 1000 * 10_000 * 8, "EUR") in words


def test_a_year_counts_the_jars_of_the_last_365_days():
    """A job of last year does not count, nor one of another container."""
    shop = priced(Workshop().to_finished())
    assert costs._in_a_year(shop.desk, shop.facts) == 120

    shop.clock.go(366 * 86_400)
    again(shop, "0418", 1)

    assert costs._in_a_year(shop.desk, shop.facts) == 120
    other = replace(shop.facts, container=replace(shop.facts.container, name="Tub"))
    assert costs._in_a_year(shop.desk, other) == 0


def again(shop, number, scrapped):
    """Copy the finished job under another number, with so many scrapped."""
    facts = replace(shop.facts, number=number, lot_code=f"L-{number}")
    open_job(shop.desk, facts, shop.press)
    copied = [entry.payload for entry in shop.entries()[1:]]
    shop.tell(*copied, stream=stream_of(number))
    shop.tell(
        ContainersSettled(first=1, last=scrapped, outcome="scrapped", reason="dented"),
        stream=stream_of(number),
    )


def test_a_quote_rests_on_jobs_like_it_and_says_how_many():
    """One job gives a middle and no range; two give both, and larger lots cost less each."""
    shop = priced(Workshop().to_finished())

    alone = quotes.look(shop.desk, shop.number, (100, 400))
    again(shop, "0418", 12)
    both = quotes.look(shop.desk, shop.number, (100, 400))

    assert alone.rests_on == ("0417",)
    assert alone.lines[0].each_range == "no range"
    assert "one earlier job" in alone.why
    assert set(both.rests_on) == {"0417", "0418"}
    assert "2 earlier jobs; 8 in 10" in both.why
    assert " to " in both.lines[0].whole_range
    small, large = (float(line.each.split()[0]) for line in both.lines)
    assert small > large > 2.35


def test_a_quote_without_a_finished_job_or_price_says_what_is_wanted():
    """Neither is made up."""
    shop = Workshop()
    with pytest.raises(BadInput, match="Nothing has a price yet"):
        quotes.look(shop.desk, shop.number, (100,))
    priced(shop)

    with pytest.raises(BadInput, match="No job like this one was finished"):
        quotes.look(shop.desk, shop.number, (100,))


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (3.456, "3.46 EUR"),
        (0.0043, "0.0043 EUR"),
        (12_345.6, "12\u202f346 EUR"),
        (0.0, "0.00 EUR"),
    ],
)
def test_money_is_said_with_the_digits_that_matter(value, words):
    """Large sums without cents, tiny ones with four places."""
    assert money_words(value, "EUR") == words
