"""What a match is made of: the product, the parts that are owned, and what is found of them."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

from fillwright.science.drive import Drive
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.rate import Mode
from fillwright.science.seals_material import MaterialLook
from fillwright.science.stroke import RELEASE_PRESSURE
from fillwright.science.wetpath import Piece

__all__ = [
    "Case",
    "Expected",
    "Hopper",
    "Match",
    "MatchOutcome",
    "MatchVerdict",
    "Nearest",
    "Nozzle",
    "Product",
    "ProductCylinder",
    "Ranges",
    "Reason",
]


class MatchOutcome(StrEnum):
    """How one rule came out."""

    OK = "ok"
    WITH_CARE = "with-care"
    NO = "no"


class MatchVerdict(StrEnum):
    """How all rules came out together."""

    SUITS = "suits"
    SUITS_WITH_CARE = "suits-with-care"
    DOES_NOT_SUIT = "does-not-suit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """What is filled.

    Attributes
    ----------
    curve : FlowCurve
        How it flows at the temperature of the fill.
    density : float
        Density. [kg/m³]
    surface_tension : float or None
        Against air; None where it is not known. [N/m]
    vapour_pressure : float
        Absolute pressure at which it boils. [Pa]
    release_pressure : float
        Absolute pressure at which air comes out of it. [Pa]
    temperature : float or None
        Temperature of the fill. [°C]
    is_foaming : bool
        Whether it foams.
    """

    curve: FlowCurve
    density: float
    surface_tension: float | None = None
    vapour_pressure: float = 0.0
    release_pressure: float = RELEASE_PRESSURE
    temperature: float | None = None
    is_foaming: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductCylinder:
    """A product cylinder that is owned.

    Attributes
    ----------
    name : str
        What it is called.
    volume : float
        Its whole stroke. [m³]
    bore : float or None
        Its bore. [m]
    """

    name: str
    volume: float
    bore: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Nozzle:
    """A nozzle that is owned.

    Attributes
    ----------
    name : str
        What it is called.
    bore : float
        Inside diameter. [m]
    outside : float
        Outside diameter. [m]
    cuts_off : bool
        Whether it closes at its tip or draws back.
    """

    name: str
    bore: float
    outside: float
    cuts_off: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Hopper:
    """A hopper that is owned.

    Attributes
    ----------
    name : str
        What it is called.
    volume : float
        What can be filled from it between refills. [m³]
    outlet_bore : float
        Bore of its outlet. [m]
    head : float
        Product above the cylinder's axis when it is low. [m]
    """

    name: str
    volume: float
    outlet_bore: float
    head: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranges:
    """How far each input may be off, about 19 times in 20; all are judgement until measured.

    Attributes
    ----------
    viscosity, surface_tension, release_pressure : float
        So many times less or more. [1]
    dose : float
        As a share of itself. [1]
    temperature : float
        To either side. [K]
    air_pressure : float
        To either side. [Pa]
    neck : float
        To either side. [m]
    handling : float
        Time that a person takes to change containers, least. [s]
    handling_most : float
        The same, most. [s]
    """

    viscosity: float = 1.25
    surface_tension: float = 1.15
    release_pressure: float = 2.0
    dose: float = 0.01
    temperature: float = 2.0
    air_pressure: float = 50_000.0
    neck: float = 0.0001
    handling: float = 2.5
    handling_most: float = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A product, a dose, a container and a machine; what is None is not judged.

    Attributes
    ----------
    product : Product
        What is filled.
    dose : float
        Volume of a dose. [m³]
    neck_bore : float
        Inside diameter of the neck. [m]
    brimful : float or None
        What the container holds to the brim. [m³]
    cylinders : tuple of ProductCylinder
        All that are owned.
    nozzles : tuple of Nozzle
        All that are owned.
    valves : tuple of str
        Kinds that are owned: ``"rotary"``, ``"spool"``.
    hoppers : tuple of Hopper
        All that are owned.
    suction : tuple of Piece
        From the hopper to the cylinder; its first piece takes the hopper's outlet.
    outward : tuple of Piece
        From the cylinder to the nozzle, whose bore its last piece takes.
    drive : Drive or None
        The air drive with the needle of the fill.
    rating : float or None
        Least pressure that clamps, hoses and glasses of the wet path are rated for. [Pa]
    seals : mapping of str to MaterialLook
        How the materials that are fitted stand against everything that touches them.
    seals_instead : tuple of str
        Materials of the table that would do.
    particle : float or None
        Largest particle in the product. [m]
    claim : float or None
        Repeatability claimed, as a share of the dose to either side. [1]
    rise : float
        Tip of the nozzle above the cylinder's axis. [m]
    valve_time : float
        One turn of the valve. [s]
    recharge_least : float
        Recharge that the drive is set to; the product may ask for longer. [s]
    mode : Mode
        How the machine is worked.
    ranges : Ranges
        How far the inputs may be off.
    """

    product: Product
    dose: float
    neck_bore: float
    brimful: float | None = None
    cylinders: tuple[ProductCylinder, ...] = ()
    nozzles: tuple[Nozzle, ...] = ()
    valves: tuple[str, ...] = ()
    hoppers: tuple[Hopper, ...] = ()
    suction: tuple[Piece, ...] = ()
    outward: tuple[Piece, ...] = ()
    drive: Drive | None = None
    rating: float | None = None
    seals: dict[str, MaterialLook] = field(default_factory=dict)
    seals_instead: tuple[str, ...] = ()
    particle: float | None = None
    claim: float | None = None
    rise: float = 0.0
    valve_time: float = 0.3
    recharge_least: float = 0.0
    mode: Mode = Mode.FOOT_SWITCH
    ranges: Ranges = field(default_factory=Ranges)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One rule with its figure.

    Attributes
    ----------
    rule : str
        Name of the rule.
    outcome : MatchOutcome
        How it came out over the whole range.
    because : str
        One sentence.
    value, low, high : float or None
        The figure and its range. [unit of the rule]
    unit : str
        Unit of the figure.
    matters_most : str or None
        Input that moves the figure most.
    pull : float
        How far that input moves it, over how far the figure is from its limit. [1]
    """

    rule: str
    outcome: MatchOutcome
    because: str
    value: float | None = None
    low: float | None = None
    high: float | None = None
    unit: str = ""
    matters_most: str | None = None
    pull: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Nearest:
    """The nearest thing that would do.

    Attributes
    ----------
    rule : str
        Rule that it is for.
    change : str
        What to change.
    to : float or str
        To what. [unit]
    unit : str
        Unit of that; empty where it is words.
    words : str
        The same in a sentence.
    """

    rule: str
    change: str
    to: float | str
    unit: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """A figure to expect at the bench.

    Attributes
    ----------
    name : str
        What it is: ``"recharge"``, ``"clean-fill"``, ``"fill"``, ``"rate"`` and so on.
    value, low, high : float or None
        The figure and its range; None where there is no limit to it. [unit]
    unit : str
        Unit of the figure.
    matters_most : str or None
        Input that moves it most.
    because : str
        One sentence.
    """

    name: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    matters_most: str | None
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """Whether product, dose, container and machine suit, and with which parts.

    Attributes
    ----------
    verdict : MatchVerdict
        All rules together.
    because : str
        The first thing that does not do, or what to watch.
    cylinder, nozzle, hopper : str or None
        Names of the parts to take.
    valve : str or None
        Kind of valve to take.
    shots : int or None
        Strokes for a dose.
    share : float or None
        A stroke as a share of the cylinder. [1]
    seals : tuple of str or None
        Materials that stand, of those that are fitted; None where nothing is known.
    reasons : tuple of Reason
        Every rule that was judged.
    nearest : tuple of Nearest
        The nearest thing that would do for each rule that came out no or with care.
    expected : tuple of Expected
        What to expect at the bench.
    matters_most : str or None
        Input that moves the answer most.
    not_judged : tuple of str
        Rules that lack input.
    cautions : tuple of str
        What to mind.
    """

    verdict: MatchVerdict
    because: str
    cylinder: str | None
    nozzle: str | None
    hopper: str | None
    valve: Literal["rotary", "spool"] | None
    shots: int | None
    share: float | None
    seals: tuple[str, ...] | None
    reasons: tuple[Reason, ...]
    nearest: tuple[Nearest, ...]
    expected: tuple[Expected, ...]
    matters_most: str | None
    not_judged: tuple[str, ...]
    cautions: tuple[str, ...]
