"""Faults of a simulated machine, each sized by its effect on the dose of this product.

Severity 0.3 is just findable in twenty doses; a part can be bad and show nothing, as a worn
ring does in syrup: then the label says so. Sizes are judgement until real machines speak.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np

from fillwright.errors import BadInput
from fillwright.science.air import AirPassage
from fillwright.science.given import finite
from fillwright.science.leak import annular_leak
from fillwright.science.stroke import GRAVITY
from fillwright.science.stroke_times import recharge_times
from fillwright.science.twin_strokes import Conditions, strokes_of

if TYPE_CHECKING:
    from fillwright.science.twin_bench import TwinBench

__all__ = ["Effect", "Fault", "FaultKind", "effect_of", "findable", "leak_share"]

JUST: Final = 0.3
_GROWTH: Final = 30.0
_STEPS_OUT: Final = 3.5
_HALF: Final = 0.5
# A cut seal opens as far as the first, a ring that is only worn as far as the second.
GAP_MOST: Final = 300e-6
WORN_MOST: Final = 60e-6
LAND: Final = 0.008
_DOSES: Final = 20
_SHORT_SEVERITY: Final = 0.3
_NEEDLE_MOST: Final = 2e-8
_NEEDLES: Final = 25
_COOLING_MOST: Final = 10.0
_COOLINGS: Final = 21
_CREEP_MOST: Final = 40e-6
_DROPS_MOST: Final = 4.0
_FRICTION_SHARE: Final = 0.6
_LOWEST_SHARE: Final = 0.98
DRAWN_AIR: Final = 0.3


class FaultKind(StrEnum):
    """What can be wrong with a simulated machine."""

    VALVE_LEAK = "valve-leak"
    RING_WORN = "ring-worn"
    SUCTION_AIR = "suction-air"
    RECHARGE_TOO_FAST = "recharge-too-fast"
    WHEEL_CREEP = "wheel-creep"
    LOW_PRESSURE = "low-pressure"
    HOPPER_LOW = "hopper-low"
    START_AIR = "start-air"
    STICKY_VALVE = "sticky-valve"
    DRIP = "drip"
    TIGHT_SEAL = "tight-seal"
    BACK_FLOW = "back-flow"
    TEMPERATURE_DRIFT = "temperature-drift"
    SCALE_MOVED = "scale-moved"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A fault and how bad it is.

    Attributes
    ----------
    kind : FaultKind
        What is wrong.
    severity : float
        From 0, nothing, to 1. [1]
    """

    kind: FaultKind
    severity: float

    def __post_init__(self) -> None:
        if not 0.0 <= finite(self.severity, "severity") <= 1.0:
            raise BadInput(
                f"severity is {self.severity:g}; give 0 for nothing to 1 for the worst.",
                field="severity",
                given=self.severity,
                allowed="0 to 1",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What a fault does to this machine with this product.

    Attributes
    ----------
    fault : Fault
        The fault.
    share : float
        Its effect on the dose: a level, a spread, or a change over twenty doses. [1]
    figure : float
        The part's own figure: a gap [m], a conductance [m³/(s·Pa)], a force [N], a pressure
        [Pa], a cooling in twenty doses [K], a creep [m per dose], else a share. [its unit]
    shows : bool
        True where the doses of this product show it.
    """

    fault: Fault
    share: float
    figure: float
    shows: bool

    @property
    def label(self) -> str:
        """What a run with it is called: the kind, and whether it shows."""
        kind = self.fault.kind.value
        if self.fault.severity == 0.0:
            return f"{kind}: none"
        return kind if self.shows else f"{kind}: present, no effect"


def findable(kind: FaultKind, noise: float) -> float:
    """Return the effect of a fault that twenty doses just show.

    Parameters
    ----------
    kind : FaultKind
        What kind of sign it leaves.
    noise : float
        Standard deviation of a reading of a sound dose, as a share of the dose. [1]

    Returns
    -------
    float
        3.5 standard errors of the contrast that fits the sign. [1]

    Notes
    -----
    A level: ten doses against ten, σ√(1/5). A slope: over twenty doses, σ·20/√665. A start
    that dies out with a third left every three doses: σ/√2.05. A spread: ln of the ratio of
    two standard deviations has a standard error of 1/√38, so 3.5 of them add 1.46 σ.
    """
    if kind in {FaultKind.WHEEL_CREEP, FaultKind.TEMPERATURE_DRIFT}:
        return _STEPS_OUT * noise * _DOSES / math.sqrt(665.0)
    if kind is FaultKind.START_AIR:
        return _STEPS_OUT * noise / math.sqrt(2.05)
    if kind in {FaultKind.DRIP, FaultKind.TIGHT_SEAL, FaultKind.SUCTION_AIR}:
        return noise * math.sqrt(math.exp(2.0 * _STEPS_OUT / math.sqrt(38.0)) - 1.0)
    if kind in {FaultKind.STICKY_VALVE, FaultKind.BACK_FLOW, FaultKind.HOPPER_LOW}:
        return _STEPS_OUT * noise
    return _STEPS_OUT * noise * math.sqrt(0.2)


def leak_share(
    bench: TwinBench, gap: float, *, pressure: float, time: float, thickness: float = 0.0
) -> float:
    """Return the share of a dose that a gap lets back.

    Parameters
    ----------
    bench : TwinBench
        The machine with its product.
    gap : float
        Radial gap. [m]
    pressure : float
        Product pressure in the stroke. [Pa]
    time : float
        Time of the stroke. [s]
    thickness : float
        ln of the product's thickness over that at reference. [1]

    Returns
    -------
    float
        Share, at most nine tenths. [1]
    """
    wet = bench.wet
    lost = annular_leak(
        math.sqrt(4.0 * wet.piston_area / math.pi),
        gap=gap,
        land=LAND,
        pressure=max(pressure, 0.0),
        consistency=bench.consistency * math.exp(thickness),
        index=bench.index,
    )
    return min(float(lost) * time / (wet.piston_area * wet.stroke), 0.9)


def effect_of(bench: TwinBench, fault: Fault) -> Effect:
    """Return what a fault does to a machine with its product.

    Parameters
    ----------
    bench : TwinBench
        The sound machine.
    fault : Fault
        What is wrong and how badly.

    Returns
    -------
    Effect
        The part's figure that gives the effect of its severity, or the worst the part can do.
    """
    wanted = 0.0
    just = findable(fault.kind, bench.reading_noise)
    if fault.severity > 0.0:
        wanted = just * _GROWTH ** ((fault.severity - JUST) / (1.0 - JUST))
    share, figure = _sized(bench, fault, wanted)
    shows = fault.severity > 0.0 and share >= _HALF * just
    return Effect(fault=fault, share=share, figure=figure, shows=shows)


def _sized(bench: TwinBench, fault: Fault, wanted: float) -> tuple[float, float]:
    """Return the effect that the part can have, and its figure for that."""
    wet, severity = bench.wet, fault.severity
    match fault.kind:
        case FaultKind.VALVE_LEAK | FaultKind.RING_WORN:
            is_ring = fault.kind is FaultKind.RING_WORN
            return _gap(bench, wanted, WORN_MOST if is_ring else GAP_MOST)
        case FaultKind.RECHARGE_TOO_FAST:
            return _needle(bench, _SHORT_SEVERITY * severity)
        case FaultKind.WHEEL_CREEP:
            each = min(wanted * wet.stroke / _DOSES, _CREEP_MOST)
            return each * _DOSES / wet.stroke, each
        case FaultKind.TEMPERATURE_DRIFT:
            return _cooling(bench, wanted)
        case FaultKind.LOW_PRESSURE:
            full, stall = float(wet.drive.supply_pressure), bench.stall_supply
            lowest = wet.drive.ambient + _LOWEST_SHARE * (stall - wet.drive.ambient)
            supply = full + severity * (lowest - full)
            return (0.0 if supply > stall else 1.0), supply
        case FaultKind.TIGHT_SEAL:
            spare = (float(wet.drive.supply_pressure) - wet.drive.ambient) * float(
                wet.drive.rod_area
            )
            return wanted, float(wet.drive.friction) + severity * _FRICTION_SHARE * spare
        case _:
            share, figure = _bounded(bench, fault, wanted)
            return share, figure


def _bounded(bench: TwinBench, fault: Fault, wanted: float) -> tuple[float, float]:
    """Return the effect of what hangs, drains or bubbles: as wanted, or what there is at most."""
    wet, severity = bench.wet, fault.severity
    dose = wet.density * wet.piston_area * wet.stroke
    match fault.kind:
        case FaultKind.DRIP:
            share = min(wanted, _DROPS_MOST * bench.drop_mass / dose / math.sqrt(6.0))
            return share, share * math.sqrt(6.0)
        case FaultKind.BACK_FLOW:
            holds = bench.yield_stress >= wet.density * GRAVITY * bench.nozzle_bore / 4.0
            share = 0.0 if holds else min(wanted, bench.gooseneck * wet.density / dose)
            return share, share
        case FaultKind.HOPPER_LOW:
            return (DRAWN_AIR if severity > 0.0 else 0.0), round(60.0 * (1.0 - severity))
        case FaultKind.SUCTION_AIR:
            # Without a pull on the joint no air comes in; a thick product pulls hardest.
            share = min(wanted, math.sqrt(min(bench.suction_loss / wet.drive.ambient, 1.0)))
            return share, share
        case _:
            share = min(wanted, _HALF)
            return share, share


def _cooling(bench: TwinBench, wanted: float) -> tuple[float, float]:
    """Return what cooling does over twenty doses, and how many kelvin that takes."""
    colder = np.linspace(0.0, _COOLING_MOST, _COOLINGS)
    warmth = bench.temperature - colder
    here = Conditions(
        thickness=bench.thinning * (1.0 / warmth - 1.0 / bench.temperature),
        stroke=np.full(_COOLINGS, bench.wet.stroke),
        supply=np.full(_COOLINGS, float(bench.wet.drive.supply_pressure)),
        head=np.full(_COOLINGS, bench.wet.head),
    )
    full = strokes_of([bench.lattice], [here])[0]["fill_fraction"]
    change = np.abs(full / full[0] * (1.0 + bench.expansion * colder) - 1.0)
    change = np.maximum.accumulate(change)
    if wanted >= change[-1]:
        return float(change[-1]), _COOLING_MOST
    return wanted, float(np.interp(wanted, change, colder))


def _gap(bench: TwinBench, wanted: float, most: float) -> tuple[float, float]:
    """Return the leak that a gap can make, and the gap."""
    sound = bench.sound
    widest = leak_share(bench, most, pressure=sound["pressure"], time=sound["fill_time"])
    if wanted >= widest:
        return widest, most
    power = 2.0 + 1.0 / bench.index
    small = leak_share(bench, 1e-6, pressure=sound["pressure"], time=sound["fill_time"])
    return wanted, 1e-6 * (wanted / small) ** (1.0 / power) if wanted > 0.0 else 0.0


def _needle(bench: TwinBench, short: float) -> tuple[float, float]:
    """Return how short the cylinder gets, and the opening of the recharge needle for that."""
    wet = bench.wet
    least = float(wet.recharge_needle.conductance)
    openings = np.geomspace(least, max(_NEEDLE_MOST, 1.01 * least), _NEEDLES)
    passage = AirPassage(conductance=openings, critical_ratio=wet.recharge_needle.critical_ratio)
    table = wet.suction(np.zeros(1))
    found = recharge_times(
        replace(wet.drive, meter_out=passage),
        piston_area=wet.piston_area,
        stroke=wet.stroke,
        table=table.take(np.zeros(_NEEDLES, dtype=np.intp)),
        head=wet.density * GRAVITY * wet.head,
        cavity_pressure=wet.cavity_pressure,
        dwell=wet.dwell,
    )
    lacking = np.maximum.accumulate(1.0 - found.fill_fraction)
    if short >= lacking[-1]:
        return float(lacking[-1]), float(openings[-1] if lacking[-1] > 0.0 else openings[0])
    if short <= 0.0:
        return 0.0, least
    first = int(np.argmax(lacking > 0.0))
    opening = np.exp(
        np.interp(short, lacking[max(first - 1, 0) :], np.log(openings[max(first - 1, 0) :]))
    )
    return short, float(opening)
