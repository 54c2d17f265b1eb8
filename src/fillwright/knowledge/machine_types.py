"""A machine that comes with the program, as its data file holds it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

__all__ = [
    "AirRow",
    "ControlRow",
    "HopperRow",
    "MachineProfile",
    "NozzleRow",
    "PieceRow",
    "PlateRow",
    "ValveRow",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class NozzleRow:
    """A nozzle that comes with it."""

    outside_mm: Decimal
    bore_mm: Decimal
    length_mm: Decimal
    kind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceRow:
    """A piece of the wet path."""

    name: str
    kind: str
    bore_mm: Decimal
    length_mm: Decimal
    rated_bar: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HopperRow:
    """A hopper."""

    name: str
    usable_ml: Decimal
    outlet_mm: Decimal
    full_above_mm: Decimal
    low_above_mm: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class ValveRow:
    """A product valve."""

    kind: str
    port_mm: Decimal
    hot_limit_c: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class AirRow:
    """The air cylinder, its supply, and the time of one turn of the product valve."""

    bore_mm: Decimal
    rod_mm: Decimal
    usual_bar: Decimal
    supply_c: Decimal
    supply_ratio: Decimal
    dead_ml: Decimal
    valve_s: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlRow:
    """A flow control: sonic conductance in dm³/(s bar) by turns open from shut."""

    ratio: Decimal
    c_by_turns: Mapping[Decimal, Decimal]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateRow:
    """What the plates allow."""

    air_bar: Decimal
    wet_bar: Decimal
    product_c: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineProfile:
    """An invented machine that a description may start from.

    Attributes
    ----------
    key : str
        ``"small"``, ``"medium"`` or ``"large"``.
    name, says : str
        What it is called, and what it is for.
    last_mark, step_marks, marks_per_turn, lost_motion_marks : Decimal
        The volume scale and the wheel.
    clockwise_raises : bool
        True when turning clockwise makes the dose bigger.
    stroke_mm : Decimal
        Stroke at the last mark.
    rise_mm : Decimal
        Tip of the nozzle above the cylinder's axis.
    cylinder_bores_mm : tuple of Decimal
        Bores of the product cylinders.
    nozzles, suction, outward, hoppers, valves : tuple of rows
        Its parts, in order.
    air, fill, recharge, plate : rows
        Its drive and its limits.
    """

    key: str
    name: str
    says: str
    last_mark: Decimal
    step_marks: Decimal
    marks_per_turn: Decimal
    lost_motion_marks: Decimal
    clockwise_raises: bool
    stroke_mm: Decimal
    rise_mm: Decimal
    cylinder_bores_mm: tuple[Decimal, ...]
    nozzles: tuple[NozzleRow, ...]
    suction: tuple[PieceRow, ...]
    outward: tuple[PieceRow, ...]
    hoppers: tuple[HopperRow, ...]
    valves: tuple[ValveRow, ...]
    air: AirRow
    fill: ControlRow
    recharge: ControlRow
    plate: PlateRow
