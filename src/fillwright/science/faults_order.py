"""The order of repairs by expected cost, and whether a check is worth its cost.

Heckerman, Breese & Rommelse, CACM 38(3), 1995 (from memory): one fault, independent actions,
each tested after it is done: by falling chance over cost.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import compress, product
from typing import Final

from fillwright.errors import BadInput
from fillwright.science.given import finite

__all__ = ["CALL_KEY", "CheckValue", "Planned", "RepairOrder", "check_value", "order_repairs"]

CALL_KEY: Final = "call"
_NOTHING: Final = 1e-9
_EXACT: Final = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """An action that ends the fault with some chance.

    Attributes
    ----------
    key : str
        Name.
    chance : float
        Chance that it ends the fault. [1]
    cost : float
        Cost of a look that decides, or of the action where there is none. [cost]
    repair : float
        Cost of the repair after the look, paid only where the look shows it. [cost]
    """

    key: str
    chance: float
    cost: float
    repair: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RepairOrder:
    """The order that costs least.

    Attributes
    ----------
    keys : tuple of str
        Names in order; may end in ``call``.
    expected_cost : float
        Expected cost until the fault is gone or handed over. [cost]
    """

    keys: tuple[str, ...]
    expected_cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckValue:
    """What a check is worth.

    Attributes
    ----------
    without, with_check : float
        Expected cost without and with the check. [cost]
    break_even : float
        Cost of the check at which it makes no difference. [cost]
    """

    without: float
    with_check: float
    break_even: float


def order_repairs(
    actions: Sequence[Planned], *, call_cost: float | None = None, unknown: float = 0.0
) -> RepairOrder:
    """Return the order of actions with the least expected cost.

    Parameters
    ----------
    actions : sequence of Planned
        Each ends causes of its own; exactly one cause is there.
    call_cost : float, optional
        Cost of a call that always ends the fault; without it there is no call. [cost]
    unknown : float
        Chance that none of the actions ends it. [1]

    Returns
    -------
    RepairOrder
        By falling chance over look cost, without what costs more than leaving it to the call:
        exact to 10 actions, with more improved one action at a time.

    Raises
    ------
    BadInput
        If the chances pass 1, or something is left to a call that has no cost.
    """
    total = sum(finite(action.chance, "p") for action in actions) + finite(unknown, "unknown_p")
    if total > 1.0 + _NOTHING:
        raise BadInput(
            f"The chances add to {total:g}; one fault is there, so they add to 1 at most.",
            field="actions",
            given=total,
            allowed="a sum of up to 1",
            code="inconsistent",
        )
    ordered = sorted(actions, key=_urgency)
    taken = [True] * len(ordered)
    if call_cost is not None:
        taken = _worth_doing(ordered, call_cost)
    chosen = list(compress(ordered, taken))
    keys = tuple(action.key for action in chosen)
    left = 1.0 - sum(action.chance for action in chosen)
    if call_cost is not None and left > _NOTHING:
        keys = (*keys, CALL_KEY)
    return RepairOrder(keys=keys, expected_cost=_cost(chosen, call_cost))


def _cost(ordered: Sequence[Planned], call_cost: float | None) -> float:
    """Return the expected cost of actions in this order, with what is left to the call."""
    left, cost = 1.0, 0.0
    for action in ordered:
        cost += left * action.cost + action.chance * action.repair
        left -= action.chance
    return float(cost + (max(left, 0.0) * call_cost if call_cost is not None else 0.0))


def _worth_doing(ordered: Sequence[Planned], call_cost: float) -> list[bool]:
    """Return which actions come before the call: of all choices the cheapest, to 10 actions.

    With more, actions are added and dropped one at a time while that helps.
    """
    count = len(ordered)

    def cost_of(taken: Iterable[bool]) -> float:
        return _cost(list(compress(ordered, taken)), call_cost)

    if count <= _EXACT:
        return list(min(product((False, True), repeat=count), key=cost_of))
    taken = [True] * count
    while True:
        others = [[*taken[:at], not taken[at], *taken[at + 1 :]] for at in range(count)]
        best = min(others, key=cost_of)
        if cost_of(best) >= cost_of(taken):
            return taken
        taken = best


def _urgency(action: Planned) -> float:
    """Return what actions are sorted by: the most chance for the least cost first."""
    return -(action.chance / action.cost if action.cost > 0.0 else float("inf"))


def check_value(
    actions: Sequence[Planned], *, cost: float, shows: Mapping[str, float]
) -> CheckValue:
    """Return whether a check before the repairs pays.

    Parameters
    ----------
    actions : sequence of Planned
        One for each cause; the chances add to 1.
    cost : float
        Cost of the check. [cost]
    shows : mapping of str to float
        Chance that the check shows something where the cause is there. [1]

    Returns
    -------
    CheckValue
        Expected costs without and with it, and the cost at which it makes no difference.

    Raises
    ------
    BadInput
        If the chances pass 1.
    """
    without = order_repairs(actions).expected_cost
    after = 0.0
    for is_seen in (True, False):
        outcome = [
            (shows.get(a.key, 0.0) if is_seen else 1.0 - shows.get(a.key, 0.0)) * a.chance
            for a in actions
        ]
        mass = sum(outcome)
        if mass <= 0.0:
            continue
        then = [
            Planned(key=a.key, chance=part / mass, cost=a.cost, repair=a.repair)
            for a, part in zip(actions, outcome, strict=True)
        ]
        after += mass * order_repairs(then).expected_cost
    return CheckValue(without=without, with_check=cost + after, break_even=without - after)
