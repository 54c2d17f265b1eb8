"""Making a machine ready: steps, scale, starting figures, recharge edge, budget, map."""

from __future__ import annotations

__all__: list[str] = []
