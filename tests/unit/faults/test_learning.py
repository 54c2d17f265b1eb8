"""What closed cases teach, by hand."""

from __future__ import annotations

import pytest

from fillwright.knowledge.faults_load import fault_book
from fillwright.science.faults import net_of
from fillwright.science.faults_learn import ClosedCase, learn

BOOK = fault_book()
TOTAL = sum(cause.weight for cause in BOOK.causes.values())


def test_without_cases_nothing_changes():
    """The shipped shares stay, and no link is learned."""
    found = learn(BOOK, [])

    assert found.weights["lock_open"].learned == pytest.approx(4.5 / TOTAL, rel=1e-12)
    assert (found.links, found.leaks, found.cases) == ({}, {}, 0)


def test_sixty_cases_weigh_as_much_as_what_was_shipped():
    """All of one cause: half of what was shipped, and half."""
    found = learn(BOOK, [ClosedCase(causes=("lumps",))] * 60).weights["lumps"]

    assert found.learned == pytest.approx(0.5 * 2.5 / TOTAL + 0.5, rel=1e-12)
    assert found.count == 60


def test_a_link_is_learned_through_its_total_rate():
    """Nine of twelve showed: the mean of shipped rate and record, then the leak taken out."""
    cases = [
        ClosedCase(causes=("lock_open",), present=frozenset(["dose_creep"])),
    ] * 9 + [ClosedCase(causes=("lock_open",), absent=frozenset(["dose_creep"]))] * 3
    found = learn(BOOK, cases).links["lock_open", "dose_creep"]
    rate = 0.5 * (1.0 - 0.98 * 0.1) + 0.5 * 9 / 12

    assert found.learned == pytest.approx(1.0 - (1.0 - rate) / 0.98, rel=1e-12)
    assert (found.shipped, found.count) == (0.9, 12)


def test_a_link_never_falls_below_nothing():
    """A finding that never shows leaves a link of nothing, not less."""
    case = ClosedCase(causes=("lock_open",), absent=frozenset(["dose_high"]))
    found = learn(BOOK, [case] * 5_000).links["lock_open", "dose_high"]

    assert found.learned == 0.0


def test_two_causes_teach_shares_and_no_link():
    """With two causes nobody knows which made it show."""
    both = ClosedCase(causes=("lumps", "lock_open"), present=frozenset(["dose_spread"]))
    found = learn(BOOK, [both])

    assert found.links == {}
    assert found.weights["lumps"].count == found.weights["lock_open"].count == 1


def test_a_leak_is_learned_where_no_cause_makes_it_show():
    """A finding answered without its causes moves its leak."""
    case = ClosedCase(causes=("lock_open",), present=frozenset(["bubbles"]))
    found = learn(BOOK, [case] * 3).leaks["bubbles"]

    assert found.learned == pytest.approx((12 * 0.03 + 3) / 15, rel=1e-12)


def test_minutes_are_drawn_towards_the_shipped_ones():
    """The median of three with a weight of three against five."""
    cases = [ClosedCase(causes=("lumps",), minutes={"sieve": m}) for m in (20.0, 31.0, 90.0)]
    found = learn(BOOK, cases).minutes["sieve"]

    assert found.learned == pytest.approx((5 * 15.0 + 3 * 31.0) / 8, rel=1e-12)


def test_learned_figures_take_the_place_of_shipped_ones():
    """The net holds them where they are given and the shipped ones elsewhere."""
    net = net_of(
        BOOK,
        weights={"lumps": 9.0},
        strengths={("lumps", "outlier"): 0.5},
        chances={"outlier": 0.2},
    )
    row, column = net.place_of_cause["lumps"], net.place_of_finding["outlier"]

    assert (net.weights[row], net.links[row, column], net.leaks[column]) == (9.0, 0.5, 0.2)
    assert net.weights[net.place_of_cause["lock_open"]] == 4.5
