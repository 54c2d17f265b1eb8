"""How strokes move on step by step: the state of many cases, and one step of each.

The engine of `stroke_times`, where the model and its limits are told.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.science.drive import AIR, Drive
from fillwright.science.flow_table import FlowTable
from fillwright.science.given_many import all_above_zero

__all__ = ["Lanes", "Track", "lanes_at_start", "run"]

Numbers = float | NDArray[np.float64]

_STEP_MOST: Final = 0.25
_STEP_LEAST: Final = 2e-5
_STEPS_MOST: Final = 200_000
_CULL_EVERY: Final = 16
_BEGUN: Final = 0.01


@dataclass(slots=True)
class Lanes:
    """State and constants of the cases that still move, one entry a case.

    Attributes
    ----------
    names : ndarray of int
        Which case each lane is.
    table : FlowTable
        Losses of each.
    area, driving, braking : ndarray
        Areas of the product piston, of the driving and of the exhausting air side. [m²]
    stroke, place : ndarray
        Length of the stroke, and how far it is done. [m]
    dead : ndarray
        Air volume besides the stroke, each side. [m³]
    friction : ndarray
        Force lost, and what the air around takes off. [N]
    growth : ndarray
        Force of the air over force on the product. [1]
    supply, drive_air, brake_air : ndarray
        Pressures of the supply and of both air sides, absolute. [Pa]
    feed, vent : ndarray
        Volume that passes a choked valve or needle, at the pressure before it. [m³/s]
    feed_b, vent_b : ndarray
        Their critical ratios. [1]
    head : ndarray
        Static pressure that helps the product on. [Pa]
    pin : ndarray
        Force at which a void opens, or at which one closes without load. [N]
    refill : ndarray
        Flow of the product into an open void. [m³/s]
    void : ndarray
        Volume that is empty now. [m³]
    time : ndarray
        Since the air valve turned. [s]
    """

    names: NDArray[np.intp]
    table: FlowTable
    area: NDArray[np.float64]
    stroke: NDArray[np.float64]
    driving: NDArray[np.float64]
    braking: NDArray[np.float64]
    dead: NDArray[np.float64]
    friction: NDArray[np.float64]
    growth: NDArray[np.float64]
    supply: NDArray[np.float64]
    feed: NDArray[np.float64]
    feed_b: NDArray[np.float64]
    vent: NDArray[np.float64]
    vent_b: NDArray[np.float64]
    head: NDArray[np.float64]
    pin: NDArray[np.float64]
    refill: NDArray[np.float64]
    place: NDArray[np.float64]
    drive_air: NDArray[np.float64]
    brake_air: NDArray[np.float64]
    void: NDArray[np.float64]
    time: NDArray[np.float64]

    def keep(self, rows: NDArray[np.intp]) -> Lanes:
        """Return the lanes of some rows."""
        kept = {name: getattr(self, name)[rows] for name in self.__slots__ if name != "table"}
        return Lanes(table=self.table.take(rows), **kept)


@dataclass(slots=True)
class Track:
    """What is noted of every case on the way.

    Attributes
    ----------
    time, delay, jump : ndarray
        Until the stop, until the first hundredth, until a void had closed. [s]
    swept : ndarray
        Share of the stroke that was done. [1]
    void : ndarray
        Volume left empty at the stop. [m³]
    """

    time: NDArray[np.float64]
    delay: NDArray[np.float64]
    jump: NDArray[np.float64]
    swept: NDArray[np.float64]
    void: NDArray[np.float64]


def lanes_at_start(
    drive: Drive, piston_area: Numbers, stroke: Numbers, table: FlowTable, *, forward: bool
) -> Lanes:
    """Return all cases at the beginning of their stroke.

    Parameters
    ----------
    drive : Drive
        The air drive.
    piston_area : float or ndarray
        Area of the product piston. [m²]
    stroke : float or ndarray
        Drawn stroke. [m]
    table : FlowTable
        Losses, one case or one for each stroke.
    forward : bool
        True for the discharge, where the side without the rod drives.

    Returns
    -------
    Lanes
        Driving side at ambient, the other at supply.

    Raises
    ------
    BadInput
        If an area or a stroke is not above zero.
    """
    area = all_above_zero(piston_area, "cylinder_bore")
    length = all_above_zero(stroke, "stroke")
    given = (
        area, length, table.start, drive.cap_area, drive.rod_area, drive.supply_pressure,
        drive.meter_out.conductance, drive.supply.conductance, drive.friction,
        drive.friction_share, drive.dead_volume,
    )  # fmt: skip
    count = np.broadcast_shapes(*(np.atleast_1d(part).shape for part in given))[0]

    def each(part: Numbers) -> NDArray[np.float64]:
        return np.broadcast_to(np.asarray(part, dtype=np.float64), count).copy()

    sides = (drive.cap_area, drive.rod_area)
    driving, braking = sides if forward else sides[::-1]
    rows = np.zeros(count, dtype=np.intp) if table.cases == 1 else np.arange(count)
    return Lanes(
        names=np.arange(count),
        table=table.take(rows),
        area=each(area),
        stroke=each(length),
        driving=each(driving),
        braking=each(braking),
        dead=each(drive.dead_volume),
        friction=each(drive.friction) + drive.ambient * (each(driving) - each(braking)),
        growth=1.0 + each(drive.friction_share),
        supply=each(drive.supply_pressure),
        feed=each(drive.supply.conductance) * AIR,
        feed_b=each(drive.supply.critical_ratio),
        vent=each(drive.meter_out.conductance) * AIR,
        vent_b=each(drive.meter_out.critical_ratio),
        head=np.zeros(count),
        pin=np.zeros(count),
        refill=np.zeros(count),
        place=np.zeros(count),
        drive_air=np.full(count, drive.ambient),
        brake_air=each(drive.supply_pressure),
        void=np.zeros(count),
        time=np.zeros(count),
    )


def run(lanes: Lanes, tolerance: float, *, opens: bool, longest: float) -> Track:
    """Move all cases to their stop.

    Parameters
    ----------
    lanes : Lanes
        Cases at their beginning.
    tolerance : float
        How far a state may move in one step, as a share of itself. [1]
    opens : bool
        True on a recharge, where a void may open on the way.
    longest : float
        Time after which a stroke is given up. [s]

    Returns
    -------
    Track
        What was noted of each.
    """
    count = len(lanes.names)
    track = Track(*(np.zeros(count) for _ in range(5)))
    track.time[:], track.delay[:] = np.inf, np.inf
    ambient = lanes.drive_air.copy()
    for turn in range(_STEPS_MOST):
        before, since, hollow = lanes.place, lanes.time, lanes.void
        _step(lanes, ambient, tolerance, opens=opens)
        _note(lanes, track, before, since, hollow)
        if turn % _CULL_EVERY == 0:
            live = np.flatnonzero(
                (lanes.place < lanes.stroke) & (lanes.time < longest) & ~_stands(lanes, ambient)
            )
            track.swept[lanes.names] = np.minimum(lanes.place / lanes.stroke, 1.0)
            if live.size < lanes.names.size:
                lanes, ambient = lanes.keep(live), ambient[live]
            if not live.size:
                break
    return track


def _step(lanes: Lanes, ambient: NDArray[np.float64], tolerance: float, *, opens: bool) -> None:
    """Move each case on by one step of its own length.

    The driving force is taken at the end of the step, to first order, because a thin product
    answers to it within less than a step.
    """
    room = lanes.dead + lanes.driving * lanes.place
    rest = lanes.dead + lanes.braking * np.maximum(lanes.stroke - lanes.place, 0.0)
    inflow = lanes.feed * lanes.supply * _passing(lanes.drive_air / lanes.supply, lanes.feed_b)
    outflow = lanes.vent * lanes.brake_air * _passing(ambient / lanes.brake_air, lanes.vent_b)
    force = lanes.drive_air * lanes.driving - lanes.brake_air * lanes.braking - lanes.friction
    gain = lanes.driving * inflow / room + lanes.braking * outflow / rest
    stiff = lanes.drive_air * lanes.driving**2 / room + lanes.brake_air * lanes.braking**2 / rest
    per_force = 1.0 / (lanes.area * lanes.growth)
    flow, slope = lanes.table.flow_and_slope(force * per_force + lanes.head)
    speed, slope = flow / lanes.area, slope * per_force / lanes.area
    hollow = lanes.void > 0.0
    if opens:
        hollow |= force > lanes.pin
    likely = np.where(hollow, np.maximum(gain / stiff, 0.0), speed)
    change = np.maximum(
        np.abs(inflow - lanes.drive_air * lanes.driving * likely) / (lanes.drive_air * room),
        np.abs(outflow - lanes.brake_air * lanes.braking * likely) / (lanes.brake_air * rest),
    )
    change = np.maximum(change, likely / lanes.stroke)
    dt = np.minimum(np.maximum(tolerance / np.maximum(change, 1e-9), _STEP_LEAST), _STEP_MOST)
    bound = (speed + dt * slope * gain) / (1.0 + dt * slope * stiff)
    free = (gain + (force - lanes.pin) / dt) / stiff
    if opens:
        # A void that opens within the step belongs to it.
        hollow |= bound < free
    speed = np.maximum(np.where(hollow, free, bound), 0.0)
    lanes.drive_air = lanes.drive_air + dt / room * (
        inflow - lanes.drive_air * lanes.driving * speed
    )
    lanes.brake_air = lanes.brake_air + dt / rest * (
        lanes.brake_air * lanes.braking * speed - outflow
    )
    moved = dt * speed * lanes.area
    if opens:
        lanes.void = np.maximum(lanes.void + moved - dt * lanes.refill, 0.0)
    else:
        lanes.void = np.maximum(lanes.void - moved, 0.0)
    lanes.place = lanes.place + dt * speed
    lanes.time = lanes.time + dt


def _passing(ratio: NDArray[np.float64], critical: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the opening share of ``air.opening_share`` for arrays that are sound."""
    place = np.minimum(np.maximum((ratio - critical) / (1.0 - critical), 0.0), 1.0)
    return np.sqrt((1.0 - place) * (1.0 + place))


