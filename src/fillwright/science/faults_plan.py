"""The next best step towards a cure by expected cost: look, repair, walk round or hand over.

A greedy plan after each possible outcome of each check; Heckerman, Breese & Rommelse 1995
(from memory). All outcomes of all checks are planned at once, as rows of one array.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.science.faults import FaultNet

__all__ = ["Candidate", "Menu", "Outcomes", "Situation", "best_steps", "greedy"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
_SMALL: Final = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcomes:
    """What a check can tell.

    Attributes
    ----------
    chance : ndarray, shape (outcomes, causes)
        P(outcome | cause); sums to 1 over the outcomes. [1]
    looked : ndarray of bool, shape (repairs,)
        Repairs whose look is this check: it need not be done again.
    """

    chance: Floats
    looked: Bools


@dataclass(frozen=True, slots=True, kw_only=True)
class Menu:
    """What can be done, and at what cost.

    Attributes
    ----------
    repairs : tuple of str
        Names.
    cures : ndarray, shape (repairs, causes)
        Chance that the repair ends the cause. [1]
    shown : ndarray, shape (repairs, causes)
        Chance that the look before the repair shows it, for each cause. [1]
    repair_cost : ndarray, shape (repairs,)
        Cost of the repair after its look. [min]
    look_of : ndarray of int, shape (repairs,)
        Place of the look among the checks.
    checks : tuple of str
        Names; the walk-round is one of them.
    check_cost : ndarray, shape (checks,)
        Cost of each check. [min]
    outcomes : tuple of Outcomes
        What each check can tell.
    call_cost : float
        Cost of handing over. [min]
    """

    repairs: tuple[str, ...]
    cures: Floats
    shown: Floats
    repair_cost: Floats
    look_of: NDArray[np.intp]
    checks: tuple[str, ...]
    check_cost: Floats
    outcomes: tuple[Outcomes, ...]
    call_cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """What has been done already.

    Attributes
    ----------
    open_repairs : ndarray of bool, shape (repairs,)
        Repairs that may still be offered.
    looked : ndarray of bool, shape (repairs,)
        Repairs whose look was made: they cost their full repair.
    open_checks : ndarray of bool, shape (checks,)
        Checks that may still be offered.
    """

    open_repairs: Bools
    looked: Bools
    open_checks: Bools


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A step that could come next.

    Attributes
    ----------
    kind : str
        ``check``, ``repair`` or ``hand-over``.
    key : str
        Name of the check or repair; empty for a hand-over.
    for_repair : str
        Repair that the check is the look of, where it was chosen for that.
    expected_cost : float
        Expected cost until the fault is gone or handed over, this step included. [min]
    """

    kind: str
    key: str
    for_repair: str
    expected_cost: float


@dataclass(slots=True)
class _Plans:
    """Greedy plans of many beliefs at once.

    Attributes
    ----------
    cost : ndarray, shape (beliefs,)
        Expected cost times the mass of the belief. [min]
    first : ndarray of int, shape (beliefs,)
        First repair; −1 where the call comes first.
    """

    cost: Floats
    first: NDArray[np.intp]


def greedy(menu: Menu, beliefs: Floats, open_repairs: Bools, looked: Bools) -> _Plans:
    """Plan by the most chance for the least cost, until a call is cheaper.

    Parameters
    ----------
    menu : Menu
        What can be done.
    beliefs : ndarray, shape (beliefs, causes)
        Masses of the causes; need not sum to 1. [1]
    open_repairs : ndarray of bool, shape (repairs,)
        What may be offered.
    looked : ndarray of bool, shape (beliefs, repairs)
        Looks that were made.

    Returns
    -------
    _Plans
        Cost and first repair of each belief.
    """
    rows = np.arange(len(beliefs))
    mass = beliefs.copy()
    seen = looked.copy()
    is_open = np.repeat(open_repairs[None, :], len(beliefs), axis=0)
    free = np.zeros_like(seen)
    cost = np.zeros(len(beliefs))
    first = np.full(len(beliefs), -1, dtype=np.intp)
    whole, seen_cures = menu.cures.T, (menu.cures * menu.shown).T
    look_cost = menu.check_cost[menu.look_of]
    same_look = menu.look_of[:, None] == menu.look_of[None, :]
    for turn in range(len(menu.repairs)):
        left = mass.sum(axis=1)
        gain = np.where(seen, mass @ whole, mass @ seen_cures)
        paid = np.where(seen, left[:, None], mass @ menu.shown.T)
        spend = paid * menu.repair_cost + left[:, None] * np.where(seen | free, 0.0, look_cost)
        ratio = np.where(is_open, gain / np.maximum(spend, _SMALL), 0.0)
        best = ratio.argmax(axis=1)
        acts = ratio[rows, best] * menu.call_cost > 1.0
        if not acts.any():
            break
        if turn == 0:
            first[acts] = best[acts]
        at, chosen = rows[acts], best[acts]
        cost[at] += spend[at, chosen]
        is_open[at, chosen] = False
        share = menu.cures[chosen] * np.where(seen[at, chosen, None], 1.0, menu.shown[chosen])
        mass[at] *= 1.0 - share
        free[at] |= same_look[chosen]
    cost += mass.sum(axis=1) * menu.call_cost
    return _Plans(cost=cost, first=first)


