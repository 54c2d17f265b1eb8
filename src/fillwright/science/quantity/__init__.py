"""Net contents: tolerable shortage, test of a lot, content from a weight, target fill.

What law compares is compared exactly, on decimals and fractions; figures for showing are floats.
"""

from __future__ import annotations

from fillwright.science.quantity.lot_test import lot_test
from fillwright.science.quantity.many_lots import LotDecisions, decide_lots
from fillwright.science.quantity.plans import OwnPlan, Plan, PlanFound, find_plan
from fillwright.science.quantity.shortage import (
    Shortage,
    ShortageVerdict,
    SuppliedShortage,
    tolerable_shortage,
)
from fillwright.science.quantity.verdicts import IndividualOutcome, LotOutcome, LotVerdict

__all__ = [
    "IndividualOutcome",
    "LotDecisions",
    "LotOutcome",
    "LotVerdict",
    "OwnPlan",
    "Plan",
    "PlanFound",
    "Shortage",
    "ShortageVerdict",
    "SuppliedShortage",
    "decide_lots",
    "find_plan",
    "lot_test",
    "tolerable_shortage",
]
