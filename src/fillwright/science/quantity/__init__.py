"""Net contents: tolerable shortage, test of a lot, content from a weight, target fill.

What law compares is compared exactly, on decimals and fractions; figures for showing are floats.
"""

from __future__ import annotations

from fillwright.science.quantity.acceptance import AcceptanceChance, Method, acceptance_chance
from fillwright.science.quantity.content import (
    TargetWeight,
    content_volume,
    content_volumes,
    reading_for_volume,
    target_weight,
)
from fillwright.science.quantity.lot_test import lot_test
from fillwright.science.quantity.many_lots import LotDecisions, decide_lots
from fillwright.science.quantity.operating import sd_upper_factor, share_for_lot
from fillwright.science.quantity.plans import OwnPlan, Plan, PlanFound, PlanNumbers, find_plan
from fillwright.science.quantity.shortage import (
    Shortage,
    ShortageVerdict,
    SuppliedShortage,
    tolerable_shortage,
)
from fillwright.science.quantity.tare_and_scale import (
    ScaleFit,
    ScaleVerdict,
    TareCheck,
    TareVerdict,
    scale_fit,
    tare_check,
)
from fillwright.science.quantity.target import target_fill
from fillwright.science.quantity.verdicts import (
    Constraint,
    IndividualOutcome,
    LotOutcome,
    LotVerdict,
    TargetCosts,
    TargetFill,
)

__all__ = [
    "AcceptanceChance",
    "Constraint",
    "IndividualOutcome",
    "LotDecisions",
    "LotOutcome",
    "LotVerdict",
    "Method",
    "OwnPlan",
    "Plan",
    "PlanFound",
    "PlanNumbers",
    "ScaleFit",
    "ScaleVerdict",
    "Shortage",
    "ShortageVerdict",
    "SuppliedShortage",
    "TareCheck",
    "TareVerdict",
    "TargetCosts",
    "TargetFill",
    "TargetWeight",
    "acceptance_chance",
    "content_volume",
    "content_volumes",
    "decide_lots",
    "find_plan",
    "lot_test",
    "reading_for_volume",
    "scale_fit",
    "sd_upper_factor",
    "share_for_lot",
    "tare_check",
    "target_fill",
    "target_weight",
    "tolerable_shortage",
]
