"""Costs and the check of a kept proof: what holds whatever the figures are."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fillwright.science.costs import Amount, Price, lot_cost, quote, scatter_worth
from fillwright.science.kept_proof import kept_check, overlooked

amounts = st.dictionaries(
    st.sampled_from(list(Amount)), st.floats(0.0, 1e5, allow_subnormal=False), min_size=1
)
prices = st.fixed_dictionaries({kind: st.floats(0.0, 1e3) for kind in Price})
counts = st.integers(1, 100_000)


@given(amounts, prices, counts)
def test_a_lot_costs_what_is_sold_and_what_comes_on_top(amount, price, many):
    """The two halves make the whole, part by part, and each times the count too."""
    cost = lot_cost(amount, price, containers=many)

    whole = sum(float(part.cost[0]) for part in cost.parts)
    assert float(cost.sold[0] + cost.on_top[0]) == pytest.approx(whole, rel=1e-9, abs=1e-9)
    assert float(cost.each[0]) * many == pytest.approx(whole, rel=1e-9, abs=1e-9)
    ranked = [float(part.cost[0]) for part in cost.ranked]
    assert ranked == sorted(ranked, reverse=True)


@given(amounts, prices, counts)
def test_twice_the_prices_are_twice_the_cost(amount, price, many):
    """A cost is scale-free: another money gives the same order."""
    once = lot_cost(amount, price, containers=many)
    twice = lot_cost(amount, {k: 2 * v for k, v in price.items()}, containers=many)

    assert float(twice.each[0]) == pytest.approx(2 * float(once.each[0]), rel=1e-12)
    assert [p.what for p in twice.ranked] == [p.what for p in once.ranked]


@given(
    st.lists(st.tuples(st.floats(1.0, 1e3), st.floats(0.0, 5.0)), min_size=2, max_size=6),
    st.lists(st.integers(1, 10_000), min_size=2, max_size=4, unique=True),
)
def test_a_larger_lot_costs_more_in_all_and_less_each(jobs, sizes):
    """The fixed part is shared by more; the middle lies in its range."""
    found = quote(
        [fixed for fixed, _ in jobs],
        [each for _, each in jobs],
        sold_each=1.0,
        lot_sizes=sorted(sizes),
    )

    whole, each = found.middle, found.middle / found.lot_sizes
    assert all(a < b for a, b in itertools.pairwise(whole))
    assert all(a > b for a, b in itertools.pairwise(each))
    assert all(found.low <= whole)
    assert all(whole <= found.high)


@given(st.floats(0.1, 1.0), st.floats(0.1, 1.0), counts, st.floats(0.0, 100.0))
def test_scatter_is_never_worth_less_than_nothing(high, low, many, price):
    """An aim that goes up saves nothing."""
    worth = float(scatter_worth(high, low, containers=many, product_price=price))

    assert worth == pytest.approx(max(high - low, 0.0) * many * price)


@given(st.floats(1e-5, 1e-2), st.integers(5, 60), st.integers(3, 10), st.floats(0.0, 1e-3))
def test_more_doubt_gives_wider_limits(sd, kept, shots, trim):
    """A wider spread or a coarser trim lets more pass; the limits lie about the aim."""
    check = kept_check(sd, kept_shots=kept, target=0.5, trim_sd=trim, shots=shots)
    wide = kept_check(2 * sd, kept_shots=kept, target=0.5, trim_sd=trim, shots=shots)

    assert check.mean_low < 0.5 < check.mean_high
    assert wide.mean_high > check.mean_high
    assert wide.most_sd == pytest.approx(2 * check.most_sd)
    assert check.most_sd > sd


@given(st.integers(5, 60), st.floats(0.0, 2.0), st.floats(1.0, 4.0), st.floats(0.0, 4.0))
def test_a_larger_change_is_overlooked_less(kept, trim, ratio, shift):
    """Both kinds of change; with none it is one less a false alarm that keeps its bound."""
    now = overlooked(kept_shots=kept, shots=5, trim_ratio=trim, shift_ratio=shift)
    more = overlooked(kept_shots=kept, shots=5, trim_ratio=trim, shift_ratio=shift + 0.5)
    wide = overlooked(kept_shots=kept, shots=5, trim_ratio=trim, spread_ratio=ratio)
    none = overlooked(kept_shots=kept, shots=5, trim_ratio=trim)

    assert more <= now + 1e-12
    assert wide <= none + 1e-12
    assert 0.949 <= none <= 1.0
