"""The line to a weighing scale: its grammar, its ports, capture, and a simulated bench."""

from __future__ import annotations

__all__: list[str] = []
