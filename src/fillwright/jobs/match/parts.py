"""The parts that a match says to fit, odd ones flagged, and the seals that do."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from fillwright.jobs.match.case import Matched
from fillwright.jobs.match.look import Reason
from fillwright.jobs.match.seal_choice import seal_choice
from fillwright.jobs.words import plain
from fillwright.records.entities import JobFacts, Machine
from fillwright.records.machine_parts import NOZZLE_KINDS
from fillwright.science.match_types import MatchOutcome

__all__ = ["NECK_CLEARANCE_MM", "Part", "parts_of", "seals_reason"]

NECK_CLEARANCE_MM: Final = Decimal(4)
"""What a mouth must be wider than the nozzle, for the air to leave (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part to fit, flagged where it is not the usual one."""

    name: str
    words: str
    is_odd: bool = False


def parts_of(facts: JobFacts, machine: Machine, seen: Matched | None) -> tuple[Part, ...]:
    """Return the parts to fit, odd ones flagged.

    Parameters
    ----------
    facts : JobFacts
        The job.
    machine : Machine
        The machine as it is described now.
    seen : Matched or None
        What was computed.
    """
    better = _better_nozzle(facts, machine)
    careful = (
        set()
        if seen is None
        else {one.rule for one in seen.match.reasons if one.outcome is not MatchOutcome.OK}
    )
    parts = [Part(name="Cylinder", words=f"{plain(facts.cylinder.capacity_ml)} mL")]
    nozzle = f"{plain(facts.nozzle.outside_mm)} mm, {facts.nozzle.kind}"
    if "nozzle-holds" in careful:
        nozzle += f"; {better} would not drip" if better else "; may drip"
    parts.append(Part(name="Nozzle", words=nozzle, is_odd="nozzle-holds" in careful))
    if machine.valves:
        warm = facts.product.product_c
        bears = [valve for valve in machine.valves if valve.hot_limit_c >= warm]
        fitted = machine.valves[0]
        taken = fitted if fitted in bears or not bears else bears[0]
        words = f"{taken.kind}, to {plain(taken.hot_limit_c)} °C"
        odd = taken is not fitted
        parts.append(
            Part(name="Valve", words=f"{words}, not the {fitted.kind} one" if odd else words,
                 is_odd=odd)
        )  # fmt: skip
    choice = seal_choice(facts.product.media, facts.product.product_c)
    if choice is not None:
        good = ", ".join(choice.good) or ", ".join(
            f"{n} after a soak test" for n in choice.doubtful
        )
        never = f"; not {', '.join(choice.never)}" if choice.never else ""
        parts.append(
            Part(name="Seals", words=f"{good or 'none of the table'}{never}",
                 is_odd=bool(choice.never))
        )  # fmt: skip
    if seen is not None and machine.hoppers:
        parts.append(Part(name="Hopper", words=machine.hoppers[0].name))
    return tuple(parts)


def seals_reason(facts: JobFacts) -> tuple[Reason, ...]:
    """Say which seals stand what is in the product."""
    choice = seal_choice(facts.product.media, facts.product.product_c)
    if choice is None:
        return ()
    good = ", ".join(choice.good)
    never = "; ".join(f"{name} not, because of {choice.worst[name]}" for name in choice.never)
    told = never or "Every seal material of the table stands it or can be tried."
    return (
        Reason(
            name="Seals",
            figure=good or "none rated good",
            state="warn" if choice.never or not good else "on",
            words=f"{told[0].upper()}{told[1:]}{'.' if never else ''}",
            cure=f"Fit {good}; confirm with the seal maker."
            if good
            else f"Soak a spare first: {', '.join(choice.doubtful) or 'none of the table'}.",
        ),
    )


def _better_nozzle(facts: JobFacts, machine: Machine) -> str:
    """Return a nozzle that is owned, fits, and does not drip where the fitted one may."""
    if facts.nozzle.kind != "plain":
        return ""
    for nozzle in sorted(machine.nozzles, key=lambda n: n.bore_mm, reverse=True):
        fits = nozzle.outside_mm + NECK_CLEARANCE_MM <= facts.container.mouth_mm
        if fits and nozzle.kind in NOZZLE_KINDS and nozzle.kind != "plain":
            return f"the {plain(nozzle.outside_mm)} mm {nozzle.kind} one"
    return ""
