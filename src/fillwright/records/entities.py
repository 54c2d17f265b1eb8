"""The things a job is made of: product, container, machine, weighing scale, job facts.

Plain frozen dataclasses with the units people read; every figure that a scale showed or a
law compares is an exact decimal.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Literal

from fillwright.records.machine_parts import AirDrive, Hopper, PlateLimits, Valve, WetPiece
from fillwright.records.product_parts import DensityWeighed, ProductFlow
from fillwright.records.units import label_as_declared

__all__ = [
    "Container",
    "Cylinder",
    "JobFacts",
    "Machine",
    "Nozzle",
    "OwnPlanFacts",
    "Person",
    "Product",
    "RunsLike",
    "SiteSettings",
    "Stage",
    "SuppliedShortageFacts",
    "WeighingScale",
]


class Stage(StrEnum):
    """The stages of a job, in order."""

    MATCH = "match"
    SET_UP = "setup"
    TRIM = "trim"
    PROVE = "prove"
    RUN = "run"
    RELEASE = "release"
    STRIP = "strip"


class RunsLike(StrEnum):
    """How a product runs, as people say it."""

    WATER = "water"
    FOAMY = "foamy"
    OIL = "oil"
    CREAM = "cream"
    PASTE = "paste"


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """What is filled.

    Parameters
    ----------
    name : str
        As on the drum.
    density_g_per_ml : Decimal
        Density of this batch at `density_c`.
    density_c : Decimal
        Temperature at which the density holds.
    expansion_per_k : Decimal
        Relative growth of volume for each kelvin.
    product_c : Decimal
        Temperature at the nozzle while filling.
    is_apparent : bool
        True when the density was weighed in air and not corrected for buoyancy.
    runs_like : RunsLike
        What it runs like.
    is_flammable : bool
        True when the product or its vapour can burn.
    notes : str
        Allergens, grit, lumps, colour; in plain words.
    flow : ProductFlow or None
        How it flows, as it was measured; None where only `runs_like` was told.
    weighed : DensityWeighed or None
        What its density was weighed with, where it was.
    media : tuple of str
        What is in it that seals must stand, by the short names of the table of materials.
    particle_mm : Decimal or None
        Largest piece in it.
    """

    name: str
    density_g_per_ml: Decimal
    density_c: Decimal = Decimal(20)
    expansion_per_k: Decimal = Decimal("0.0003")
    product_c: Decimal = Decimal(20)
    is_apparent: bool = False
    runs_like: RunsLike = RunsLike.CREAM
    is_flammable: bool = False
    notes: str = ""
    flow: ProductFlow | None = None
    weighed: DensityWeighed | None = None
    media: tuple[str, ...] = ()
    particle_mm: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Container:
    """What is filled into; `tare_g` is the average empty, `tare_sd_g` how empties differ."""

    name: str
    brim_ml: Decimal
    mouth_mm: Decimal
    tare_g: Decimal | None = None
    tare_sd_g: Decimal | None = None
    word: str = "jar"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """A product cylinder; `ml_per_mark` is what one mark of the volume scale moves."""

    capacity_ml: Decimal
    ml_per_mark: Decimal
    bore_mm: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Nozzle:
    """A nozzle by its outside and inside diameter; `kind` says how it ends a dose."""

    outside_mm: Decimal
    bore_mm: Decimal
    kind: str = "plain"
    length_mm: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A piston filler as its owner can read it at the bench.

    Parameters
    ----------
    name : str
        What the bench calls it.
    cylinders : tuple of Cylinder
        All that are owned.
    nozzles : tuple of Nozzle
        All that are owned.
    last_mark : Decimal
        Highest number on the volume scale; never wind past it.
    step_marks : Decimal
        Distance between the engraved ticks.
    marks_per_turn : Decimal
        How far one turn of the wheel moves the pointer.
    clockwise_raises : bool
        True when turning clockwise makes the dose bigger.
    lost_motion_marks : Decimal
        Play of the wheel when its direction changes.
    wheel_sd_pct_of_cylinder : Decimal
        How well a setting comes back, as a share of the cylinder.
    air_min_bar_g : Decimal
        Least air pressure at the gauge.
    air_max_bar_g : Decimal
        Highest pressure on its plate.
    hot_limit_c : Decimal
        Warmest product for the valve that is fitted.
    is_approved_for_flammables : bool
        True only when the machine's papers and its place say so.
    air : AirDrive or None
        The air cylinder and what drives it; None where it was not described.
    suction : tuple of WetPiece
        From the hopper into the cylinder, in the order of the flow.
    outward : tuple of WetPiece
        From the cylinder to the nozzle, which is not in it.
    hoppers : tuple of Hopper
        All that are owned; the first is the one that stands on the machine.
    valves : tuple of Valve
        All that are owned; the first is the one that is fitted.
    plate : PlateLimits or None
        What its plates allow.
    rise_mm : Decimal
        Tip of the nozzle above the cylinder's axis; negative where it is below.
    is_invented : bool
        True for a machine that comes with the program, and is no real one.
    """

    name: str
    cylinders: tuple[Cylinder, ...]
    nozzles: tuple[Nozzle, ...]
    last_mark: Decimal = Decimal(100)
    step_marks: Decimal = Decimal("0.2")
    marks_per_turn: Decimal = Decimal(2)
    clockwise_raises: bool = True
    lost_motion_marks: Decimal = Decimal("0.6")
    wheel_sd_pct_of_cylinder: Decimal = Decimal("0.08")
    air_min_bar_g: Decimal = Decimal(5)
    air_max_bar_g: Decimal = Decimal(7)
    hot_limit_c: Decimal = Decimal(60)
    is_approved_for_flammables: bool = False
    air: AirDrive | None = None
    suction: tuple[WetPiece, ...] = ()
    outward: tuple[WetPiece, ...] = ()
    hoppers: tuple[Hopper, ...] = ()
    valves: tuple[Valve, ...] = ()
    plate: PlateLimits | None = None
    rise_mm: Decimal = Decimal(0)
    is_invented: bool = False

    @property
    def is_described(self) -> bool:
        """Return True when its strokes can be computed."""
        return self.air is not None and bool(self.suction) and bool(self.outward)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighingScale:
    """A weighing instrument; `readability_g` is its smallest step."""

    name: str
    capacity_g: Decimal
    readability_g: Decimal
    repeatability_sd_g: Decimal
    check_weight_g: Decimal = Decimal(200)
    checked_on: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody at the bench, picked once a shift."""

    initials: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPlanFacts:
    """A sampling plan that the user took from a document; `source` says which and where."""

    n: int
    k: Decimal
    acceptance_number: int
    t2_allowed: int
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SuppliedShortageFacts:
    """A tolerable shortage that the user took from a document (value in the label's unit)."""

    value_label_unit: Decimal
    edition: str
    page: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JobFacts:
    """One product into one container on one machine for a declared quantity.

    Parameters
    ----------
    number : str
        Job number, as on the card.
    lot_code : str
        As on the jar.
    product, container, machine, scale : entities
        As they were when the job was opened or its facts last changed.
    cylinder : Cylinder
        The product cylinder that is fitted.
    nozzle : Nozzle
        The nozzle that is fitted.
    nominal : Decimal
        Declared quantity, in `unit`.
    unit : str
        ``"g"`` or ``"mL"``.
    rules : str
        Name of the rule set.
    plan : str or None
        Sampling plan, where the rule set has a choice.
    lot_size : int
        Containers planned.
    tray_size : int
        Containers on a tray.
    weigh_every : int
        One container of so many is weighed in the run.
    aim_g : Decimal
        Middle of the band, what a kept weight should read (net).
    band_pct : Decimal
        Half width of the run's band, as a share of the aim.
    claim_pct : Decimal
        The repeatability claimed in the proof.
    claim_content_pct : Decimal
        Share of doses inside the claim.
    claim_confidence_pct : Decimal
        Confidence of the claim.
    expected_sd_pct : Decimal or None
        Expected scatter of a dose, where something is known.
    tare_way : str
        ``"mean"`` (gross less the average empty) or ``"zeroed"`` (the empty is zeroed away).
    own_plan, supplied_shortage
        What the user took from a document, where the tables have nothing.
    second_rules : str
        Rule set of a second market that the same label is sold in; empty for one market.
    label_unit : str
        Unit that the label was declared in, such as ``"fl oz"``; empty where it is `unit`.
    """

    number: str
    lot_code: str
    product: Product
    container: Container
    machine: Machine
    scale: WeighingScale
    cylinder: Cylinder
    nozzle: Nozzle
    nominal: Decimal
    unit: Literal["g", "mL"]
    rules: str
    plan: str | None
    lot_size: int
    tray_size: int
    weigh_every: int
    aim_g: Decimal
    band_pct: Decimal = Decimal(1)
    claim_pct: Decimal = Decimal(1)
    claim_content_pct: Decimal = Decimal(99)
    claim_confidence_pct: Decimal = Decimal(95)
    expected_sd_pct: Decimal | None = None
    tare_way: Literal["mean", "zeroed"] = "mean"
    own_plan: OwnPlanFacts | None = None
    supplied_shortage: SuppliedShortageFacts | None = None
    is_invented: bool = False
    second_rules: str = ""
    label_unit: str = ""

    @property
    def label_words(self) -> str:
        """Return the quantity as the label declares it, with its unit."""
        declared = label_as_declared(self.nominal, self.label_unit)
        text = format(declared, "f")
        plain = text.rstrip("0").rstrip(".") if "." in text else text
        return f"{plain} {self.label_unit or self.unit}"


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteSettings:
    """What holds for every job of the bench; a later job may still choose otherwise."""

    maker: str = ""
    rules: str = "EU-76/211"
    signatures: Literal[1, 2] = 1
    band_pct: Decimal = Decimal(1)
    keys_on: bool = True
    language: str = "en"
    units: Literal["metric", "us"] = "metric"
    is_invented: bool = False
