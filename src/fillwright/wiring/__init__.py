"""Joins the real parts: journal, clock, rule sets, weighing scale, the demo bench, the server."""

from __future__ import annotations

from fillwright.wiring.bench import Bench, SystemClock, open_bench
from fillwright.wiring.demo import DemoBench, open_demo
from fillwright.wiring.demo_faults import (
    FAULT_WORDS,
    fault_named,
    faults_named,
    foretold,
)
from fillwright.wiring.headless import demo_headless
from fillwright.wiring.pairing import Pairing
from fillwright.wiring.scale_hub import ScaleHub
from fillwright.wiring.scale_link import ScaleLink
from fillwright.wiring.seats import Seats
from fillwright.wiring.serving import serve

__all__ = [
    "FAULT_WORDS",
    "Bench",
    "DemoBench",
    "Pairing",
    "ScaleHub",
    "ScaleLink",
    "Seats",
    "SystemClock",
    "demo_headless",
    "fault_named",
    "faults_named",
    "foretold",
    "open_bench",
    "open_demo",
    "serve",
]
