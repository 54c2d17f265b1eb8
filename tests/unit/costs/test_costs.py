"""What a lot costs, what scatter is worth, and a quote: against sums written out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.science.costs import Amount, Price, lot_cost, quote, scatter_worth

PRICES = {
    Price.PRODUCT: 8.0,
    Price.CONTAINER: 0.35,
    Price.WORK: 36.0 / 3600.0,
    Price.CLEANER: 2_000.0,
    Price.AIR: 0.03,
}


def test_a_lot_costs_the_sum_of_its_parts():
    """Two lots, every part as amount times price, added up beside the test."""
    cost = lot_cost(
        {
            Amount.LABEL: [25.0, 50.0],
            Amount.CONTAINERS: [100.0, 200.0],
            Amount.GIVEAWAY: [0.15, 0.2],
            Amount.PURGE: [1.2, 1.0],
            Amount.AIR: [2.0, 4.0],
            Amount.SET_UP: [1_800.0, 2_400.0],
            Amount.CLEANER: [0.004, 0.004],
        },
        PRICES,
        containers=[100, 200],
    )

    # Sold: 25 x 8 + 100 x 0.35 = 235; 50 x 8 + 200 x 0.35 = 470.
    assert cost.sold == pytest.approx([235.0, 470.0])
    # On top: 1.20 + 9.60 + 0.06 + 18 + 8 = 36.86; 1.60 + 8 + 0.12 + 24 + 8 = 41.72.
    assert cost.on_top == pytest.approx([36.86, 41.72])
    # Each: 271.86 over 100, 511.72 over 200.
    assert cost.each == pytest.approx([2.7186, 2.5586])
    # Over both lots: set up 42, purge 17.6, cleaner 16, giveaway 2.8, air 0.18.
    assert [part.what for part in cost.ranked] == [
        Amount.SET_UP,
        Amount.PURGE,
        Amount.CLEANER,
        Amount.GIVEAWAY,
        Amount.AIR,
    ]


def test_what_is_missing_is_named_and_not_taken_as_nothing():
    """A part without a price or an amount has no cost, and says which of the two it lacks."""
    cost = lot_cost(
        {Amount.LABEL: 25.0, Amount.CLEANER: 0.004, Amount.HOPPER: None, Amount.FAULT: 0.0},
        {Price.PRODUCT: 8.0},
        containers=100,
    )

    told = {part.what: (part.cost is None, part.missing) for part in cost.parts}
    assert told[Amount.CLEANER] == (True, ("price",))
    assert told[Amount.HOPPER] == (True, ("amount",))
    assert told[Amount.FAULT] == (False, ())
    assert cost.missing_prices == (Price.CLEANER,)
    assert cost.missing_amounts == (Amount.HOPPER,)
    assert cost.on_top == pytest.approx([0.0])


def test_jars_below_the_label_take_off_what_they_lack():
    """A negative giveaway makes the lot cheaper, as the product in it is."""
    cost = lot_cost(
        {Amount.LABEL: 25.0, Amount.GIVEAWAY: -0.5}, {Price.PRODUCT: 8.0}, containers=100
    )

    assert cost.each == pytest.approx([(200.0 - 4.0) / 100.0])


def test_scatter_is_worth_what_the_aim_comes_down():
    """Ten thousand jars a year, 0.4 g lower, at 8 a kilogram: 0.0004 x 10 000 x 8 = 32."""
    worth = scatter_worth(0.2516, 0.2512, containers=10_000, product_price=8.0)

    assert float(worth) == pytest.approx(32.0)
    assert float(scatter_worth(0.25, 0.25, containers=10_000, product_price=8.0)) == 0.0


def test_a_quote_from_two_jobs_by_hand():
    """T = F + (v + c) N, and the range from t(0.9; 1) = 3.0777 on the logarithms."""
    found = quote([50.0, 80.0], [0.10, 0.20], sold_each=1.0, lot_sizes=[100, 400])

    # 50 + 110 = 160 and 80 + 120 = 200; 50 + 440 = 490 and 80 + 480 = 560.
    logs = (math.log(160.0), math.log(200.0))
    middle = (logs[0] + logs[1]) / 2.0
    sd = (logs[1] - logs[0]) / math.sqrt(2.0)
    half = 3.0777 * sd * math.sqrt(1.5)
    assert found.rests_on == 2
    assert found.middle == pytest.approx([math.sqrt(160.0 * 200.0), math.sqrt(490.0 * 560.0)])
    assert found.low[0] == pytest.approx(math.exp(middle - half), rel=1e-4)
    assert found.high[0] == pytest.approx(math.exp(middle + half), rel=1e-4)


def test_one_job_gives_a_middle_and_no_range():
    """Nothing is known of how jobs differ from a single one."""
    found = quote([60.0], [0.1], sold_each=0.5, lot_sizes=[100])

    assert (found.low, found.high, found.rests_on) == (None, None, 1)


@pytest.mark.parametrize("jobs", [2, 3, 5, 10])
def test_the_next_job_lies_in_the_range_as_often_as_it_says(jobs):
    """Of 4000 drawn workshops, 80 % have their next job inside, within sampling error."""
    rng = np.random.Generator(np.random.PCG64(20_260))
    runs, inside = 4_000, 0
    logs = rng.normal(4.0, 0.3, size=(runs, jobs + 1))
    for row in np.exp(logs):
        found = quote(row[:-1], np.zeros(jobs), sold_each=0.0, lot_sizes=[100])
        inside += bool(found.low[0] <= row[-1] <= found.high[0])

    assert inside / runs == pytest.approx(0.8, abs=3.5 * math.sqrt(0.16 / runs))


def test_an_empty_workshop_gives_no_quote():
    """Without an earlier job there is nothing to rest a quote on."""
    with pytest.raises(BadInput, match="at least one"):
        quote([], [], sold_each=1.0, lot_sizes=[100])


def test_a_negative_price_is_refused():
    """A price below nothing is a slip."""
    with pytest.raises(BadInput, match="price of product"):
        lot_cost({Amount.LABEL: 1.0}, {Price.PRODUCT: -8.0}, containers=10)
