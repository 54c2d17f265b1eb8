"""A machine as it stands for a job, in the form that the science of strokes takes.

The latest description of the machine counts, because a machine may be described after a job
on it was opened; what timed strokes taught of its flow controls is in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

import numpy as np

from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import density_at, dose_ml
from fillwright.jobs.machines.shipped import USUAL_NOZZLE_MM
from fillwright.jobs.match.flowing import Flow, flow_as_told, flow_of
from fillwright.records.entities import Cylinder, JobFacts, Machine, Nozzle
from fillwright.records.fold import JobState
from fillwright.records.machine_parts import AirDrive, FlowControl, WetPiece
from fillwright.records.units import (
    conductance_from_dm3_per_s_bar,
    kg_per_m3_from_g_per_ml,
    m3_from_ml,
    m_from_mm,
    mm_from_m,
    pa_from_bar,
    pa_from_kpa,
)
from fillwright.science.air import AMBIENT, AirPassage
from fillwright.science.drive import Drive
from fillwright.science.stroke import GRAVITY
from fillwright.science.wetpath import Piece, ThreeK

__all__ = [
    "Rig",
    "air_read_bar_g",
    "cavity_pa",
    "conductance_at",
    "described",
    "drive_of",
    "outward_of",
    "product_read_c",
    "read_now_c",
    "rig_as_told",
    "rig_of",
    "suction_of",
    "swept_at",
    "turns_for",
]

_SAME_CYLINDER: Final = Decimal("0.05")
# Silverberg and Darby, Chemical Engineering 106 (7), 101 (1999), from memory; the narrowing is
# a sharp entrance after Hooper, Chemical Engineering 88 (17), 96 (1981), from memory.
_LOSSES: Final[dict[str, tuple[ThreeK, ...]]] = {
    "straight": (),
    "hose": (),
    "bend": (ThreeK(k1=800.0, ki=0.091, kd=4.0),),
    "wide bend": (ThreeK(k1=800.0, ki=0.056, kd=3.9),),
    "tee": (ThreeK(k1=800.0, ki=0.28, kd=4.0),),
    "valve turning": (ThreeK(k1=500.0, ki=0.41, kd=4.0),),
    "valve straight": (ThreeK(k1=300.0, ki=0.14, kd=4.0),),
    "narrowing": (ThreeK(k1=160.0, ki=0.5, kd=0.0),),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """Machine, cylinder, nozzle and product as they stand together.

    Parameters
    ----------
    air : AirDrive
        The air drive.
    suction, outward : tuple of WetPiece
        The two paths; the nozzle is not in them.
    cylinder_bore_mm, stroke_mm : float
        Product cylinder, and the stroke of the dose.
    dose_ml : float
        What the stroke sweeps.
    nozzle : Nozzle
        The nozzle that is fitted.
    air_bar_g : float
        Air pressure, as read in Set up or as the machine is run.
    low_head_mm, full_head_mm : float
        Product above the cylinder's axis, with the hopper low and full.
    rise_mm : float
        Tip of the nozzle above the cylinder's axis.
    density_g_per_ml : float
        At the temperature of the fill.
    flow : Flow
        How the product flows.
    fill_needle_factor, recharge_needle_factor : float
        What timed strokes taught of the flow controls.
    is_foamy : bool
        True where the product foams.
    """

    air: AirDrive
    suction: tuple[WetPiece, ...]
    outward: tuple[WetPiece, ...]
    cylinder_bore_mm: float
    stroke_mm: float
    dose_ml: float
    nozzle: Nozzle
    air_bar_g: float
    low_head_mm: float
    full_head_mm: float
    rise_mm: float
    density_g_per_ml: float
    flow: Flow
    fill_needle_factor: float = 1.0
    recharge_needle_factor: float = 1.0
    is_foamy: bool = False

    @property
    def piston_area(self) -> float:
        """Area of the product piston. [m²]."""
        return math.pi / 4.0 * m_from_mm(self.cylinder_bore_mm) ** 2

    @property
    def stroke(self) -> float:
        """Drawn stroke. [m]."""
        return m_from_mm(self.stroke_mm)

    @property
    def density(self) -> float:
        """Density at the temperature of the fill. [kg/m³]."""
        return kg_per_m3_from_g_per_ml(self.density_g_per_ml)

    @property
    def low_head_pressure(self) -> float:
        """Static pressure of the product with the hopper low. [Pa]."""
        return self.density * GRAVITY * m_from_mm(self.low_head_mm)

    @property
    def full_head_pressure(self) -> float:
        """Static pressure of the product with the hopper full. [Pa]."""
        return self.density * GRAVITY * m_from_mm(self.full_head_mm)

    @property
    def rise_pressure(self) -> float:
        """Static pressure that the product is lifted by to the nozzle. [Pa]."""
        return self.density * GRAVITY * m_from_mm(self.rise_mm)


def described(desk: Desk, facts: JobFacts) -> Machine:
    """Return the latest description of a job's machine, or the machine of the job itself."""
    kept = desk.book.site().machines.get(facts.machine.name)
    return kept if kept is not None and kept.is_described else facts.machine


