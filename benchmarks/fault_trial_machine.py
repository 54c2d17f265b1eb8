"""Simulated fillers with one fault each: their doses, their state, and what is noticed at once."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "fakes"))

import filler
from fault_trial_state import CLASSES, LOOKS, SIGNS, SYMPTOMS, WEIGHTS, Scenario, State

from fillwright.science.air import AMBIENT, AirPassage
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.stroke import GRAVITY
from fillwright.science.stroke_times import recharge_times
from fillwright.science.twin import Twin
from fillwright.science.twin_faults import Fault, FaultKind
from fillwright.science.twin_strokes import strokes_of
from fillwright.science.twin_trace import Plan

Floats = NDArray[np.float64]

DOSES = 60
MILD = 0.3
FLUSH = 10.0
AIR_DOSES = 3.0
# A scale of 0.1 g under a dose of 250 g.
STEP = 4e-4
PRODUCTS = {
    "water": filler.bench(FlowCurve(consistency=1e-3), 998.0, recharge=4e-9, readability=STEP),
    "oil, 0.1 Pa·s": filler.bench(
        FlowCurve(consistency=0.1),
        920.0,
        recharge=4e-9,
        thinning=4500.0,
        expansion=7e-4,
        readability=STEP,
    ),
    "shampoo, 6 Pa·s^0.6": filler.bench(
        FlowCurve(consistency=6.0, index=0.6),
        1020.0,
        recharge=3e-9,
        thinning=4000.0,
        readability=STEP,
    ),
    "cream, 15 Pa + 8 Pa·s^0.45": filler.bench(
        FlowCurve(yield_stress=15.0, consistency=8.0, index=0.45),
        990.0,
        recharge=3e-9,
        readability=STEP,
    ),
    "syrup, 5 Pa·s": filler.bench(
        FlowCurve(consistency=5.0),
        1400.0,
        recharge=2.2e-9,
        thinning=8000.0,
        readability=STEP,
    ),
}


@dataclass(frozen=True, kw_only=True)
class Run:
    """Sixty weighed doses of a faulty filler."""

    scenario: Scenario
    severity: float
    product: str
    readings: Floats
    target: float
    readability: float
    state: State


def run_of(scenario: Scenario, severity: float, product: str, rng: Generator) -> Run:
    """Return a run with a fault that was there from its first dose on."""
    bench = PRODUCTS[product]
    faults = [Fault(kind=kind, severity=severity) for kind in scenario.kinds]
    twin = Twin(bench, rng, faults)
    plan = twin.plan(DOSES, bench.wet.stroke)
    strokes = strokes_of([twin.lattice], [plan.conditions])[0]
    doses, gas, leak = twin.finish(plan, strokes)
    target = bench.wet.density * bench.wet.piston_area * bench.wet.stroke
    step = bench.readability * target
    readings = np.round(doses / step) * step
    state = _state(scenario, twin, plan, strokes, (gas, leak), readings / target)
    return Run(
        scenario=scenario,
        severity=severity,
        product=product,
        readings=readings,
        target=target,
        readability=step,
        state=state,
    )


def _state(
    scenario: Scenario,
    twin: Twin,
    plan: Plan,
    strokes: Mapping[str, Floats],
    ends: tuple[Floats, Floats],
    shares: Floats,
) -> State:
    """Return the physical state at the end of the run, with what the weights look like."""
    bench, sound, wet = twin.bench, twin.bench.sound, twin.bench.wet
    gas, leak = ends
    figure = {effect.fault.kind: effect.figure for effect in twin.effects}
    effect = {effect.fault.kind: effect.share for effect in twin.effects}
    swept = wet.piston_area * wet.stroke
    last = slice(-10, None)
    void = float(np.mean(strokes["void"][last])) / swept
    stalls = float(np.mean(strokes["swept"][last])) < 0.98
    colder = bench.temperature - float(np.mean(plan.temperature[last]))
    first_gas = float(np.mean(gas[:3]))
    # After ten strokes more, air that was there from the start has gone on dying out; air that
    # keeps coming in has not.
    dies = first_gas > 3.0 * float(np.mean(gas[last])) and FaultKind.START_AIR in figure
    after = float(np.mean(gas[last])) * (np.exp(-FLUSH / AIR_DOSES) if dies else 1.0)
    gap = figure.get(FaultKind.VALVE_LEAK, figure.get(FaultKind.RING_WORN, 0.0))
    gone = FaultKind.HOPPER_LOW in figure and figure[FaultKind.HOPPER_LOW] < DOSES
    place = np.arange(DOSES) - (DOSES - 1) / 2.0
    slope = float(place @ shares) / float(place @ place)
    rest = shares - shares.mean() - slope * place
    noise = bench.reading_noise
    calm = float(np.median(np.abs(rest))) / 0.6745
    return State(
        part=scenario.part,
        gauge_bar_g=(float(np.mean(plan.conditions.supply[last])) - AMBIENT) / 1e5,
        stalls=stalls,
        moves=float(np.mean(strokes["swept"][last])) > 0.02 and _recharges(strokes),
        fill_slower=float(np.mean(strokes["fill_time"][last])) / sound["fill_time"],
        recharge_slower=float(np.mean(strokes["recharge_time"][last])) / sound["recharge_time"],
        friction_times=figure.get(FaultKind.TIGHT_SEAL, float(wet.drive.friction))
        / float(wet.drive.friction),
        gap_um=1e6 * gap,
        leak_pct=100.0 * float(np.mean(leak[last])),
        void_pct=100.0 * void,
        void_slower_pct=100.0 * (_void_slower(twin, colder) / swept if void > 1e-3 else void),
        gas_pct=100.0 * float(np.mean(gas[last])),
        first_gas_pct=100.0 * first_gas,
        gas_after_flush_pct=100.0 * float(after),
        drop_share=0.5
        * figure.get(FaultKind.DRIP, 0.0)
        * bench.wet.density
        * swept
        / bench.drop_mass,
        late_share=effect.get(FaultKind.STICKY_VALVE, 0.0),
        pointer_mm=1e3 * twin.crept,
        colder_k=colder,
        constant_pct=100.0 * effect.get(FaultKind.SCALE_MOVED, 0.0),
        level_is_bare=gone,
        mean_low_pct=100.0 * (1.0 - float(shares[-20:].mean())),
        first_low_pct=100.0 * float(shares[10:].mean() - shares[:3].mean()),
        creep_pct=100.0 * slope * DOSES,
        is_creep_clear=abs(slope) > 6.0 * max(calm, noise) / np.sqrt(float(place @ place)),
        spread_times=calm / noise,
        far_out=int(np.sum(np.abs(rest) > 6.0 * max(calm, noise))),
        nothing_comes=float(shares[-10:].mean()) < 0.05,
    )


def _recharges(strokes: Mapping[str, Floats]) -> bool:
    """Return False where the piston does not come back within a minute."""
    return float(np.mean(strokes["recharge_time"][-10:])) < 60.0


def _void_slower(twin: Twin, colder: float) -> float:
    """Return the void that is left with the recharge needle closed by half."""
    bench, wet = twin.bench, twin.lattice.wet
    half = AirPassage(
        conductance=0.5 * float(wet.recharge_needle.conductance),
        critical_ratio=wet.recharge_needle.critical_ratio,
    )
    warm = 1.0 / (bench.temperature - colder) - 1.0 / bench.temperature
    found = recharge_times(
        replace(wet.drive, meter_out=half),
        piston_area=wet.piston_area,
        stroke=wet.stroke,
        table=wet.suction(np.array([bench.thinning * warm])),
        head=wet.density * GRAVITY * wet.head,
        cavity_pressure=wet.cavity_pressure,
        dwell=wet.dwell,
    )
    return float(found.void[0])


@dataclass(frozen=True, kw_only=True)
class Person:
    """What one person would see at one machine, drawn once for each look."""

    seen: Mapping[str, bool]
    holds: Mapping[str, bool]
    state: State

    @property
    def noticed(self) -> tuple[str, ...]:
        """Signs that are noticed before anything is looked for."""
        return tuple(name for name in (*SYMPTOMS, *WEIGHTS) if self.seen[name])

    @property
    def sign(self) -> str:
        """The button that is pressed; empty where none of them fits."""
        noticed = set(self.noticed)
        key = next((key for key, names in SIGNS if noticed & set(names)), "")
        if key == "creeps":
            return "creeps-up" if self.state.creep_pct > 0.0 else "creeps-down"
        return key

    @property
    def besides(self) -> tuple[str, ...]:
        """Signs that the button does not say."""
        key = self.sign.partition("-")[0] if self.sign.startswith("creeps") else self.sign
        said = next((names for name, names in SIGNS if name == key), ())
        covered = said if len(said) == 1 else ()
        return tuple(name for name in self.noticed if name not in covered)


def person_at(
    run: Run, findings: Mapping[str, str], repairs: tuple[str, ...], fails: float, rng: Generator
) -> Person:
    """Return what a person would see, by the class of observer of each finding."""
    truth = {**SYMPTOMS, **WEIGHTS, **LOOKS}
    kind = {
        **dict.fromkeys(SYMPTOMS, "noticed while it runs"),
        **dict.fromkeys(WEIGHTS, "read off the weights"),
        **findings,
    }
    seen = {}
    for name, observer in kind.items():
        draw, rates = float(rng.random()), CLASSES[observer]
        is_there = name in truth and bool(truth[name](run.state))
        seen[name] = draw >= rates.miss if is_there else draw < rates.false
    holds = {name: float(rng.random()) >= fails for name in repairs}
    return Person(seen=seen, holds=holds, state=run.state)