def _after_checks(
    menu: Menu, belief: Floats, situation: Situation, looked: Bools
) -> tuple[NDArray[np.intp], Floats]:
    """Return the open checks and the expected cost when each is made now."""
    places = np.flatnonzero(situation.open_checks)
    if not len(places):
        return places, np.zeros(0)
    parts = [belief * menu.outcomes[place].chance for place in places]
    seen = [
        np.repeat((looked | menu.outcomes[place].looked)[None, :], len(part), axis=0)
        for place, part in zip(places, parts, strict=True)
    ]
    plans = greedy(menu, np.concatenate(parts), situation.open_repairs, np.concatenate(seen))
    starts = np.cumsum([0, *(len(part) for part in parts[:-1])])
    after = np.add.reduceat(plans.cost, starts)
    return places, np.asarray(menu.check_cost[places] * belief.sum() + after)


def best_steps(menu: Menu, belief: Floats, situation: Situation) -> tuple[Candidate, ...]:
    """Return what could come next, the least expected cost first.

    Parameters
    ----------
    menu : Menu
        What can be done.
    belief : ndarray, shape (causes,)
        Probabilities of the causes. [1]
    situation : Situation
        What has been done already.

    Returns
    -------
    tuple of Candidate
        Each check and repair at most once; a hand-over always among them.

    Notes
    -----
    "Look and repair first, then the best of planning on or one more check" stands against
    "this check now": a look ahead of one step alone prefers cheap looks that tell nothing.
    """
    looked = situation.looked
    now = greedy(menu, belief[None, :], situation.open_repairs, looked[None, :])
    found = [Candidate(kind="hand-over", key="", for_repair="", expected_cost=menu.call_cost)]
    places, costs = _after_checks(menu, belief, situation, looked)
    best: dict[str, Candidate] = {
        menu.checks[place]: Candidate(
            kind="check", key=menu.checks[place], for_repair="", expected_cost=float(cost)
        )
        for place, cost in zip(places, costs, strict=True)
    }
    repair = int(now.first[0])
    if repair >= 0:
        act = _act_first(menu, belief, situation, repair)
        known = best.get(act.key)
        if known is None or act.expected_cost <= known.expected_cost:
            best[act.key] = act
    found.extend(best.values())
    return tuple(sorted(found, key=_cost_of))


def _cost_of(candidate: Candidate) -> float:
    """Return what candidates are sorted by."""
    return candidate.expected_cost


def _act_first(menu: Menu, belief: Floats, situation: Situation, repair: int) -> Candidate:
    """Return the step that does the best repair of the plan, or looks for it."""
    is_seen = bool(situation.looked[repair])
    look = int(menu.look_of[repair])
    shown = np.ones(len(belief)) if is_seen else menu.shown[repair]
    spend = float(belief @ shown) * menu.repair_cost[repair]
    spend += 0.0 if is_seen else float(belief.sum() * menu.check_cost[look])
    spend = float(spend)
    left = belief * (1.0 - shown * menu.cures[repair])
    is_open = situation.open_repairs.copy()
    is_open[repair] = False
    checks = situation.open_checks.copy()
    seen = situation.looked.copy()
    if not is_seen:
        checks[look] = False
        seen |= menu.look_of == look
    after = Situation(open_repairs=is_open, looked=seen, open_checks=checks)
    on = float(greedy(menu, left[None, :], is_open, seen[None, :]).cost[0])
    _, costs = _after_checks(menu, left, after, seen)
    then = min(on, float(costs.min(initial=np.inf)))
    name = menu.repairs[repair]
    if is_seen:
        return Candidate(kind="repair", key=name, for_repair=name, expected_cost=spend + then)
    return Candidate(
        kind="check", key=menu.checks[look], for_repair=name, expected_cost=spend + then
    )


def outcomes_of(net: FaultNet, findings: tuple[int, ...], looked: Bools) -> Outcomes:
    """Return all outcomes of a check with a few findings.

    Parameters
    ----------
    net : FaultNet
        The net.
    findings : tuple of int
        Places of its findings that are not known yet.
    looked : ndarray of bool, shape (repairs,)
        Repairs whose look it is.

    Returns
    -------
    Outcomes
        Two for each finding, multiplied.
    """
    chance = np.ones((1, len(net.causes)))
    for place in findings:
        there = net.shows[:, place]
        chance = np.concatenate([chance * there, chance * (1.0 - there)])
    return Outcomes(chance=chance, looked=looked)


def bundle_of(net: FaultNet, findings: tuple[int, ...], looked: Bools) -> Outcomes:
    """Return the outcomes of quick looks made in one walk: none, one alone, or more than one.

    Parameters
    ----------
    net : FaultNet
        The net.
    findings : tuple of int
        Places of the findings.
    looked : ndarray of bool, shape (repairs,)
        Repairs whose looks are in the walk.

    Returns
    -------
    Outcomes
        One row for none, one for each finding alone, one for the rest.
    """
    there = net.shows[:, list(findings)].T
    none = (1.0 - there).prod(axis=0)
    alone = none * there / (1.0 - there)
    rest = np.maximum(1.0 - none - alone.sum(axis=0), 0.0)
    return Outcomes(chance=np.vstack([none, alone, rest]), looked=looked)
