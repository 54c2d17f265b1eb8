"""The aim of a job: least giveaway that keeps to the rules of every market it is labelled for."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import LABEL_C, density_at, limits_of
from fillwright.jobs.release.markets import Market, markets_of
from fillwright.jobs.setup.settings import mean_within
from fillwright.jobs.words import in_steps, shown_g
from fillwright.records.entities import JobFacts
from fillwright.science.quantity import TargetFill, target_fill

__all__ = ["UNKNOWN_SD_PCT", "Aim", "MarketAim", "market_aims", "propose_aim"]

UNKNOWN_SD_PCT: Final = Decimal("0.3")
"""Taken where nothing is known of the scatter; our own choice."""
_BETWEEN_SHARE: Final = 0.5
_SDS_OF_TRIM: Final = 1.645
"""The trim ends when the mean is inside with 90 %: so many standard deviations."""
_DIGITS: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class MarketAim:
    """The aim that one market asks for; `least_g` is not rounded, None where none is known."""

    rules: str
    least_g: float | None
    aim_g: Decimal
    binding: str
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """The aim proposed for a job, with what binds it, and what each market asks for."""

    aim_g: Decimal
    giveaway_g: Decimal
    binding: str
    because: str
    markets: tuple[MarketAim, ...] = ()


def propose_aim(desk: Desk, facts: JobFacts) -> Aim:
    """Return the aim with least giveaway that still keeps to the rules.

    Where nothing is known of the scatter, 0.3 % of the dose is taken, and half of it between
    lots: our own choice, replaced by the proof of this machine and product. What the trim
    leaves of the mean is a bias of the whole lot, so the aim stands above the label by it.
    A job for two markets takes the higher of their aims.
    """
    label_g = limits_of(facts, desk.rule_sets).label_g
    found = market_aims(desk, facts)
    strictest = max(found, key=lambda market: market.aim_g)
    because = strictest.because
    if len(found) > 1:
        step = facts.scale.readability_g
        each = ", ".join(f"{m.rules} {shown_g(m.aim_g, step)}" for m in found)
        because = f"{because} Two markets: {each}; the higher one is used."
    return Aim(
        aim_g=strictest.aim_g,
        giveaway_g=strictest.aim_g - label_g,
        binding=strictest.binding,
        because=because,
        markets=found,
    )


def market_aims(
    desk: Desk, facts: JobFacts, *, sd_pct: Decimal | None = None
) -> tuple[MarketAim, ...]:
    """Return the aim that each market of a job asks for.

    Parameters
    ----------
    desk : Desk
        Knows the rule sets.
    facts : JobFacts
        The job.
    sd_pct : Decimal, optional
        Spread of single doses as a share of the label; the job's own when left out.

    Returns
    -------
    tuple of MarketAim
        The job's first rule set first.
    """
    spread_pct = sd_pct or facts.expected_sd_pct or UNKNOWN_SD_PCT
    return tuple(_aim(facts, market, spread_pct, desk) for market in markets_of(desk, facts))


def _aim(facts: JobFacts, market: Market, sd_pct: Decimal, desk: Desk) -> MarketAim:
    """Return the aim under the rules of one market."""
    label_g, step = limits_of(facts, desk.rule_sets).label_g, facts.scale.readability_g
    try:
        found = _target(facts, market, sd_pct)
    except BadInput as refused:
        return MarketAim(
            rules=market.rules.name,
            least_g=None,
            aim_g=in_steps(label_g + step, step, ROUND_CEILING),
            binding="none",
            because=f"One step above the label weight: {refused.message}",
        )
    more = Decimal(str(max(found.target - float(facts.nominal), 0.0)))
    per_unit = (
        Decimal(1)
        if facts.unit == "g"
        else Decimal(str(round(float(density_at(facts.product, LABEL_C)), _DIGITS)))
    )
    return MarketAim(
        rules=market.rules.name,
        least_g=float(label_g + more * per_unit),
        aim_g=in_steps(label_g + more * per_unit, step, ROUND_CEILING),
        binding=str(found.binding),
        because=found.because,
    )


def _target(facts: JobFacts, market: Market, sd_pct: Decimal) -> TargetFill:
    """Ask science for the least safe mean."""
    sd = float(facts.nominal * sd_pct) / 100
    tare_sd = facts.container.tare_sd_g or Decimal(0)
    tare = float(tare_sd) / (1.0 if facts.unit == "g" else float(facts.product.density_g_per_ml))
    return target_fill(
        market.rules,
        plan=market.plan,
        nominal=facts.nominal,
        unit=facts.unit,
        lot_size=facts.lot_size,
        own_plan=market.own_plan,
        supplied=market.supplied,
        sd_within=sd,
        sd_between_lots=_BETWEEN_SHARE * sd,
        sd_tare=tare,
        u_bias=float(facts.nominal) * mean_within(facts) / _SDS_OF_TRIM,
    )
