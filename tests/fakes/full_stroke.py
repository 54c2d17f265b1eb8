"""A stroke with everything in it, for proofs only: piston mass, liquid inertia, squeeze, gas.

Six states integrated by a general solver: piston place and speed, two air pressures, liquid
in the cylinder, flow. It shares no equation with the sources but the published ones.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

AMBIENT = 101_325.0
# Choked flow at an upstream pressure p fills C x 1.185 kg/m3 x 287.05 J/(kg K) x 293.15 K x p.
AIR = 1.185 * 287.05 * 293.15
MOST_TIME = 60.0
# Where the first solver gives up.
OTHER_METHOD = "BDF"


@dataclass(frozen=True, kw_only=True)
class Full:
    """An invented machine with a product in it."""

    loss: Callable[[float], float]
    inertance: float
    air_bore: float = 0.063
    rod: float = 0.020
    bore: float = 0.050
    stroke: float = 250e-6 / (math.pi / 4.0 * 0.050**2)
    supply: float = 701_325.0
    feed: float = 4e-8
    vent: float = 0.4e-8
    b: float = 0.3
    friction: float = 60.0
    friction_share: float = 0.04
    dead: float = 30e-6
    mass: float = 2.0
    head: float = 0.0
    cavity: float = 20_000.0
    bulk: float = 1.2e9
    gas: float = 2e-8
    spare: float = 5e-6

    @property
    def area(self) -> float:
        """Area of the product piston."""
        return math.pi / 4.0 * self.bore**2

    @property
    def caps(self) -> tuple[float, float]:
        """Areas of the cap side and the rod side."""
        cap = math.pi / 4.0 * self.air_bore**2
        return cap, cap - math.pi / 4.0 * self.rod**2


@dataclass(frozen=True)
class Stroked:
    """How a full stroke went."""

    time: float
    void: float
    calls: int
    places: np.ndarray
    times: np.ndarray


def passing(ratio: float, b: float) -> float:
    """Share of the choked flow that passes."""
    if ratio <= b:
        return 1.0
    return math.sqrt(1.0 - ((ratio - b) / (1.0 - b)) ** 2) if ratio < 1.0 else 0.0


def product_pressure(full: Full, room: float, liquid: float) -> float:
    """Pressure of liquid, gas and vapour in a room: one positive root of a quadratic."""
    a = liquid / full.bulk
    b = room - liquid * (1.0 - (full.cavity - AMBIENT) / full.bulk)
    c = -full.gas * AMBIENT
    # Below zero only in a trial step that the solver throws away.
    root = math.sqrt(max(b * b - 4.0 * a * c, 0.0))
    over = -2.0 * c / (b + root) if b > 0.0 else (root - b) / (2.0 * a)
    return full.cavity + over


def smooth(loss: Callable[[float], float], around: float = 1e-6) -> Callable[[float], float]:
    """Odd loss that passes zero flow without a jump, as a yield stress would make one."""

    def smoothed(flow: float) -> float:
        size = math.sqrt(flow * flow + around * around)
        return loss(size) * flow / size

    return smoothed


def discharge(full: Full, *, void: float = 0.0, rtol: float = 1e-6) -> Stroked:
    """Push the cylinder's content out, from rest, cap side at ambient, rod side at supply."""
    cap, ring = full.caps
    drive, brake, sign = cap, ring, -1.0
    return _stroke(full, drive, brake, sign, full.area * full.stroke - void, rtol)


def recharge(full: Full, *, dwell: float = 0.0, rtol: float = 1e-6) -> Stroked:
    """Draw the cylinder full, from rest, rod side at ambient, cap side at supply."""
    cap, ring = full.caps
    return _stroke(full, ring, cap, 1.0, 0.0, rtol, dwell)


def _stroke(
    full: Full,
    drive: float,
    brake: float,
    sign: float,
    liquid: float,
    rtol: float,
    dwell: float = 0.0,
    method: str = "LSODA",
) -> Stroked:
    """Integrate one stroke; `sign` is +1 where product is drawn in."""
    loss = smooth(full.loss)
    calls = 0

    def room(x: float) -> float:
        return full.spare + full.area * (x if sign > 0.0 else full.stroke - x)

    def rates(_: float, state: np.ndarray) -> list[float]:
        nonlocal calls
        calls += 1
        x, v, p1, p2, held, flow = state.tolist()
        pressure = product_pressure(full, room(x), held)
        slip = math.tanh(v / 1e-3)
        push = pressure - AMBIENT
        rub = (full.friction + full.friction_share * abs(push) * full.area) * slip
        force = (p1 - AMBIENT) * drive - (p2 - AMBIENT) * brake + sign * push * full.area - rub
        # A stop at the front keeps the piston from being pushed back before it starts.
        if x <= 0.0 and force < 0.0:
            force, v = 0.0, 0.0
        inflow = full.feed * AIR * full.supply * passing(p1 / full.supply, full.b)
        outflow = full.vent * AIR * p2 * passing(AMBIENT / p2, full.b)
        room1, room2 = full.dead + drive * x, full.dead + brake * (full.stroke - x)
        across = sign * (AMBIENT - pressure) + full.head
        return [
            v,
            force / full.mass,
            (inflow - p1 * drive * v) / room1,
            (p2 * brake * v - outflow) / room2,
            sign * flow,
            (across - loss(flow)) / full.inertance,
        ]

    def at_stop(_: float, state: np.ndarray) -> float:
        return float(state[0] - full.stroke)

    at_stop.terminal = True  # type: ignore[attr-defined]
    start = [0.0, 0.0, AMBIENT, full.supply, full.spare + liquid, 0.0]
    run = solve_ivp(
        rates,
        (0.0, MOST_TIME),
        start,
        method=method,
        events=at_stop,
        rtol=rtol,
        atol=[1e-8, 1e-7, 1.0, 1.0, 1e-13, 1e-11],
    )
    if run.status < 0 and method != OTHER_METHOD:
        return _stroke(full, drive, brake, sign, liquid, rtol, dwell, OTHER_METHOD)
    void = room(float(run.y[0, -1])) - float(run.y[4, -1])
    if dwell:
        void = _rest(full, loss, run.y[:, -1], dwell)
    return Stroked(
        time=float(run.t[-1]) if run.status == 1 else math.inf,
        void=max(void, 0.0),
        calls=calls,
        places=run.y[0],
        times=run.t,
    )


def _rest(full: Full, loss: Callable[[float], float], state: np.ndarray, dwell: float) -> float:
    """Let product go on coming while the piston stands at the rear stop."""
    room = full.spare + full.area * full.stroke

    def rates(_: float, y: np.ndarray) -> list[float]:
        held, flow = y.tolist()
        pressure = product_pressure(full, room, held)
        across = AMBIENT - pressure + full.head
        return [flow, (across - loss(flow)) / full.inertance]

    run = solve_ivp(rates, (0.0, dwell), state[4:], method="LSODA", rtol=1e-6, atol=[1e-13, 1e-11])
    return room - float(run.y[0, -1])
