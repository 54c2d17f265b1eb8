"""The invented maker of the demo: two machines, four products, one weighing scale.

Every name and figure here is invented.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Final, Literal

from fillwright.jobs.machines.shipped import shipped_machine
from fillwright.records.entities import (
    Container,
    Cylinder,
    JobFacts,
    Machine,
    Nozzle,
    Person,
    Product,
    RunsLike,
    SiteSettings,
    WeighingScale,
)
from fillwright.records.product_parts import FlowReading, ProductFlow

__all__ = [
    "CONTAINERS",
    "JOBS",
    "MACHINES",
    "MAKER",
    "PEOPLE",
    "PRODUCTS",
    "SCALES",
    "SETTINGS",
]

MAKER: Final = "Nine Elder Works (an invented maker)"
SETTINGS: Final = SiteSettings(maker=MAKER, rules="EU-76/211", signatures=1, is_invented=True)
PEOPLE: Final = (
    Person(initials="AB", name="A. Bench"),
    Person(initials="CD", name="C. Drum"),
)


def _cylinder(capacity: str, last_mark: int, bore: str) -> Cylinder:
    """Return a cylinder whose whole stroke is `last_mark` marks."""
    return Cylinder(
        capacity_ml=Decimal(capacity),
        ml_per_mark=Decimal(capacity) / last_mark,
        bore_mm=Decimal(bore),
    )


def _like(size: str, machine: Machine) -> Machine:
    """Return a machine with the drive and the wet path of a shipped one."""
    kept = shipped_machine(size)
    return replace(
        machine,
        air=kept.air,
        suction=kept.suction,
        outward=kept.outward,
        hoppers=kept.hoppers,
        valves=kept.valves,
        plate=kept.plate,
        rise_mm=kept.rise_mm,
    )


MACHINES: Final = (
    _like(
        "medium",
        Machine(
            name="East filler",
            cylinders=(
                _cylinder("72", 90, "24.7"),
                _cylinder("180", 90, "39.1"),
                _cylinder("450", 90, "61.8"),
            ),
            nozzles=(
                Nozzle(outside_mm=Decimal(9), bore_mm=Decimal(7)),
                Nozzle(outside_mm=Decimal(14), bore_mm=Decimal(11), kind="suck-back pin"),
            ),
            last_mark=Decimal(90),
            step_marks=Decimal("0.1"),
            marks_per_turn=Decimal("2.5"),
            lost_motion_marks=Decimal("0.5"),
            wheel_sd_pct_of_cylinder=Decimal("0.05"),
            hot_limit_c=Decimal(65),
        ),
    ),
    _like(
        "large",
        Machine(
            name="West filler",
            cylinders=(_cylinder("360", 120, "50.5"), _cylinder("1080", 120, "87.4")),
            nozzles=(
                Nozzle(outside_mm=Decimal(17), bore_mm=Decimal(14)),
                Nozzle(outside_mm=Decimal(24), bore_mm=Decimal(21)),
            ),
            last_mark=Decimal(120),
            step_marks=Decimal("0.1"),
            marks_per_turn=Decimal(3),
            clockwise_raises=False,
            lost_motion_marks=Decimal("0.6"),
            wheel_sd_pct_of_cylinder=Decimal("0.05"),
            air_min_bar_g=Decimal("5.5"),
            hot_limit_c=Decimal(85),
        ),
    ),
)
PRODUCTS: Final = (
    Product(
        name="Elderflower cordial",
        density_g_per_ml=Decimal("1.182"),
        expansion_per_k=Decimal("0.00035"),
        product_c=Decimal(21),
        runs_like=RunsLike.WATER,
        notes="thin",
    ),
    Product(
        name="Oat hand wash",
        density_g_per_ml=Decimal("1.024"),
        expansion_per_k=Decimal("0.0003"),
        product_c=Decimal(23),
        runs_like=RunsLike.FOAMY,
        notes="foams",
    ),
    Product(
        name="Rosemary oil",
        density_g_per_ml=Decimal("0.914"),
        expansion_per_k=Decimal("0.00072"),
        product_c=Decimal(24),
        runs_like=RunsLike.OIL,
        notes="oily",
    ),
    Product(
        name="Plum butter",
        density_g_per_ml=Decimal("1.265"),
        expansion_per_k=Decimal("0.0004"),
        product_c=Decimal(58),
        runs_like=RunsLike.PASTE,
        notes="thick, filled hot",
        flow=ProductFlow(
            way="readings",
            preset="paste",
            readings=tuple(
                FlowReading(rate_per_s=Decimal(rate), viscosity_mpa_s=Decimal(viscosity))
                for rate, viscosity in (
                    (1, 160_000),
                    (3, 82_600),
                    (10, 41_900),
                    (30, 23_200),
                    (100, 12_400),
                )
            ),
            readings_c=Decimal(58),
        ),
    ),
)
CONTAINERS: Final = (
    Container(
        name="250 mL bottle",
        brim_ml=Decimal(268),
        mouth_mm=Decimal(19),
        tare_g=Decimal("26.4"),
        tare_sd_g=Decimal("0.12"),
        word="bottle",
    ),
    Container(
        name="300 mL pump bottle",
        brim_ml=Decimal(322),
        mouth_mm=Decimal(22),
        tare_g=Decimal("31.2"),
        tare_sd_g=Decimal("0.15"),
        word="bottle",
    ),
    Container(
        name="100 mL oil bottle",
        brim_ml=Decimal(109),
        mouth_mm=Decimal(14),
        tare_g=Decimal("96.5"),
        tare_sd_g=Decimal("0.3"),
        word="bottle",
    ),
    Container(
        name="370 mL jar",
        brim_ml=Decimal(386),
        mouth_mm=Decimal(58),
        tare_g=Decimal("203.8"),
        tare_sd_g=Decimal("0.7"),
        word="jar",
    ),
)
SCALES: Final = (
    WeighingScale(
        name="Bench scale",
        capacity_g=Decimal(3000),
        readability_g=Decimal("0.1"),
        repeatability_sd_g=Decimal("0.05"),
        check_weight_g=Decimal(500),
    ),
)


def _job(
    number: str,
    *,
    what: int,
    machine: int,
    cylinder: int,
    nozzle: int,
    nominal: str,
    unit: Literal["g", "mL"],
    lot_size: int,
    tray_size: int,
) -> JobFacts:
    """Return an invented job: one product in its own container; the aim is proposed later."""
    filler, stuff, label = MACHINES[machine], PRODUCTS[what], Decimal(nominal)
    rough_g = label if unit == "g" else label * stuff.density_g_per_ml
    return JobFacts(
        number=number,
        lot_code=f"NE-{number}",
        product=stuff,
        container=CONTAINERS[what],
        machine=filler,
        scale=SCALES[0],
        cylinder=filler.cylinders[cylinder],
        nozzle=filler.nozzles[nozzle],
        nominal=label,
        unit=unit,
        rules=SETTINGS.rules,
        plan="double",
        lot_size=lot_size,
        tray_size=tray_size,
        weigh_every=tray_size,
        aim_g=rough_g + 1,
        expected_sd_pct=Decimal("0.16"),
        is_invented=True,
    )


JOBS: Final = (
    _job(
        "0101", what=0, machine=0, cylinder=2, nozzle=1,
        nominal="250", unit="mL", lot_size=120, tray_size=12,
    ),
    _job(
        "0102", what=1, machine=1, cylinder=0, nozzle=0,
        nominal="300", unit="mL", lot_size=240, tray_size=12,
    ),
    _job(
        "0103", what=2, machine=0, cylinder=1, nozzle=0,
        nominal="100", unit="mL", lot_size=180, tray_size=20,
    ),
    _job(
        "0104", what=3, machine=1, cylinder=0, nozzle=1,
        nominal="420", unit="g", lot_size=120, tray_size=12,
    ),
)  # fmt: skip
"""Thin, foamy, oily, thick."""
