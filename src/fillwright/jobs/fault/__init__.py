"""From a sign to a cure: the search for a fault, its case, what cases teach."""

from __future__ import annotations

__all__: list[str] = []
