"""What a person at the simulated bench sees and hears of a cycle, in plain words.

Read off the physical state alone: from what size on something shows is common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fillwright.records.units import mm_from_m, pa_from_bar
from fillwright.science.air import AMBIENT
from fillwright.science.twin import Twin
from fillwright.science.twin_faults import Fault, FaultKind
from fillwright.science.twin_trace import Cycle

__all__ = ["Seen", "seen_at"]

_SLOWER: Final = 1.25
_GAUGE_LEAST_BAR_G: Final = 5.0
_LEAK_SHOWS: Final = 0.003
_GAS_SHOWS: Final = 0.01
_LATE_SHOWS: Final = 0.004
_DROP_SHOWS: Final = 0.3
_STIFF: Final = 2.5
_CREPT_SHOWS_MM: Final = 0.15
_HARDLY: Final = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What was seen and heard of one cycle.

    Parameters
    ----------
    recharge_s, fill_s : float
        Both strokes by the watch.
    gauge_bar_g : float
        What the air gauge reads.
    words : tuple of str
        What else, a sentence each; empty where the cycle was like any other.
    """

    recharge_s: float
    fill_s: float
    gauge_bar_g: float
    words: tuple[str, ...]


def seen_at(twin: Twin, cycle: Cycle, *, share: float = 1.0, held_air: float = 0.0) -> Seen:
    """Return what a person sees and hears of a cycle.

    Parameters
    ----------
    twin : Twin
        The machine, after the cycle.
    cycle : Cycle
        What happened in truth.
    share : float
        Stroke that was drawn, over that of the aim.
    held_air : float
        Share of the dose that was air held since the start.

    Returns
    -------
    Seen
        Slow means a quarter slower than the sound machine.
    """
    sound, wet = twin.bench.sound, twin.bench.wet
    gauge_bar_g = (cycle.supply - AMBIENT) / pa_from_bar(1.0)
    faults = {effect.fault.kind: effect for effect in twin.effects}
    severe = {kind: effect.fault for kind, effect in faults.items() if effect.fault.severity}
    stiff = faults.get(FaultKind.TIGHT_SEAL)
    told = {
        "Nothing comes out of the nozzle.": cycle.dose
        < _HARDLY * share * wet.density * wet.piston_area * wet.stroke,
        "The fill stroke stops on the way.": cycle.stalls,
        "The piston jumps at the start of the fill, then slows.": cycle.jumps,
        "The nozzle spits air.": cycle.spits,
        "Bubbles run through with the product.": cycle.gas > _GAS_SHOWS or held_air > _GAS_SHOWS,
        "The outlet of the hopper is bare.": cycle.gas > _GAS_SHOWS
        and FaultKind.HOPPER_LOW in severe,
        "A drop hangs at the nozzle and falls.": cycle.hangs > _DROP_SHOWS * twin.bench.drop_mass,
        "The product valve clacks over late.": cycle.lacks > _LATE_SHOWS
        and FaultKind.STICKY_VALVE in severe,
        "The gooseneck had run empty since the last dose.": cycle.lacks > _LATE_SHOWS
        and FaultKind.BACK_FLOW in severe,
        "Product shows on the rod behind the piston.": _leaks(cycle, severe, FaultKind.RING_WORN),
        "The product in the hopper heaves with each fill.": _leaks(
            cycle, severe, FaultKind.VALVE_LEAK
        ),
        "It squeals and judders on its way.": stiff is not None
        and stiff.figure > _STIFF * float(wet.drive.friction),
        "The pointer does not stand where it was set.": mm_from_m(twin.crept) > _CREPT_SHOWS_MM,
        "The fill stroke is slow.": cycle.fill_time > _SLOWER * share * sound["fill_time"],
        "The recharge is slow.": cycle.recharge_time > _SLOWER * share * sound["recharge_time"],
        "The air gauge stands under 5 bar.": gauge_bar_g < _GAUGE_LEAST_BAR_G,
    }
    return Seen(
        recharge_s=cycle.recharge_time,
        fill_s=cycle.fill_time,
        gauge_bar_g=gauge_bar_g,
        words=tuple(words for words, shows in told.items() if shows),
    )


def _leaks(cycle: Cycle, severe: dict[FaultKind, Fault], kind: FaultKind) -> bool:
    """Return True where enough gets past a seal to be seen."""
    return cycle.leak > _LEAK_SHOWS and kind in severe