def rig_of(desk: Desk, state: JobState) -> Rig | None:
    """Return the machine as it stands for a job; None where it is not described enough."""
    facts = state.known
    machine = described(desk, facts)
    told = rig_as_told(machine, facts)
    if told is None:
        return None
    site = desk.book.site()
    timed = next((t for t in reversed(site.strokes.values()) if t.machine == machine.name), None)
    read = air_read_bar_g(state)
    return replace(
        told,
        air_bar_g=told.air_bar_g if read is None else float(read),
        flow=flow_of(desk, facts.product, machine.name),
        fill_needle_factor=1.0 if timed is None else timed.fill_needle_factor,
        recharge_needle_factor=1.0 if timed is None else timed.recharge_needle_factor,
    )


def rig_as_told(machine: Machine, facts: JobFacts) -> Rig | None:
    """Return a machine by its description alone; None where that is not enough."""
    bore = _bore_mm(machine, facts.cylinder)
    if not machine.is_described or machine.air is None or bore is None:
        return None
    dose = float(dose_ml(facts))
    area = math.pi / 4.0 * m_from_mm(bore) ** 2
    hopper = machine.hoppers[0] if machine.hoppers else None
    return Rig(
        air=machine.air,
        suction=machine.suction,
        outward=machine.outward,
        cylinder_bore_mm=float(bore),
        stroke_mm=mm_from_m(m3_from_ml(dose) / area),
        dose_ml=dose,
        nozzle=_nozzle(machine, facts.nozzle),
        air_bar_g=float(machine.air.usual_bar_g),
        low_head_mm=0.0 if hopper is None else float(hopper.low_above_mm),
        full_head_mm=0.0 if hopper is None else float(hopper.full_above_mm),
        rise_mm=float(machine.rise_mm),
        density_g_per_ml=float(density_at(facts.product, facts.product.product_c)),
        flow=flow_as_told(facts.product),
        is_foamy=facts.product.runs_like == "foamy",
    )


def swept_at(rig: Rig, cylinder: Cylinder, marks: Decimal | None) -> Rig:
    """Return the machine with the wheel at a setting; as for the aim where none is told."""
    if marks is None or marks <= 0:
        return rig
    swept_ml = float(marks * cylinder.ml_per_mark)
    stroke = m3_from_ml(swept_ml) / rig.piston_area
    return replace(rig, dose_ml=swept_ml, stroke_mm=mm_from_m(stroke))


def air_read_bar_g(state: JobState) -> Decimal | None:
    """Return the air pressure that was read in Set up; None where none was."""
    return _read(state, "air")


def product_read_c(state: JobState) -> Decimal | None:
    """Return the temperature of the product that was read in Set up; None where none was."""
    return _read(state, "product")


def read_now_c(state: JobState) -> float | None:
    """Return the temperature of the product that was read, as a plain number."""
    read = product_read_c(state)
    return None if read is None else float(read)