def _note(
    lanes: Lanes,
    track: Track,
    before: NDArray[np.float64],
    since: NDArray[np.float64],
    hollow: NDArray[np.float64],
) -> None:
    """Note when cases began to move, closed their void and came to the stop."""
    # Hardly a step has any of them, and there are many steps: look whether, then at which.
    for goal in (_BEGUN, 1.0):
        mark = goal * lanes.stroke
        passed = (before < mark) & (lanes.place >= mark)
        if not passed.any():
            continue
        now = np.flatnonzero(passed)
        share = (mark - before)[now] / np.maximum(lanes.place - before, 1e-300)[now]
        when = since[now] + share * (lanes.time - since)[now]
        (track.delay if goal == _BEGUN else track.time)[lanes.names[now]] = when
        if goal != _BEGUN:
            track.void[lanes.names[now]] = hollow[now] + share * (lanes.void - hollow)[now]
    closed = (hollow > 0.0) & (lanes.void <= 0.0)
    if closed.any():
        track.jump[lanes.names[closed]] = lanes.time[closed]


def _stands(lanes: Lanes, ambient: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell which cases can never move on: air at rest on both sides and nothing flowing."""
    settled = (lanes.drive_air > 0.9999 * lanes.supply) & (lanes.brake_air < 1.0001 * ambient)
    force = lanes.drive_air * lanes.driving - lanes.brake_air * lanes.braking - lanes.friction
    asked = force / (lanes.area * lanes.growth) + lanes.head
    return np.asarray(settled & (lanes.table.flow(asked) <= 0.0) & (lanes.void <= 0.0))
