"""What a computed match says on its page: reasons, what to expect, what was assumed.

Only what cannot be stops a job. A rule that rests on a middle figure of what a product runs
like, or that a person can live with (a drip, a slow fill), asks for care.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from fillwright.jobs.match.case import Matched
from fillwright.jobs.match.product_flow import Assumed, told_flow
from fillwright.jobs.words import plain
from fillwright.records.entities import JobFacts, Machine
from fillwright.records.units import kelvin_from_c
from fillwright.science.match_types import MatchOutcome, Nearest
from fillwright.science.match_types import Reason as Ruled

__all__ = [
    "Expects",
    "Reason",
    "assumed_of",
    "behind_of",
    "computed",
    "expects_of",
    "matters_most",
]

State = Literal["on", "warn", "stop"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One thing that was compared: what, the figure, how it came out, why in a line.

    Parameters
    ----------
    name, figure : str
        What it is, and its figure.
    state : str
        ``"on"``, ``"warn"`` or ``"stop"``.
    words : str
        Why, in a line.
    cure : str
        The nearest thing that would do; empty where nothing is to be done.
    span : str
        Range of the figure; empty where it has none.
    matters_most : str
        Input that moves the figure most; empty where none does.
    """

    name: str
    figure: str
    state: State
    words: str
    cure: str = ""
    span: str = ""
    matters_most: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Expects:
    """A figure to expect at the bench, with its range and what it hangs on."""

    name: str
    words: str
    span: str
    matters_most: str = ""


_NAMES: Final = {
    "nozzle-holds": "Drip",
    "clean-fill": "Clean fill",
    "particles": "Pieces",
    "hopper": "Hopper",
    "recharge": "Recharge",
    "drive": "Push",
    "rating": "Ratings",
    "claim": "Spread",
}
"""Rules of the science that the page does not judge by facts of its own."""
_INPUTS: Final = {
    "viscosity": "how thick the product is",
    "surface tension": "the surface tension",
    "air release": "how easily air leaves the product",
    "dose": "the dose, and so the density",
    "temperature": "the temperature of the product",
    "air pressure": "the air pressure",
    "neck": "the mouth of the container",
    "handling": "how fast hands change containers",
}
"""Inputs of the science in the words of the page."""
_MAY_STOP: Final = ("particles", "recharge", "drive")
_BY_FLOW: Final = ("recharge", "drive")
_LITRE: Final = 1000.0
_REFILL_MIN: Final = 5.0
_WARM_MOST_K: Final = 30.0
_BAR: Final = 1e5
_PER_CENT: Final = 100.0


def computed(seen: Matched, facts: JobFacts) -> tuple[Reason, ...]:
    """Return the rules of the science as the page tells them."""
    found = []
    for ruled in seen.match.reasons:
        if ruled.rule not in _NAMES:
            continue
        near = [one for one in seen.match.nearest if one.rule == ruled.rule]
        found.append(_reason(ruled, near, facts, seen))
    return tuple(found)


def expects_of(seen: Matched, machine: Machine) -> tuple[Expects, ...]:
    """Return the few figures of the first screen: rate, air, recharge, fill."""
    by_name = {one.name: one for one in seen.match.expected}
    found = []
    rate = by_name.get("rate")
    if rate is not None and rate.low is not None and rate.high is not None:
        found.append(
            Expects(
                name="Rate",
                words=f"{rate.low:.0f} to {rate.high:.0f} a minute",
                span="one person changing containers",
            )
        )
    air = by_name.get("air-pressure")
    least = plain(machine.air_min_bar_g)
    if air is not None:
        needs = "more than 10" if air.value is None else f"{air.value / _BAR:.2g}"
        span = "" if air.value is None else _span(air.low, air.high, 1 / _BAR, "bar")
        found.append(
            Expects(
                name="Air",
                words=f"{least} bar or more",
                span=f"the product needs {span or f'{needs} bar'}",
                matters_most=_input(air.matters_most),
            )
        )
    found.append(_recharge(seen))
    clean = by_name.get("clean-fill")
    if clean is not None:
        free = clean.value is None or clean.value <= 0.0
        found.append(
            Expects(
                name="Fill no faster than",
                words="as fast as you like" if free else f"{clean.value:.1f} s a stroke",
                span="" if free else _span(clean.low, clean.high, 1.0, "s"),
                matters_most="" if free else _input(clean.matters_most),
            )
        )
    refill = by_name.get("refill")
    if refill is not None and refill.value is not None:
        found.append(
            Expects(
                name="Refill the hopper every",
                words=f"{refill.value:.0f} min",
                span=_span(refill.low, refill.high, 1.0, "min"),
                matters_most=_input(refill.matters_most),
            )
        )
    return tuple(found)


def matters_most(seen: Matched) -> str:
    """Return the input that is nearest to turning something that the page tells."""
    told = [one for one in seen.match.reasons if one.rule in _NAMES and one.matters_most]
    most = max(told, key=lambda one: one.pull, default=None)
    return "" if most is None else _input(most.matters_most)


def behind_of(seen: Matched) -> tuple[Expects, ...]:
    """Return the figures behind the first screen: free air, refill, time of a stroke."""
    named = {
        "fill": ("Fill as Set up begins", 1.0, "s"),
        "free-air": ("Free air", _LITRE, "L a minute"),
        "recharge": ("Shortest recharge, steady piston", 1.0, "s"),
    }
    found = []
    for one in seen.match.expected:
        if one.name not in named or one.value is None:
            continue
        name, scale, unit = named[one.name]
        found.append(
            Expects(
                name=name,
                words=f"{_two(scale * one.value)} {unit}",
                span=_span(one.low, one.high, scale, unit),
                matters_most=_input(one.matters_most),
            )
        )
    return tuple(found)


