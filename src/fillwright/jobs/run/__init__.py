"""Holding the dose through a batch: weights, changes, looks, turns of the wheel."""

from __future__ import annotations

__all__: list[str] = []
