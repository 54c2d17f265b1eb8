"""An invented job, a count of seconds that a test moves, a clock that stands."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from fillwright.records.entities import (
    Container,
    Cylinder,
    JobFacts,
    Machine,
    Nozzle,
    Product,
    WeighingScale,
)


class Seconds:
    """A count of seconds that only the test moves."""

    def __init__(self):
        self.now = 100.0

    def __call__(self):
        """Return the count."""
        return self.now

    def go(self, seconds):
        """Let so many seconds pass."""
        self.now += seconds


class StandingClock:
    """A clock at one moment."""

    def now(self):
        """Return the moment."""
        return datetime(2030, 5, 6, 7, 8, 9, tzinfo=UTC)

    def zone(self):
        """Return a zone."""
        return "Europe/Vienna"


@pytest.fixture
def seconds():
    """A count of seconds that only the test moves."""
    return Seconds()


@pytest.fixture
def clock():
    """A clock at one moment."""
    return StandingClock()


@pytest.fixture
def facts():
    """An invented job: 250 g of hand cream."""
    cylinder = Cylinder(capacity_ml=Decimal(500), ml_per_mark=Decimal(5))
    nozzle = Nozzle(outside_mm=Decimal(20), bore_mm=Decimal(16))
    return JobFacts(
        number="0001",
        lot_code="L1",
        product=Product(name="hand cream", density_g_per_ml=Decimal("0.985")),
        container=Container(
            name="jar",
            brim_ml=Decimal(280),
            mouth_mm=Decimal(58),
            tare_g=Decimal("18.20"),
            tare_sd_g=Decimal("0.12"),
        ),
        machine=Machine(name="bench filler", cylinders=(cylinder,), nozzles=(nozzle,)),
        scale=WeighingScale(
            name="scale 1",
            capacity_g=Decimal(3000),
            readability_g=Decimal("0.1"),
            repeatability_sd_g=Decimal("0.05"),
        ),
        cylinder=cylinder,
        nozzle=nozzle,
        nominal=Decimal(250),
        unit="g",
        rules="EU-76/211",
        plan=None,
        lot_size=400,
        tray_size=10,
        weigh_every=10,
        aim_g=Decimal("250.5"),
        is_invented=True,
    )
