"""Machines to start a description from: the invented ones that are shipped, the nearest."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.words import in_steps
from fillwright.knowledge.machine_types import ControlRow, MachineProfile, PieceRow
from fillwright.knowledge.machines_load import machine_profiles
from fillwright.records.entities import Cylinder, Machine, Nozzle
from fillwright.records.machine_parts import (
    AirDrive,
    FlowControl,
    Hopper,
    NeedlePoint,
    PlateLimits,
    Valve,
    WetPiece,
)
from fillwright.records.units import m_from_mm, ml_from_m3, mm_from_m

__all__ = [
    "USUAL_NOZZLE_MM",
    "begun",
    "capacity_ml",
    "cylinder_of",
    "nearest",
    "shipped_machine",
    "stroke_mm",
]

USUAL_NOZZLE_MM: Final = Decimal(100)
"""Length that a nozzle is taken to have where it was not measured (judgement)."""
_STEP_ML: Final = Decimal("0.1")
_STEP_MM: Final = Decimal("0.1")


def shipped_machine(size: str) -> Machine:
    """Return an invented machine that comes with the program.

    Raises
    ------
    BadInput
        If there is none of that size.
    """
    known = machine_profiles()
    if size not in known:
        sizes = ", ".join(known)
        message = f"There is no machine {size[:40]!r} to start from; choose one of {sizes}."
        raise BadInput(message, field="from", given=size[:40], allowed=sizes, code="choice")
    return _machine(known[size])


def begun(desk: Desk, name: str) -> Machine:
    """Return a kept machine to go on describing; what it lacks is that of the nearest one.

    Raises
    ------
    BadInput
        If no machine of that name is kept.
    """
    kept = desk.book.site().machines.get(name)
    if kept is None:
        message = f"There is no machine {name[:60]!r}. Pick one from the list."
        raise BadInput(message, field="machine", given=name[:60], code="choice")
    if kept.is_described:
        return kept
    like = shipped_machine(nearest(max(c.capacity_ml for c in kept.cylinders)))
    return replace(
        kept,
        air=kept.air or like.air,
        suction=kept.suction or like.suction,
        outward=kept.outward or like.outward,
        hoppers=kept.hoppers or like.hoppers,
        valves=kept.valves or like.valves,
        plate=kept.plate or like.plate,
        rise_mm=kept.rise_mm or like.rise_mm,
    )


def nearest(capacity: Decimal) -> str:
    """Return the size of the shipped machine whose largest cylinder is nearest to a volume."""
    wanted = math.log(float(capacity))

    def away(profile: MachineProfile) -> float:
        largest = capacity_ml(max(profile.cylinder_bores_mm), profile.stroke_mm)
        return abs(math.log(float(largest)) - wanted)

    return min(machine_profiles().values(), key=away).key


def capacity_ml(bore_mm: Decimal, stroke_mm: Decimal) -> Decimal:
    """Return what a cylinder of a bore sweeps over a stroke."""
    swept = math.pi / 4.0 * m_from_mm(bore_mm) ** 2 * m_from_mm(stroke_mm)
    return in_steps(ml_from_m3(swept), _STEP_ML, ROUND_HALF_UP)


def stroke_mm(cylinder: Cylinder) -> Decimal | None:
    """Return the whole stroke of a cylinder; None where its bore is not known."""
    if cylinder.bore_mm is None:
        return None
    area = math.pi / 4.0 * m_from_mm(cylinder.bore_mm) ** 2
    whole = float(cylinder.capacity_ml) / ml_from_m3(1.0) / area
    return in_steps(mm_from_m(whole), _STEP_MM, ROUND_HALF_UP)


def cylinder_of(bore_mm: Decimal, stroke: Decimal, last_mark: Decimal) -> Cylinder:
    """Return a cylinder by its bore and its stroke at the last mark of the volume scale."""
    capacity = capacity_ml(bore_mm, stroke)
    return Cylinder(capacity_ml=capacity, ml_per_mark=capacity / last_mark, bore_mm=bore_mm)


def _machine(profile: MachineProfile) -> Machine:
    """Return a shipped machine as records hold one."""
    plate, air, valve = profile.plate, profile.air, profile.valves[0]
    return Machine(
        name=profile.name,
        cylinders=tuple(
            cylinder_of(bore, profile.stroke_mm, profile.last_mark)
            for bore in profile.cylinder_bores_mm
        ),
        nozzles=tuple(
            Nozzle(
                outside_mm=row.outside_mm,
                bore_mm=row.bore_mm,
                kind=row.kind,
                length_mm=row.length_mm,
            )
            for row in profile.nozzles
        ),
        last_mark=profile.last_mark,
        step_marks=profile.step_marks,
        marks_per_turn=profile.marks_per_turn,
        clockwise_raises=profile.clockwise_raises,
        lost_motion_marks=profile.lost_motion_marks,
        air_max_bar_g=plate.air_bar,
        hot_limit_c=valve.hot_limit_c,
        air=AirDrive(
            bore_mm=air.bore_mm,
            rod_mm=air.rod_mm,
            fill=_control(profile.fill),
            recharge=_control(profile.recharge),
            supply_c_dm3_per_s_bar=air.supply_c,
            supply_critical_ratio=air.supply_ratio,
            usual_bar_g=air.usual_bar,
            dead_ml=air.dead_ml,
            valve_s=air.valve_s,
        ),
        suction=tuple(map(_piece, profile.suction)),
        outward=tuple(map(_piece, profile.outward)),
        hoppers=tuple(
            Hopper(
                name=row.name,
                usable_ml=row.usable_ml,
                outlet_mm=row.outlet_mm,
                full_above_mm=row.full_above_mm,
                low_above_mm=row.low_above_mm,
            )
            for row in profile.hoppers
        ),
        valves=tuple(
            Valve(kind=row.kind, port_mm=row.port_mm, hot_limit_c=row.hot_limit_c)  # type: ignore[arg-type]  # checked when the file was read
            for row in profile.valves
        ),
        plate=PlateLimits(
            air_bar_g=plate.air_bar, wet_bar_g=plate.wet_bar, product_c=plate.product_c
        ),
        rise_mm=profile.rise_mm,
        is_invented=True,
    )


def _control(row: ControlRow) -> FlowControl:
    """Return a flow control as records hold one."""
    return FlowControl(
        points=tuple(
            NeedlePoint(open_turns=turns, c_dm3_per_s_bar=passed)
            for turns, passed in row.c_by_turns.items()
        ),
        critical_ratio=row.ratio,
    )


def _piece(row: PieceRow) -> WetPiece:
    """Return a piece of the wet path as records hold one."""
    return WetPiece(
        name=row.name,
        kind=row.kind,  # type: ignore[arg-type]  # checked when the file was read
        bore_mm=row.bore_mm,
        length_mm=row.length_mm,
        rated_bar_g=row.rated_bar,
    )
