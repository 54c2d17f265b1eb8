"""The weights that a job is held to: aim, band, label, T1, T2, brim.

Legal weights are compared as exact fractions; the figures shown are rounded, legal ones
upwards, the band inwards.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.words import in_steps, step_down, step_up
from fillwright.knowledge.types import RuleSet, SecondLimit
from fillwright.records.entities import JobFacts, Product
from fillwright.science.quantity import (
    OwnPlan,
    Shortage,
    SuppliedShortage,
    content_volume,
    reading_for_volume,
    tolerable_shortage,
)

__all__ = [
    "LABEL_C",
    "Limits",
    "MarketLimits",
    "content_of",
    "density_at",
    "dose_ml",
    "judge_weight",
    "limits_of",
    "own_plan_of",
    "rules_of",
    "second_rules_of",
    "supplied_for",
    "supplied_of",
]

LABEL_C: Final = Decimal(20)
"""Temperature at which a label volume holds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarketLimits:
    """The legal weights of one market, rounded up to a step; None where it has no such limit."""

    rules: str
    t1_g: Decimal | None
    t2_g: Decimal | None
    shortage: Shortage


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The weights of a job; those of two markets are the stricter of both.

    Parameters
    ----------
    aim_g, band_low_g, band_high_g : Decimal
        Aim, and the band around it in whole steps of the scale, rounded inwards.
    label_g : Decimal
        Reading that holds the label quantity, rounded up to a step.
    t1_g, t2_g : Decimal or None
        Readings at the legal limits, rounded up to a step.
    brim_g : Decimal
        Reading at which the container brims, rounded down.
    t1_exact_g, t2_exact_g, brim_exact_g : Fraction
        The same, exact, for comparing.
    shortage : Shortage
        Tolerable shortage with its source.
    markets : tuple of MarketLimits
        The legal weights market by market, the first rule set first.
    """

    aim_g: Decimal
    band_low_g: Decimal
    band_high_g: Decimal
    label_g: Decimal
    t1_g: Decimal | None
    t2_g: Decimal | None
    brim_g: Decimal
    t1_exact_g: Fraction | None
    t2_exact_g: Fraction | None
    brim_exact_g: Fraction
    shortage: Shortage
    markets: tuple[MarketLimits, ...] = ()


def rules_of(rule_sets: Mapping[str, RuleSet], name: str) -> RuleSet:
    """Return a rule set by name.

    Raises
    ------
    BadInput
        If there is no such rule set.
    """
    if name not in rule_sets:
        allowed = ", ".join(rule_sets)
        message = f"There is no rule set {name!r}. Choose one of {allowed}."
        raise BadInput(message, field="rules", given=name, allowed=allowed, code="choice")
    return rule_sets[name]


def supplied_of(facts: JobFacts) -> SuppliedShortage | None:
    """Return the tolerable shortage that the user took from a document, if any."""
    given = facts.supplied_shortage
    if given is None:
        return None
    return SuppliedShortage(value=given.value_label_unit, edition=given.edition, page=given.page)


def second_rules_of(rule_sets: Mapping[str, RuleSet], facts: JobFacts) -> RuleSet | None:
    """Return the rule set of the second market, or None where there is one market.

    Raises
    ------
    BadInput
        If there is no such rule set.
    """
    return rules_of(rule_sets, facts.second_rules) if facts.second_rules else None


def supplied_for(rules: RuleSet, facts: JobFacts) -> SuppliedShortage | None:
    """Return the shortage from a document for the rules that it may be for.

    With one market it goes to that one, so that a figure with no place is refused there.
    """
    return supplied_of(facts) if rules.may_supply or not facts.second_rules else None


def own_plan_of(facts: JobFacts) -> OwnPlan | None:
    """Return the sampling plan that the user took from a document, if any."""
    given = facts.own_plan
    if given is None:
        return None
    return OwnPlan(
        n=given.n,
        k=given.k,
        acceptance_number=given.acceptance_number,
        t2_allowed=given.t2_allowed,
    )


def density_at(product: Product, product_c: Decimal) -> Fraction:
    """Return the density of a product at a temperature, in g/mL, exactly.

    Falls in a straight line from the temperature at which it was taken, as the target weight
    of `science.quantity` has it.
    """
    share = 1 - product.expansion_per_k * (product_c - product.density_c)
    return Fraction(product.density_g_per_ml) * Fraction(share)


def content_of(facts: JobFacts, net_g: Decimal) -> Decimal | Fraction:
    """Return the content of one container in the label's unit, exactly."""
    if facts.unit == "g":
        return net_g
    product = facts.product
    return content_volume(
        net_g,
        density_20_g_per_ml=density_at(product, LABEL_C),
        buoyancy=not product.is_apparent,
    )