def drive_of(rig: Rig, needle: float, control: FlowControl) -> Drive:
    """Return the air drive with the needle of one stroke at a conductance [m³/(s·Pa)]."""
    air = rig.air
    return Drive(
        bore=m_from_mm(air.bore_mm),
        rod=m_from_mm(air.rod_mm),
        supply_pressure=AMBIENT + pa_from_bar(rig.air_bar_g),
        supply=AirPassage(
            conductance=conductance_from_dm3_per_s_bar(air.supply_c_dm3_per_s_bar),
            critical_ratio=float(air.supply_critical_ratio),
        ),
        meter_out=AirPassage(conductance=needle, critical_ratio=float(control.critical_ratio)),
        dead_volume=m3_from_ml(air.dead_ml),
    )


def suction_of(rig: Rig) -> tuple[Piece, ...]:
    """Return the path from the hopper into the cylinder."""
    return tuple(map(_piece, rig.suction))


def outward_of(rig: Rig, nozzle: Nozzle | None = None) -> tuple[Piece, ...]:
    """Return the path from the cylinder through a nozzle, which is last."""
    tip = nozzle or rig.nozzle
    last = Piece(bore=m_from_mm(tip.bore_mm), length=m_from_mm(tip.length_mm or USUAL_NOZZLE_MM))
    return (*map(_piece, rig.outward), last)


def cavity_pa(rig: Rig) -> float:
    """Return the absolute pressure at which a void opens in the product."""
    return pa_from_kpa(max(rig.flow.vapour_kpa, rig.flow.release_kpa))


def conductance_at(control: FlowControl, turns: float) -> float:
    """Return what a flow control passes so many turns open [m³/(s·Pa)]."""
    open_turns = [float(point.open_turns) for point in control.points]
    passed = [math.log(float(point.c_dm3_per_s_bar)) for point in control.points]
    return conductance_from_dm3_per_s_bar(math.exp(float(np.interp(turns, open_turns, passed))))


def turns_for(control: FlowControl, needle: float) -> Decimal:
    """Return the quarter turn open at which a flow control passes no more than that."""
    passed = [
        math.log(conductance_from_dm3_per_s_bar(point.c_dm3_per_s_bar)) for point in control.points
    ]
    open_turns = [float(point.open_turns) for point in control.points]
    exact = float(np.interp(math.log(needle), passed, open_turns))
    least = float(control.points[0].open_turns)
    return Decimal(str(max(math.floor(4.0 * exact + 0.1) / 4.0, least)))


def _read(state: JobState, key: str) -> Decimal | None:
    """Return the figure that a step of Set up was answered with."""
    step = state.steps.get(key)
    words = "" if step is None else step.reading.partition(" ")[0]
    try:
        read = Decimal(words)
    except ArithmeticError:
        return None
    return read if read > 0 else None


def _piece(piece: WetPiece) -> Piece:
    """Return a piece of the wet path as the science takes it."""
    return Piece(
        bore=m_from_mm(piece.bore_mm),
        length=m_from_mm(piece.length_mm),
        fittings=_LOSSES[piece.kind],
    )


def _bore_mm(machine: Machine, cylinder: Cylinder) -> Decimal | None:
    """Return the bore of a cylinder, by its capacity where the job does not know it."""
    if cylinder.bore_mm is not None:
        return cylinder.bore_mm
    wanted = cylinder.capacity_ml
    near = min(machine.cylinders, key=lambda c: abs(c.capacity_ml - wanted), default=None)
    if near is None or abs(near.capacity_ml - wanted) > _SAME_CYLINDER * wanted:
        return None
    return near.bore_mm


def _nozzle(machine: Machine, nozzle: Nozzle) -> Nozzle:
    """Return a nozzle with its length, where the description has it."""
    if nozzle.length_mm is not None:
        return nozzle
    same = [n for n in machine.nozzles if n.outside_mm == nozzle.outside_mm]
    return same[0] if same else nozzle
