"""The order of repairs against every order, and the worth of a check by hand."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.questions.asking import answer
from fillwright.science.faults_order import CALL_KEY, Planned, check_value, order_repairs


def actions(chances, costs, repairs=(0.0,) * 7):
    """Actions named a, b, c and so on."""
    rows = zip("abcdefg", chances, costs, repairs, strict=False)
    return [Planned(key=k, chance=p, cost=c, repair=r) for k, p, c, r in rows]


def walked(order, call_cost):
    """Expected cost of one order, step by step."""
    left, total = 1.0, 0.0
    for action in order:
        total += left * action.cost + action.chance * action.repair
        left -= action.chance
    return total + (left * call_cost if call_cost is not None else 0.0)


@pytest.mark.parametrize(
    ("chances", "costs", "keys", "cost"),
    [
        ((0.5, 0.3, 0.2), (10, 3, 4), "bac", 10.8),
        ((0.40, 0.35, 0.15, 0.10), (8, 5, 1, 4), "cbad", 9.65),
    ],
)
def test_worked_orders(chances, costs, keys, cost):
    """Two orders worked out by hand over all permutations."""
    found = order_repairs(actions(chances, costs))

    assert "".join(found.keys) == keys
    assert found.expected_cost == pytest.approx(cost, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "keys", "cost"), [(35, ("a", "c"), 25.0), (60, ("a", "c", "b"), 29.25)]
)
def test_a_call_ends_the_order_where_it_is_cheaper(call, keys, cost):
    """A dear repair is left to the call; with a dearer call it is done first."""
    found = order_repairs(actions((0.45, 0.25, 0.20), (10, 30, 5)), call_cost=call, unknown=0.1)

    assert found.keys == (*keys, CALL_KEY)
    assert found.expected_cost == pytest.approx(cost, rel=1e-12)


def test_a_look_decides_what_is_repaired():
    """Looks by falling chance over the cost of the look."""
    found = order_repairs(actions((0.5, 0.3, 0.2), (0.5, 20, 0.5), (3, 5, 4)))

    assert found.keys == ("a", "c", "b")
    assert found.expected_cost == pytest.approx(10.55, rel=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_no_order_is_cheaper(seed):
    """Against every order of every subset of five actions, with a call at the end."""
    rng = np.random.default_rng(seed)
    chances = rng.dirichlet(np.ones(6))[:5]
    some = actions(chances, rng.uniform(1, 20, 5), rng.uniform(0, 10, 5))
    best = min(walked(order, 40.0) for size in range(6) for order in permutations(some, size))

    assert order_repairs(some, call_cost=40.0).expected_cost == pytest.approx(best, rel=1e-9)


def test_a_check_that_does_not_pay():
    """Valve, glide, hopper: the test costs more than it saves; break-even by hand."""
    found = check_value(
        actions((0.40, 0.35, 0.25), (20, 25, 4)), cost=6, shows={"a": 0.9, "b": 0.3, "c": 0.05}
    )

    assert found.without == pytest.approx(27.75, rel=1e-12)
    assert found.with_check == pytest.approx(28.5525, rel=1e-12)
    assert found.break_even == pytest.approx(5.1975, rel=1e-9)


def test_a_check_that_tells_nothing_costs_what_it_costs():
    """Showing alike for every cause it adds its own cost and nothing else."""
    found = check_value(actions((0.6, 0.4), (3, 5)), cost=2.5, shows={"a": 0.3, "b": 0.3})

    assert found.with_check - found.without == pytest.approx(2.5, rel=1e-12)


def test_chances_above_one_are_refused():
    """One fault is there: its chances add to one at most."""
    with pytest.raises(BadInput, match="add to 1 at most") as e:
        order_repairs(actions((0.7, 0.6), (1, 1)))

    assert e.value.code == "inconsistent"


@pytest.mark.parametrize(
    ("name", "given", "told"),
    [
        ("fault-next", {"present": ["wobble"]}, "no finding 'wobble'"),
        ("fault-next", {"present": ["drip"], "absent": ["drip"]}, "as present and as absent"),
        ("fault-next", {"present": [], "signature": {"odd": 1}}, "no class 'odd'"),
        ("fault-next", {"present": [], "done": ["hammer"]}, "no check or repair 'hammer'"),
        ("repair-order", {"actions": [{"id": "a", "p": 0.5, "look": 1}]}, "look and repair"),
        ("repair-order", {"actions": [{"id": "a", "p": 0.5}, {"id": "a", "p": 0.2}]}, "twice"),
        (
            "check-value",
            {"causes": [{"id": "a", "p": 1, "cost": 1}], "check": {"cost": 1, "shows": {"b": 1}}},
            "no cause 'b'",
        ),
    ],
)
def test_wrong_input_is_refused_in_words(name, given, told):
    """A name that is not known, or figures that do not go together."""
    with pytest.raises(BadInput, match=told):
        answer(name, given)
