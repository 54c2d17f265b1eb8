"""How often to weigh and how many, from the cost of weighing and of containers at risk."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, finite, not_negative, whole
from fillwright.science.runlength import containers_to_alarm

__all__ = ["CheckPlan", "plan_checks"]

_FALSE_EVERY = 370.4
_LARGEST_GROUP = 8
_NO_BOUND = 1e15


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckPlan:
    """How often to weigh and how many, with what that costs.

    Attributes
    ----------
    checked_each_time : int
        Containers weighed at a check, one after another.
    containers_between_checks : int
        Containers from check to check.
    containers_to_alarm : float
        Containers filled after the shift until the alarm, on average. [1]
    cost_of_weighing : float
        Cost for each container filled. [any money]
    cost_at_risk : float
        The same for containers filled after a shift. [any money]
    cost_of_false_alarms : float
        The same for looking into alarms that are none. [any money]
    is_bounded : bool
        Whether the bound on containers to be looked at again set the interval.
    equation : str
        Where the equations come from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        The answer in one sentence.
    """

    checked_each_time: int
    containers_between_checks: int
    containers_to_alarm: float
    cost_of_weighing: float
    cost_at_risk: float
    cost_of_false_alarms: float
    is_bounded: bool
    equation: str
    assumptions: tuple[str, ...]
    because: str

    @property
    def cost(self) -> float:
        """Return the cost of all three for each container filled [any money]."""
        return self.cost_of_weighing + self.cost_at_risk + self.cost_of_false_alarms


def plan_checks(
    shift: float,
    *,
    containers_between_shifts: float,
    cost_of_a_weighing: float,
    cost_of_a_container_at_risk: float,
    cost_of_a_false_alarm: float = 0.0,
    most_to_look_at: int | None = None,
    chart: str = "cusum",
) -> CheckPlan:
    """Return how often to weigh and how many at the least cost.

    Parameters
    ----------
    shift : float
        Shift of the dose that must not go on, in sds of single doses. [1]
    containers_between_shifts : float
        Containers from one such shift to the next, on average. [1]
    cost_of_a_weighing : float
        Cost of weighing one container. [any money]
    cost_of_a_container_at_risk : float
        Cost of a container that was filled after the shift. [any money]
    cost_of_a_false_alarm : float
        Cost of looking into an alarm that is none. [any money]
    most_to_look_at : int or None
        Containers that can be weighed again after an alarm; none for no bound.
    chart : str
        "cusum" or "mean", as in `containers_to_alarm`.

    Returns
    -------
    CheckPlan
        The plan with the least cost for each container filled.

    Raises
    ------
    BadInput
        If a figure cannot be used, or no plan keeps the bound.

    Notes
    -----
    For checks of n out of every m, cost C(n, m) = a n/m + r c m (L - 1/2) + f/(m × 370.4), with L
    the run length in checks at the shift and r the shifts for each container; least at
    m² = (a n + f/370.4)/(r c (L - 1/2)). Duncan's idea of an economic design (1956; from
    memory), in the form for containers.

    Examples
    --------
    >>> plan = plan_checks(
    ...     1.5,
    ...     containers_between_shifts=5000,
    ...     cost_of_a_weighing=0.2,
    ...     cost_of_a_container_at_risk=1.0,
    ... )
    >>> plan.checked_each_time, plan.containers_between_checks
    (1, 14)
    """
    moved = abs(finite(shift, "shift"))
    if moved == 0.0:
        message = "shift is 0; give the shift that must not go on."
        raise BadInput(message, field="shift", given=shift, allowed="other than 0")
    rate = 1.0 / above_zero(containers_between_shifts, "containers_between_shifts")
    each = above_zero(cost_of_a_weighing, "cost_of_a_weighing")
    risk = above_zero(cost_of_a_container_at_risk, "cost_of_a_container_at_risk")
    false = not_negative(cost_of_a_false_alarm, "cost_of_a_false_alarm") / _FALSE_EVERY
    most = _NO_BOUND
    if most_to_look_at is not None:
        most = float(whole(most_to_look_at, "most_to_look_at", at_least=1))
    plans = []
    for group in range(1, _LARGEST_GROUP + 1):
        waits = containers_to_alarm(group, 1.0, moved, chart=chart)
        free = math.sqrt((each * group + false) / (rate * risk * waits))
        # To look at after an alarm: those since the shift, and one interval before it.
        bound = math.floor(most / (waits + 1.0))
        if bound < group:
            continue
        wanted = min(free, bound)
        ends = {max(math.floor(wanted), group), min(math.ceil(wanted), bound)}
        prices = (each, rate * risk, false)
        plans += [
            _plan(group, between, waits, prices=prices, is_bounded=free > bound)
            for between in ends
            if group <= between <= bound
        ]
    if not plans:
        message = (
            f"most_to_look_at is {most_to_look_at}; weighing every one lets more than that pass "
            "before this shift is found. Give a higher bound, or a larger shift."
        )
        raise BadInput(
            message, field="most_to_look_at", given=most_to_look_at, code="inconsistent"
        )
    return min(plans, key=_cost)


def _cost(plan: CheckPlan) -> float:
    """Return what plans are compared by."""
    return plan.cost


def _plan(
    group: int,
    between: int,
    waits: float,
    *,
    prices: tuple[float, float, float],
    is_bounded: bool,
) -> CheckPlan:
    """Return a plan with its costs."""
    each, risk, false = prices
    return CheckPlan(
        checked_each_time=group,
        containers_between_checks=between,
        containers_to_alarm=between * waits,
        cost_of_weighing=each * group / between,
        cost_at_risk=risk * between * waits,
        cost_of_false_alarms=false / between,
        is_bounded=is_bounded,
        equation="a n/m + r c m (L - 1/2) + f/(m × 370.4), least over n and m",
        assumptions=(
            "Shifts come by chance, each of the size given, and stay until they are found.",
            "Mean and sd of the steady run are known; readings are normal and independent.",
            "A good check costs the same whenever it is made.",
        ),
        because=f"Weigh {group} in every {between}: after such a shift some "
        f"{between * waits:.0f} are filled until the alarm.",
    )
