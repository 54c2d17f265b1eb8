"""What is remembered: entities, journal entries, the fold, and what the edges must offer."""

from __future__ import annotations

__all__: list[str] = []
