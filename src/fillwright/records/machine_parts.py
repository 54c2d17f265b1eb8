"""The parts of a machine that its strokes follow from: air drive, wet path, hoppers, valves.

Each figure is one that a person can read on the part or measure at the bench.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

__all__ = [
    "NOZZLE_KINDS",
    "PIECE_KINDS",
    "AirDrive",
    "FlowControl",
    "Hopper",
    "NeedlePoint",
    "PieceKind",
    "PlateLimits",
    "Valve",
    "WetPiece",
]

PieceKind = Literal[
    "straight", "hose", "bend", "wide bend", "tee", "valve turning", "valve straight", "narrowing"
]
PIECE_KINDS: Final[dict[PieceKind, str]] = {
    "straight": "straight tube",
    "hose": "hose",
    "bend": "tight bend",
    "wide bend": "wide bend",
    "tee": "tee, flow turns",
    "valve turning": "valve, flow turns",
    "valve straight": "valve, flow goes straight",
    "narrowing": "outlet or step in the bore",
}
"""What a piece of the wet path can be, in the words of the pages."""

NOZZLE_KINDS: Final[dict[str, str]] = {
    "plain": "open tube",
    "suck-back pin": "draws back after each dose",
    "cut-off": "closes at its tip",
}
"""How a nozzle ends a dose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedlePoint:
    """What a flow control passes so many turns open from shut."""

    open_turns: Decimal
    c_dm3_per_s_bar: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowControl:
    """A needle valve in the exhaust of the air cylinder.

    Parameters
    ----------
    points : tuple of NeedlePoint
        Sonic conductance by turns open, from nearly shut to fully open.
    critical_ratio : Decimal
        Pressure ratio below which its flow is choked.
    """

    points: tuple[NeedlePoint, ...]
    critical_ratio: Decimal = Decimal("0.3")


@dataclass(frozen=True, slots=True, kw_only=True)
class AirDrive:
    """The air cylinder with its supply and its two flow controls.

    Parameters
    ----------
    bore_mm, rod_mm : Decimal
        Bore of the air cylinder and diameter of its rod.
    fill, recharge : FlowControl
        Needle that holds the discharge, and the one that holds the recharge.
    supply_c_dm3_per_s_bar : Decimal
        Sonic conductance of air valve and tubing.
    supply_critical_ratio : Decimal
        Its critical ratio.
    usual_bar_g : Decimal
        Pressure at which the machine is run.
    dead_ml : Decimal
        Air volume besides the stroke, each side.
    valve_s : Decimal
        Time of one turn of the product valve.
    """

    bore_mm: Decimal
    rod_mm: Decimal
    fill: FlowControl
    recharge: FlowControl
    supply_c_dm3_per_s_bar: Decimal = Decimal(4)
    supply_critical_ratio: Decimal = Decimal("0.3")
    usual_bar_g: Decimal = Decimal(6)
    dead_ml: Decimal = Decimal(30)
    valve_s: Decimal = Decimal("0.3")


@dataclass(frozen=True, slots=True, kw_only=True)
class WetPiece:
    """A piece of the wet path; `rated_bar_g` is what it is rated for, where that is known."""

    name: str
    kind: PieceKind
    bore_mm: Decimal
    length_mm: Decimal
    rated_bar_g: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hopper:
    """A hopper: usable volume, outlet, and product above the cylinder's axis, full and low."""

    name: str
    usable_ml: Decimal
    outlet_mm: Decimal
    full_above_mm: Decimal
    low_above_mm: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Valve:
    """A product valve that is owned, with its port and the warmest product it bears."""

    kind: Literal["rotary", "spool", "check"]
    port_mm: Decimal
    hot_limit_c: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateLimits:
    """What the plates say: air and product pressure, product temperature."""

    air_bar_g: Decimal
    wet_bar_g: Decimal | None = None
    product_c: Decimal | None = None
