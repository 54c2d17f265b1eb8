"""Held containers: what becomes of each, by tray and count, until none is left."""

from __future__ import annotations

__all__: list[str] = []
