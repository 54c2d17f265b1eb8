"""What product, dose and container ask of a machine, and whether it can."""

from __future__ import annotations

__all__: list[str] = []
