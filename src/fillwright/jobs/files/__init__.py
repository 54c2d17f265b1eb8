"""Files out and in: tables, whole jobs, weights and things of other programs."""

from __future__ import annotations

__all__: list[str] = []
