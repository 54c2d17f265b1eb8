"""The day: the order of its jobs, and the cleaning between."""

from __future__ import annotations

__all__: list[str] = []
