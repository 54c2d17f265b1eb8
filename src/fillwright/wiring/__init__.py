"""Joins the real parts: journal, clock, rule sets, weighing scale, the demo bench, the server."""

from __future__ import annotations

from fillwright.wiring.bench import Bench, ScaleHub, SystemClock, open_bench
from fillwright.wiring.demo import DemoBench, open_demo
from fillwright.wiring.headless import demo_headless
from fillwright.wiring.serving import serve

__all__ = [
    "Bench",
    "DemoBench",
    "ScaleHub",
    "SystemClock",
    "demo_headless",
    "open_bench",
    "open_demo",
    "serve",
]
