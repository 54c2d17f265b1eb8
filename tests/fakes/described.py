"""A described machine for the tests, with a product that is thick enough to have an edge."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from workshop import CYLINDER, SMALL, Workshop, job

from fillwright.jobs.machines.shipped import shipped_machine
from fillwright.records.product_parts import ProductFlow, ViscosityPoint

THICK = ProductFlow(
    way="points",
    points=(
        ViscosityPoint(at_c=Decimal(15), viscosity_mpa_s=Decimal(16000)),
        ViscosityPoint(at_c=Decimal(22), viscosity_mpa_s=Decimal(9000)),
        ViscosityPoint(at_c=Decimal(30), viscosity_mpa_s=Decimal(5000)),
    ),
)
"""A syrup by its data sheet, invented."""


def described_machine(name="East filler"):
    """Return the machine of the usual job with the drive and wet path of the medium one."""
    like = shipped_machine("medium")
    return replace(
        like,
        name=name,
        cylinders=(
            replace(SMALL, bore_mm=Decimal("39.1")),
            replace(CYLINDER, bore_mm=Decimal("61.8")),
        ),
        nozzles=job().machine.nozzles,
        last_mark=Decimal(90),
        is_invented=False,
    )


def described_job(**changes):
    """Return the usual job on a described machine."""
    return replace(job(), machine=described_machine(), **changes)


def thick_job(**changes):
    """Return a job with a product whose recharge has an edge."""
    facts = described_job(**changes)
    return replace(facts, product=replace(facts.product, name="Syrup", flow=THICK))


def described_shop(facts=None):
    """Return a workshop whose machine is described."""
    return Workshop(described_job() if facts is None else facts)
