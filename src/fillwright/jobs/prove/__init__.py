"""Proving that the dose repeats, and keeping the proof for the next time."""

from __future__ import annotations

__all__: list[str] = []
