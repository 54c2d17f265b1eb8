"""A simulated piston filler: quasi-steady strokes, chance, and faults with their true effect.

Nothing is random but what is named: setting, drop, supply, warmth, bubbles. Sizes of chance
are judgement until real weighings speak; tests hold the strokes against a full model.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.science.air import AirPassage
from fillwright.science.given import whole
from fillwright.science.twin_bench import TwinBench
from fillwright.science.twin_faults import (
    DRAWN_AIR,
    Effect,
    Fault,
    FaultKind,
    effect_of,
    leak_share,
)
from fillwright.science.twin_state import State, Wear
from fillwright.science.twin_strokes import COLUMNS, Conditions, StrokeLattice, strokes_of
from fillwright.science.twin_trace import Cycle, Plan, Trace

__all__ = ["Twin", "run"]

_WALK: Final = 0.005
_SUPPLY_SD: Final = 0.003
_SETTING_SD: Final = 10e-6
_NORMALS: Final = 6
_EVENS: Final = 4
_TRAY: Final = 12
_AIR_DOSES: Final = 3.0
_KEPT: Final = 0.8
_WEAR_CYCLES: Final = 200.0
_WEAR_AT: Final = 20.0
_COOLING: Final = math.log(11.0) / 20.0
_REFILL_AT: Final = 0.4
_STICK: Final = (0.02, 0.08)
_JUMP: Final = 0.02
# Read between corners of a lattice, a whole stroke is one but for rounding.
_AT_STOP: Final = 0.999


class Twin:
    """One simulated machine that goes on from cycle to cycle.

    Parameters
    ----------
    bench : TwinBench
        The sound machine with its product.
    rng : Generator
        Where its chance comes from; as many draws a cycle whatever is wrong, so that a fault
        changes nothing else.
    faults : sequence of Fault
        What is wrong from the start.
    """

    def __init__(self, bench: TwinBench, rng: Generator, faults: Sequence[Fault] = ()) -> None:
        self.bench = bench
        self._rng = rng
        self._state = State()
        self._wear = Wear()
        self._lattice = bench.lattice
        self.set_faults(faults)

    @property
    def effects(self) -> tuple[Effect, ...]:
        """The faults and what they do to this product."""
        return self._wear.effects

    @property
    def lattice(self) -> StrokeLattice:
        """Strokes of the machine as its faults have made it."""
        return self._lattice

    @property
    def supply(self) -> float:
        """Supply pressure as its faults have made it, absolute. [Pa]."""
        sound = float(self.bench.wet.drive.supply_pressure)
        return self._wear.figure.get(FaultKind.LOW_PRESSURE, sound)

    @property
    def crept(self) -> float:
        """How far the wheel has crept by itself. [m]."""
        return self._state.crept

    def set_faults(self, faults: Sequence[Fault]) -> None:
        """Let these faults, and no others, act from the next cycle on.

        Parameters
        ----------
        faults : sequence of Fault
            Each kind at most once.

        Raises
        ------
        BadInput
            If a kind comes twice.
        """
        kinds = [fault.kind for fault in faults]
        if len(set(kinds)) < len(kinds):
            raise BadInput(
                "faults names a kind twice; give each with one severity.",
                field="faults",
                given=", ".join(kinds),
                allowed="each kind once",
                code="inconsistent",
            )
        self._act_on(faults)
        self._state.faulty_from = self._state.count

    def stand(self, bench: TwinBench) -> None:
        """Let the machine stand otherwise from the next cycle on; faults go on as they were.

        Parameters
        ----------
        bench : TwinBench
            Flow controls, air or product as they are now.
        """
        self.bench = bench
        self._act_on([effect.fault for effect in self._wear.effects])

    def _act_on(self, faults: Sequence[Fault]) -> None:
        """Let faults act on the machine as it stands."""
        effects = tuple(effect_of(self.bench, fault) for fault in faults)
        self._wear = Wear(
            effects=effects,
            figure={effect.fault.kind: effect.figure for effect in effects},
            share={effect.fault.kind: effect.share for effect in effects},
        )
        wet, figure = self.bench.wet, self._wear.figure
        if FaultKind.TIGHT_SEAL in figure:
            drive = replace(wet.drive, friction=figure[FaultKind.TIGHT_SEAL])
            wet = replace(wet, drive=drive)
        if FaultKind.RECHARGE_TOO_FAST in figure:
            needle = AirPassage(
                conductance=figure[FaultKind.RECHARGE_TOO_FAST],
                critical_ratio=wet.recharge_needle.critical_ratio,
            )
            wet = replace(wet, recharge_needle=needle)
        self._lattice = self.bench.lattice if wet is self.bench.wet else StrokeLattice(wet)

    def cycle(self, stroke: float | None = None) -> Cycle:
        """Fill one container.

        Parameters
        ----------
        stroke : float, optional
            Drawn stroke; that of the bench where left out. [m]

        Returns
        -------
        Cycle
            What happened in truth.
        """
        plan = self.plan(1, self.bench.wet.stroke if stroke is None else stroke)
        self._lattice.reach(plan.conditions)
        strokes = strokes_of([self._lattice], [plan.conditions])[0]
        doses, gas, leak = self.finish(plan, strokes)
        void = float(strokes["void"][0])
        empty = void > self.bench.gooseneck
        return Cycle(
            dose=float(doses[0]),
            recharge_time=float(strokes["recharge_time"][0]),
            fill_time=float(strokes["fill_time"][0]),
            void=void,
            temperature=float(plan.temperature[0]),
            supply=float(plan.conditions.supply[0]),
            jumps=void > _JUMP * self.bench.wet.piston_area * float(plan.setting[0]),
            spits=empty or float(gas[0]) > _JUMP,
            drips=self._wear.share.get(FaultKind.DRIP, 0.0) > 0.0,
            stalls=float(strokes["swept"][0]) < _AT_STOP,
            gas=float(gas[0]),
            leak=float(leak[0]),
            lacks=float(self._events(plan)[0]),
            hangs=self._state.hanging,
        )

    def plan(self, count: int, stroke: float) -> Plan:
        """Return the conditions of the next cycles.

        Parameters
        ----------
        count : int
            How many.
        stroke : float
            Drawn stroke. [m]

        Returns
        -------
        Plan
            To be handed to ``finish`` with the strokes.
        """
        bench, state, figure = self.bench, self._state, self._wear.figure
        normal = self._rng.standard_normal((count, _NORMALS))
        even = self._rng.random((count, _EVENS))
        since = state.count - state.faulty_from + np.arange(count)
        walk = state.walk + _WALK * np.cumsum(normal[:, 0])
        # Towards a room that is cooler by a tenth more than twenty doses cool it.
        colder = 1.1 * figure.get(FaultKind.TEMPERATURE_DRIFT, 0.0)
        cooled = colder * (1.0 - np.exp(-_COOLING * since))
        warmth = bench.temperature + walk - cooled
        crept = state.crept + figure.get(FaultKind.WHEEL_CREEP, 0.0) * np.arange(count)
        setting = np.maximum(stroke - crept, 0.02 * stroke)
        supply = np.full(count, float(bench.wet.drive.supply_pressure))
        supply[:] = figure.get(FaultKind.LOW_PRESSURE, supply[0])
        over = (supply - bench.wet.drive.ambient) * (1.0 + _SUPPLY_SD * normal[:, 1])
        head, drawn = self._levels(count, stroke)
        state.walk, state.drawn = float(walk[-1]), drawn
        state.crept += figure.get(FaultKind.WHEEL_CREEP, 0.0) * count
        state.count += count
        return Plan(
            conditions=Conditions(
                thickness=bench.thinning * (1.0 / warmth - 1.0 / bench.temperature),
                stroke=setting,
                supply=bench.wet.drive.ambient + np.maximum(over, 1.0),
                head=head,
            ),
            temperature=warmth,
            setting=setting + _SETTING_SD * normal[:, 2],
            since=since,
            normal=normal,
            even=even,
        )

    def finish(self, plan: Plan, strokes: dict[str, NDArray[np.float64]]) -> NDArray[np.float64]:
        """Return the doses of planned cycles once their strokes are known.

        Parameters
        ----------
        plan : Plan
            From ``plan``.
        strokes : dict of str to ndarray
            Their strokes by ``COLUMNS``. [unit of the column]

        Returns
        -------
        ndarray, shape (3, n)
            Doses [kg], the share of gas in each, and the share that leaked. [1]
        """
        bench, wet = self.bench, self.bench.wet
        gas = self._gas(plan)
        leak = self._leaks(plan, strokes)
        swept = wet.piston_area * plan.setting * strokes["swept"]
        volume = np.maximum(swept - strokes["void"], 0.0)
        density = wet.density * (1.0 - bench.expansion * (plan.temperature - bench.temperature))
        full = density * volume
        doses = full * (1.0 - gas) * (1.0 - leak)
        # What the setting's own jitter gives is a part of the noise, not on top of it.
        rest = math.sqrt(max(bench.noise**2 - (_SETTING_SD / wet.stroke) ** 2, 0.0))
        shake = math.hypot(rest, self._wear.share.get(FaultKind.TIGHT_SEAL, 0.0))
        doses = doses * (1.0 + shake * plan.normal[:, 3])
        doses = doses * (1.0 - self._events(plan))
        doses = doses * (1.0 - self._wear.share.get(FaultKind.SCALE_MOVED, 0.0))
        return np.stack([np.maximum(doses + self._drops(plan, full), 0.0), gas, leak])

    def _levels(self, count: int, stroke: float) -> tuple[NDArray[np.float64], float]:
        """Return the product's level before each cycle, and what has been drawn by the end."""
        bench = self.bench
        each = bench.wet.piston_area * stroke / bench.hopper_area
        deepest = max((1.0 - _REFILL_AT) * bench.wet.head, each)
        used = (self._state.drawn + each * np.arange(count + 1)) % deepest
        # Levels in steps of a fingertip: what they do is nil while the cylinder fills.
        return bench.wet.head - 0.05 * np.floor(used[:-1] / 0.05), float(used[-1])

    def _gas(self, plan: Plan) -> NDArray[np.float64]:
        """Return the share of gas in each dose."""
        share, state = self._wear.share, self._state
        gas = share.get(FaultKind.START_AIR, 0.0) * np.exp(-plan.since / _AIR_DOSES)
        coming = share.get(FaultKind.SUCTION_AIR, 0.0)
        for place in range(len(gas)):
            # Bubbles gather in the wet end and leave in lumps.
            fresh = -math.log1p(-plan.even[place, 0]) * coming
            state.bubbles = _KEPT * state.bubbles + (1.0 - _KEPT) * fresh * (0.5 + coming)
            gas[place] += state.bubbles / (0.5 + coming)
        if FaultKind.HOPPER_LOW in share and share[FaultKind.HOPPER_LOW] > 0.0:
            gone = plan.since >= self._wear.figure[FaultKind.HOPPER_LOW]
            gas = np.where(gone, gas + 2.0 * DRAWN_AIR * plan.even[:, 1], gas)
        return np.minimum(gas, 1.0)

    def _leaks(self, plan: Plan, strokes: dict[str, NDArray[np.float64]]) -> NDArray[np.float64]:
        """Return the share of each dose that leaks back."""
        figure = self._wear.figure
        leak = np.zeros(len(plan.since))
        for kind in (FaultKind.VALVE_LEAK, FaultKind.RING_WORN):
            if figure.get(kind, 0.0) <= 0.0:
                continue
            wear = np.ones(len(leak))
            if kind is FaultKind.RING_WORN:
                wear = (1.0 + plan.since / _WEAR_CYCLES) / (1.0 + _WEAR_AT / _WEAR_CYCLES)
            leak += [
                leak_share(self.bench, figure[kind] * by, pressure=p, time=t, thickness=x)
                for by, p, t, x in zip(
                    wear.tolist(),
                    strokes["pressure"].tolist(),
                    strokes["fill_time"].tolist(),
                    plan.conditions.thickness.tolist(),
                    strict=True,
                )
            ]
        return np.minimum(leak, 0.9)

    def _events(self, plan: Plan) -> NDArray[np.float64]:
        """Return the share that single doses lack: a sticking valve, a drained gooseneck."""
        share = self._wear.share
        lacks = np.zeros(len(plan.since))
        if FaultKind.STICKY_VALVE in share:
            severity = next(
                e.fault.severity
                for e in self._wear.effects
                if e.fault.kind is FaultKind.STICKY_VALVE
            )
            sticks = plan.even[:, 2] < _STICK[0] + _STICK[1] * severity
            size = share[FaultKind.STICKY_VALVE] * (0.7 - np.log1p(-plan.even[:, 3]))
            lacks = np.where(sticks & (severity > 0.0), lacks + size, lacks)
        if FaultKind.BACK_FLOW in share:
            paused = plan.since % _TRAY == 0
            lacks = np.where(paused, lacks + share[FaultKind.BACK_FLOW], lacks)
        return np.minimum(lacks, 1.0)

    def _drops(self, plan: Plan, full: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return what a dripping nozzle takes from one dose and gives to the next."""
        size = self._wear.figure.get(FaultKind.DRIP, 0.0)
        hangs = size * plan.even[:, 3] * full
        before = np.concatenate([[self._state.hanging], hangs[:-1]])
        self._state.hanging = float(hangs[-1])
        return before - hangs if size > 0.0 else np.zeros(len(full))


def run(
    benches: Sequence[TwinBench],
    *,
    cycles: int,
    rngs: Sequence[Generator],
    faults: Sequence[Sequence[Fault]] = (),
) -> Trace:
    """Return runs of many machines, their strokes computed side by side.

    Parameters
    ----------
    benches : sequence of TwinBench
        Machines with their products.
    cycles : int
        Doses of each.
    rngs : sequence of Generator
        One for each machine.
    faults : sequence of sequence of Fault
        Of each machine; empty where all are sound.

    Returns
    -------
    Trace
        Doses, what was behind them, and the labels.

    Raises
    ------
    BadInput
        If the sequences differ in length or `cycles` is below 1.
    """
    count = whole(cycles, "cycles", at_least=1)
    told = tuple(faults) or ((),) * len(benches)
    if not len(benches) == len(rngs) == len(told):
        raise BadInput(
            f"there are {len(benches)} machines, {len(rngs)} generators and {len(told)} lists of "
            "faults; give one of each for every machine.",
            field="rngs",
            given=len(rngs),
            allowed=str(len(benches)),
            code="inconsistent",
        )
    twins = [Twin(bench, rng, each) for bench, rng, each in zip(benches, rngs, told, strict=True)]
    plans = [twin.plan(count, twin.bench.wet.stroke) for twin in twins]
    strokes = strokes_of([twin.lattice for twin in twins], [plan.conditions for plan in plans])
    ends = np.stack(
        [twin.finish(plan, part) for twin, plan, part in zip(twins, plans, strokes, strict=True)]
    )
    return Trace(
        doses=ends[:, 0],
        strokes={name: np.stack([part[name] for part in strokes]) for name in COLUMNS},
        temperature=np.stack([plan.temperature for plan in plans]),
        gas=ends[:, 1],
        leak=ends[:, 2],
        effects=tuple(twin.effects for twin in twins),
    )
