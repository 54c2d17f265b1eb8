"""What a container costs, and what a new job would."""

from __future__ import annotations

__all__: list[str] = []
