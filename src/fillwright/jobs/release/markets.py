"""The markets that a run is labelled for: one rule set, or two, each with its plan and table."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import own_plan_of, rules_of, second_rules_of, supplied_for
from fillwright.knowledge.types import RuleSet
from fillwright.records.entities import JobFacts
from fillwright.science.quantity import OwnPlan, SuppliedShortage
from fillwright.science.quantity.plans import Plan, find_plan

__all__ = ["SMALL_LOT", "Market", "check_second", "market_of", "markets_of", "small_lot_words"]

SMALL_LOT: Final = (
    "our own rule for lots weighed one by one: none below T1, average at the label or above"
)
"""What is judged by where a rule set has no such plan; it gives no benefit of the doubt."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Market:
    """One market of a job, with what its lot test is asked with.

    Parameters
    ----------
    rules : RuleSet
        Its rule set.
    plan : str or None
        Sampling plan; None is the rule set's own.
    own_plan : OwnPlan or None
        Figures of the plan ``own``.
    supplied : SuppliedShortage or None
        Tolerable shortage from a document, where the rule set has no table.
    is_second : bool
        True for the second of two markets.
    is_small : bool
        True where the plan is our own rule for small lots.
    """

    rules: RuleSet
    plan: str | None
    own_plan: OwnPlan | None
    supplied: SuppliedShortage | None
    is_second: bool
    is_small: bool


def markets_of(desk: Desk, facts: JobFacts, lot_size: int | None = None) -> tuple[Market, ...]:
    """Return the markets of a job, the first rule set first.

    Parameters
    ----------
    desk : Desk
        Knows the rule sets.
    facts : JobFacts
        The job.
    lot_size : int, optional
        Containers of the lot; those planned when left out.

    Returns
    -------
    tuple of Market
        One or two.
    """
    size = facts.lot_size if lot_size is None else lot_size
    first = rules_of(desk.rule_sets, facts.rules)
    found = [_market(facts, first, size, is_second=False)]
    second = second_rules_of(desk.rule_sets, facts)
    if second is not None:
        found.append(_market(facts, second, size, is_second=True))
    return tuple(found)


def market_of(desk: Desk, facts: JobFacts, lot_size: int) -> Market:
    """Return the first market of a job, for a lot of so many."""
    return markets_of(desk, facts, lot_size)[0]


def small_lot_words(desk: Desk, facts: JobFacts) -> str:
    """Return what to do with a lot under the smallest plan; empty where there is a plan."""
    for market in markets_of(desk, facts):
        if market.is_small:
            return (
                f"{market.rules.name} has no plan for a lot of {facts.lot_size}: weigh every "
                f"{facts.container.word}. Release judges by {SMALL_LOT}."
            )
        found = None if market.own_plan else _plan_for(market.rules, market.plan, facts.lot_size)
        if found is not None and found.n == facts.lot_size:
            return (
                f"{market.rules.name} tests every one of a lot of {facts.lot_size}: weigh every "
                f"{facts.container.word}."
            )
    return ""


def check_second(desk: Desk, facts: JobFacts) -> None:
    """Refuse a second market that is not known, or is the first again.

    Raises
    ------
    BadInput
        If there is no such rule set, or both are the same.
    """
    second = second_rules_of(desk.rule_sets, facts)
    if second is not None and second.name == facts.rules:
        message = (
            f"The second market has the rules {second.name}, as the first. Choose other rules, "
            "or none."
        )
        raise BadInput(message, field="second_rules", given=second.name, code="inconsistent")


def _market(facts: JobFacts, rules: RuleSet, lot_size: int, *, is_second: bool) -> Market:
    """Return one market; a lot that its tables have no plan for gets our own rule."""
    plan = None if is_second else facts.plan
    own = None if is_second else own_plan_of(facts)
    is_small = own is None and plan != "own" and _has_gap(rules, plan, lot_size)
    if is_small:
        own = OwnPlan(n=lot_size, k=Decimal(0), acceptance_number=0, t2_allowed=0)
        plan = None
    return Market(
        rules=rules,
        plan=plan,
        own_plan=own,
        supplied=supplied_for(rules, facts),
        is_second=is_second,
        is_small=is_small,
    )


def _has_gap(rules: RuleSet, plan: str | None, lot_size: int) -> bool:
    """Tell whether a rule set has no plan for so few."""
    try:
        return lot_size > 0 and find_plan(rules, lot_size=lot_size, plan=plan).plan is None
    except BadInput:
        # A plan that the rule set does not know is said where the lot is judged.
        return False


def _plan_for(rules: RuleSet, plan: str | None, lot_size: int) -> Plan | None:
    """Return the plan of a rule set for a lot, where it has one."""
    try:
        return find_plan(rules, lot_size=lot_size, plan=plan).plan
    except BadInput:
        return None