def assumed_of(facts: JobFacts, machine: Machine) -> tuple[Assumed, ...]:
    """Return what was not told of product and machine, and how much each matters."""
    found = list(told_flow(facts.product).assumed)
    if not facts.product.media:
        found.append(
            Assumed(
                name="What is in it",
                words="Not told, so seals are not judged.",
                matters="A wrong rubber swells within a shift; tell oil, solvent, acid, cleaner.",
            )
        )
    if not machine.is_described:
        found.append(
            Assumed(
                name="Machine",
                words="Its air drive and wet path are not described.",
                matters="Recharge, push, drip, rate and air are not judged until they are.",
            )
        )
    return tuple(found)


def _reason(ruled: Ruled, near: list[Nearest], facts: JobFacts, seen: Matched) -> Reason:
    """Return one rule of the science as the page tells it."""
    state: State = "on"
    if ruled.rule == "hopper":
        # A refill is a thing to know; only one that never leaves a person alone is a change.
        state = "warn" if (ruled.value or 0.0) < _REFILL_MIN else "on"
    elif ruled.outcome is MatchOutcome.WITH_CARE:
        state = "warn"
    elif ruled.outcome is MatchOutcome.NO:
        flow = facts.product.flow
        measured = flow is not None and flow.way != "like"
        stops = ruled.rule in _MAY_STOP and (ruled.rule not in _BY_FLOW or measured)
        state = "stop" if stops else "warn"
    words = ruled.because
    for place, name in enumerate(seen.suction_names, start=1):
        words = words.replace(f"iece {place} of the suction path", f"iece {name!r}")
    return Reason(
        name=_NAMES[ruled.rule],
        figure=_figure(ruled),
        state=state,
        words=words,
        cure="" if state == "on" else _cure(near, facts),
        span=_spanned(ruled),
        matters_most=_input(ruled.matters_most),
    )


def _cure(near: list[Nearest], facts: JobFacts) -> str:
    """Return the nearest things that would do; a thinner product by the warmth that it takes."""
    words = []
    for one in near:
        if one.change != "viscosity" or not isinstance(one.to, float):
            words.append(one.words)
            continue
        told = told_flow(facts.product)
        now_k = kelvin_from_c(float(facts.product.product_c))
        inverse = 1.0 / now_k + math.log(one.to / told.consistency_pa_s) / told.thinning_k
        warmer = 1.0 / inverse - now_k if inverse > 0.0 else math.inf
        if 0.0 < warmer <= _WARM_MOST_K:
            basis = "" if told.by_temperature else " by what it runs like"
            words.append(f"Warmed by {warmer:.0f} K{basis} it would do.")
    return " ".join(words)


def _figure(ruled: Ruled) -> str:
    """Return the figure of a rule in the unit that people read."""
    value = ruled.value
    if value is None:
        return "-"
    if ruled.unit == "Pa":
        return f"{value / _BAR:.2g} bar"
    if ruled.rule == "claim":
        return f"{_PER_CENT * value:.0f} % of the claim"
    if ruled.rule == "nozzle-holds":
        return f"bore {_two(value)} times what holds"
    if ruled.rule == "recharge" and ruled.because.startswith("The product follows"):
        return "follows the drive"
    if ruled.rule == "drive":
        return f"{value:.2g} times" if value < 20.0 else "ample"  # noqa: PLR2004  as its sentence
    if ruled.unit == "1":
        return f"{_two(value)} times"
    return f"{_two(value)} {ruled.unit}"


def _spanned(ruled: Ruled) -> str:
    """Return the range of a rule's figure in the unit that people read."""
    if ruled.low is None or ruled.high is None or ruled.low == ruled.high:
        return ""
    scale, unit = {"Pa": (1 / _BAR, "bar"), "1": (1.0, "times")}.get(ruled.unit, (1.0, ruled.unit))
    if ruled.rule == "claim":
        scale, unit = _PER_CENT, "%"
    return _span(ruled.low, ruled.high, scale, unit)


def _recharge(seen: Matched) -> Expects:
    """Return the fastest recharge by the watch, as Set up plans it."""
    plan = seen.plan
    one = next((e for e in seen.match.expected if e.name == "recharge"), None)
    most = "" if one is None else _input(one.matters_most)
    if not plan.feeds:
        return Expects(name="Recharge", words="will not feed", span="", matters_most=most)
    if plan.edge_s is None or not math.isfinite(plan.edge_s):
        return Expects(
            name="Recharge",
            words=f"{plan.recharge_s:.1f} s, as Set up begins",
            span="the product follows at any speed",
        )
    ends = ""
    if one is not None and one.value and one.low is not None and one.high is not None:
        low, high = plan.edge_s * one.low / one.value, plan.edge_s * one.high / one.value
        ends = _span(low, high, 1.0, "s")
    return Expects(
        name="Recharge no faster than",
        words=f"{plan.edge_s:.1f} s by the watch",
        span=ends,
        matters_most=most,
    )


def _span(low: float | None, high: float | None, scale: float, unit: str) -> str:
    """Return a range in words; empty where it has no ends or no width."""
    if low is None or high is None:
        return ""
    ends = _two(scale * low), _two(scale * high)
    return "" if ends[0] == ends[1] else f"{ends[0]} to {ends[1]} {unit}"


def _input(name: str | None) -> str:
    """Return an input of the science in the words of the page."""
    return _INPUTS.get(name or "", name or "")


def _two(value: float) -> str:
    """Return a figure with two digits that say something, never with an exponent."""
    if value == 0.0 or not math.isfinite(value):
        return "0" if value == 0.0 else "no end"
    digits = max(0, 1 - math.floor(math.log10(abs(value))))
    rounded = round(value, 1 - math.floor(math.log10(abs(value))))
    return f"{rounded:.{digits}f}"
