"""What can be done about a fault, as arrays for the planner; nothing unsafe is among it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import numpy as np

from fillwright.knowledge.faults_types import Costs, FaultBook
from fillwright.science.faults import Evidence, FaultNet
from fillwright.science.faults_plan import Menu, Situation, bundle_of, outcomes_of

__all__ = ["WALK", "menu_of", "open_walk", "shown_by", "situation_of"]

WALK: Final = "walk-round"
_LEAST_OF_A_WALK: Final = 2


def shown_by(book: FaultBook, repair: str) -> str:
    """Return the finding that shows the cause that a repair is for.

    Parameters
    ----------
    book : FaultBook
        The data.
    repair : str
        Name of the repair.

    Returns
    -------
    str
        Of the findings of its look, the one that is linked most with what it ends best.
    """
    row = book.repairs[repair]
    look = book.checks[row.confirm].findings

    def strength(finding: str) -> float:
        return max(
            cures * book.causes[cause].links.get(finding, 0.0)
            for cause, cures in row.fixes.items()
        )

    return max(look, key=strength)


def cost_of(costs: Costs, minutes: float, product_ml: float) -> float:
    """Return what a step costs.

    Parameters
    ----------
    costs : Costs
        Rates.
    minutes : float
        Hands-on time. [min]
    product_ml : float
        Product lost. [mL]

    Returns
    -------
    float
        In the minutes of the site. [min]
    """
    return minutes * costs.minute + product_ml * costs.product_ml


def open_walk(book: FaultBook, evidence: Evidence, skipped: Iterable[str] = ()) -> tuple[str, ...]:
    """Return the quick looks that are still to be made in one walk.

    Parameters
    ----------
    book : FaultBook
        The data.
    evidence : Evidence
        What was found.
    skipped : iterable of str
        Checks that cannot be made.

    Returns
    -------
    tuple of str
        Names of checks; empty where fewer than two are left.
    """
    known = evidence.present | evidence.absent
    gone = set(skipped)
    left = tuple(
        name
        for name in book.walk_checks
        if name not in gone and book.checks[name].findings[0] not in known
    )
    return left if len(left) >= _LEAST_OF_A_WALK else ()


def menu_of(
    book: FaultBook,
    net: FaultNet,
    evidence: Evidence,
    *,
    costs: Costs | None = None,
    minutes: Mapping[str, float] | None = None,
    walk: Sequence[str] = (),
) -> Menu:
    """Return what can be done, without what is kept for a qualified technician.

    Parameters
    ----------
    book : FaultBook
        The data.
    net : FaultNet
        Its net.
    evidence : Evidence
        What was found; only the findings left open make outcomes.
    costs : Costs, optional
        Rates of the site. [min]
    minutes : mapping of str to float, optional
        Learned minutes of checks and repairs. [min]
    walk : sequence of str
        Quick looks of one walk.

    Returns
    -------
    Menu
        For the planner.
    """
    rates, took = costs or book.costs, minutes or {}
    repairs = tuple(key for key, row in book.repairs.items() if row.is_offered)
    checks = (*book.checks, *([WALK] if walk else []))
    place = net.place_of_finding
    cures = np.zeros((len(repairs), len(net.causes)))
    shown = np.zeros_like(cures)
    for row, key in enumerate(repairs):
        for cause, chance in book.repairs[key].fixes.items():
            cures[row, net.place_of_cause[cause]] = chance
        shown[row] = net.shows[:, place[shown_by(book, key)]]
    names = list(checks)
    look_of = np.array([names.index(book.repairs[key].confirm) for key in repairs], dtype=np.intp)
    known = evidence.present | evidence.absent
    outcomes = []
    prices = []
    for at, name in enumerate(checks):
        if name == WALK:
            spots = tuple(place[book.checks[one].findings[0]] for one in walk)
            looks = np.isin(look_of, [names.index(one) for one in walk])
            outcomes.append(bundle_of(net, spots, looks))
            share = book.walk_minutes * len(walk) / len(book.walk_checks)
            prices.append(cost_of(rates, share, 0.0))
            continue
        check = book.checks[name]
        left = tuple(place[one] for one in check.findings if one not in known)
        outcomes.append(outcomes_of(net, left, look_of == at))
        prices.append(cost_of(rates, took.get(name, check.minutes), check.product_ml))
    repair_cost = [
        cost_of(rates, took.get(key, book.repairs[key].minutes), book.repairs[key].product_ml)
        for key in repairs
    ]
    return Menu(
        repairs=repairs,
        cures=cures,
        shown=shown,
        repair_cost=np.array(repair_cost),
        look_of=look_of,
        checks=checks,
        check_cost=np.array(prices),
        outcomes=tuple(outcomes),
        call_cost=rates.technician_call,
    )


def situation_of(
    book: FaultBook, menu: Menu, evidence: Evidence, *, done: Iterable[str], skipped: Iterable[str]
) -> Situation:
    """Return what has been done already, for the planner.

    Parameters
    ----------
    book : FaultBook
        The data.
    menu : Menu
        What can be done.
    evidence : Evidence
        What was found.
    done : iterable of str
        Repairs that were made without a cure.
    skipped : iterable of str
        Checks that cannot be made.

    Returns
    -------
    Situation
        A repair whose look cannot be made, or showed nothing, costs its full repair.
    """
    known = evidence.present | evidence.absent
    gone, made = set(skipped), set(done)

    def is_open(name: str) -> bool:
        if name in gone:
            return False
        return name == WALK or not known.issuperset(book.checks[name].findings)

    looked = [
        shown_by(book, key) in known or book.repairs[key].confirm in gone for key in menu.repairs
    ]
    return Situation(
        open_repairs=np.array([key not in made for key in menu.repairs]),
        looked=np.array(looked),
        open_checks=np.array([is_open(name) for name in menu.checks]),
    )