_KNOWN: dict[JobFacts, tuple[tuple[RuleSet, ...], Limits]] = {}
_KEPT = 256


def limits_of(facts: JobFacts, rule_sets: Mapping[str, RuleSet]) -> Limits:
    """Return the weights that a job is held to, worked out once for each set of facts."""
    first, second = rules_of(rule_sets, facts.rules), second_rules_of(rule_sets, facts)
    rules = (first,) if second is None else (first, second)
    known = _KNOWN.get(facts)
    if known is None or any(a is not b for a, b in zip(known[0], rules, strict=True)):
        if len(_KNOWN) >= _KEPT:
            _KNOWN.clear()
        known = (rules, _limits(facts, rules))
        _KNOWN[facts] = known
    return known[1]


def _limits(facts: JobFacts, rules: tuple[RuleSet, ...]) -> Limits:
    """Work the weights out."""
    step = facts.scale.readability_g
    half = facts.aim_g * facts.band_pct / 100
    exact = [_legal(facts, one) for one in rules]
    t1 = max((t1 for _, t1, _ in exact if t1 is not None), default=None)
    t2 = max((t2 for _, _, t2 in exact if t2 is not None), default=None)
    brim = reading_for_volume(
        Fraction(facts.container.brim_ml),
        density_20_g_per_ml=density_at(facts.product, facts.product.product_c),
        buoyancy=not facts.product.is_apparent,
    )
    return Limits(
        aim_g=in_steps(facts.aim_g, step, ROUND_HALF_UP),
        band_low_g=in_steps(facts.aim_g - half, step, ROUND_CEILING),
        band_high_g=step_down(facts.aim_g + half, step),
        label_g=step_up(_reading(facts, Fraction(facts.nominal)), step),
        t1_g=_up(t1, step),
        t2_g=_up(t2, step),
        brim_g=step_down(brim, step),
        t1_exact_g=t1,
        t2_exact_g=t2,
        brim_exact_g=brim,
        shortage=exact[0][0],
        markets=tuple(
            MarketLimits(
                rules=one.name, t1_g=_up(first, step), t2_g=_up(other, step), shortage=shortage
            )
            for one, (shortage, first, other) in zip(rules, exact, strict=True)
        ),
    )


def _legal(facts: JobFacts, rules: RuleSet) -> tuple[Shortage, Fraction | None, Fraction | None]:
    """Return the tolerable shortage of a market, and the readings at its T1 and T2."""
    shortage = tolerable_shortage(
        rules, facts.nominal, unit=facts.unit, supplied=supplied_for(rules, facts)
    )
    t1 = None if shortage.t1_limit is None else _reading(facts, Fraction(shortage.t1_limit))
    t2 = None
    if shortage.t2_limit is not None and rules.second_limit is not SecondLimit.NONE:
        t2 = _reading(facts, Fraction(shortage.t2_limit))
    return shortage, t1, t2


def _up(reading: Fraction | None, step: Decimal) -> Decimal | None:
    """Return a legal weight as it is shown, where there is one."""
    return None if reading is None else step_up(reading, step)


def _reading(facts: JobFacts, quantity: Fraction) -> Fraction:
    """Return the net reading in grams that holds `quantity` of the label's unit."""
    if facts.unit == "g":
        return quantity
    return reading_for_volume(
        quantity,
        density_20_g_per_ml=density_at(facts.product, LABEL_C),
        buoyancy=not facts.product.is_apparent,
    )


def dose_ml(facts: JobFacts) -> Decimal:
    """Return the volume that the piston must push at product temperature."""
    content = Fraction(content_of(facts, facts.aim_g))
    cool = density_at(facts.product, LABEL_C)
    if facts.unit == "g":
        content /= cool
    warm = density_at(facts.product, facts.product.product_c)
    return in_steps(content * cool / warm, Decimal("0.1"), ROUND_HALF_UP)


def judge_weight(limits: Limits, net_g: Decimal) -> str:
    """Return on, low, high, short, far-short or overfull for a net weight.

    A weight exactly on a limit is not beyond it.
    """
    if limits.t2_exact_g is not None and net_g < limits.t2_exact_g:
        return "far-short"
    if limits.t1_exact_g is not None and net_g < limits.t1_exact_g:
        return "short"
    if net_g > limits.brim_exact_g:
        return "overfull"
    if net_g < limits.band_low_g:
        return "low"
    return "high" if net_g > limits.band_high_g else "on"
