"""The order of a day's jobs against every order there is."""

from __future__ import annotations

import math
from itertools import permutations

import numpy as np
import pytest

import fillwright
from fillwright.errors import BadInput
from fillwright.science import changeover
from fillwright.science.changeover import DayJob, Rules, cost_of, order_day


def ask(question, **given):
    """Ask a question with its input as words."""
    return fillwright.ask(question, given)


TABLES = {
    "allergen": {"none->any": 0.0, "any->none": 60.0, "any->other": 60.0},
    "colour": {"light->dark": 5.0, "dark->light": 30.0},
    "scent": {"none->scented": 5.0, "scented->none": 45.0},
    "base": {"water->oil": 25.0, "oil->water": 40.0},
}
FOUR = [
    {"id": "A", "minutes": 40, "due_min": 240, "colour": "light", "scent": "none"},
    {"id": "B", "minutes": 30, "due_min": 90, "colour": "dark", "scent": "scented"},
    {"id": "C", "minutes": 50, "due_min": 400, "colour": "light", "scent": "none"},
    {"id": "D", "minutes": 20, "due_min": 300, "colour": "light", "scent": "scented"},
]
for row in FOUR:
    row |= {"base": "oil" if row["id"] == "C" else "water", "parts": "one"}
FOUR[2]["allergen"] = "nut"


def _drawn(rng, size):
    """Jobs with attributes and due times at random."""
    return [
        DayJob(
            name=str(place),
            duration=float(rng.integers(10, 60)),
            due=float(rng.integers(40, 60 * size)) if rng.random() < 0.7 else math.inf,
            attributes={
                "allergen": str(rng.choice(["none", "nut", "milk"])),
                "colour": str(rng.choice(["light", "dark"])),
                "scent": str(rng.choice(["none", "scented"])),
                "base": str(rng.choice(["water", "oil"])),
            },
        )
        for place in range(size)
    ]


@pytest.mark.parametrize("seed", range(12))
def test_no_order_of_up_to_seven_is_better(seed):
    """Brute force over all orders, with and without forbidden pairs, finds no cheaper one."""
    rng = np.random.default_rng(seed)
    jobs = _drawn(rng, int(rng.integers(1, 8)))
    forbidden = frozenset({("nut", "milk")} if seed % 2 else ())
    rules = Rules(base=10.0, tables=TABLES, default={}, forbidden=forbidden)
    weight = float(rng.choice([0.0, 1.0, 5.0]))
    every = [
        cost_of(jobs, order, rules, lateness_weight=weight).cost
        for order in permutations(range(len(jobs)))
    ]

    if math.isinf(min(every)):
        with pytest.raises(BadInput, match="forbid"):
            order_day(jobs, rules, lateness_weight=weight)
        return
    found = order_day(jobs, rules, lateness_weight=weight)

    assert found.is_exact
    assert found.cost == pytest.approx(min(every))


def test_four_jobs_worked_by_hand():
    """Order D B A C takes 10 + 15 + 55 + 35 min; nothing is late, nothing better."""
    found = ask("day-order", jobs=FOUR, lateness_weight=5)

    assert found["order"] == ["D", "B", "A", "C"]
    assert found["changeovers_min"] == [10, 15, 55, 35]
    assert (found["changeover_min"], found["lateness_min"], found["cost"]) == (115, 0, 115)
    turned = next(other for other in found["others"] if other["name"] == "turned round")
    assert turned["cost"] > 115


def test_a_forbidden_pair_is_never_ordered():
    """A rule that forbids nut before none puts the nut last, or refuses."""
    found = ask(
        "day-order",
        jobs=FOUR,
        lateness_weight=0,
        changeover_rules={"forbidden": [["nut", "none"]]},
    )
    assert found["order"][-1] == "C"

    both = [["nut", "none"], ["none", "nut"]]
    with pytest.raises(BadInput, match="forbid"):
        ask("day-order", jobs=FOUR, lateness_weight=0, changeover_rules={"forbidden": both})


@pytest.mark.parametrize("seed", range(4))
def test_many_jobs_come_near_the_best(seed):
    """What is used above twelve jobs is within a tenth of the best for nine."""
    jobs = _drawn(np.random.default_rng(seed), 9)
    rules = Rules(base=10.0, tables=TABLES, default={})
    best = order_day(jobs, rules, lateness_weight=2.0).cost

    nearly = changeover._nearly(jobs, rules, 2.0)

    assert cost_of(jobs, nearly, rules, lateness_weight=2.0).cost <= 1.1 * best


def test_thirteen_jobs_are_said_not_to_be_exact():
    """Above twelve the answer says that it is not proved best."""
    jobs = _drawn(np.random.default_rng(3), 13)
    found = order_day(jobs, Rules(base=10.0, tables=TABLES, default={}), lateness_weight=1.0)

    assert not found.is_exact
    assert sorted(found.order) == list(range(13))


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"jobs": [FOUR[0], FOUR[0]]}, "twice"),
        ({"jobs": FOUR, "changeover_rules": {"tables": {"mood": {}}}}, "mood"),
        ({"jobs": FOUR, "changeover_rules": {"tables": {"base": {"oil": 3}}}}, "from->to"),
    ],
)
def test_what_cannot_be_ordered_is_refused(given, said):
    """A job twice, an attribute that is none, a pair without an arrow."""
    with pytest.raises(BadInput, match=said):
        ask("day-order", lateness_weight=1, **given)
