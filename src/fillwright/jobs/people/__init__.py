"""Who may do what, by name, and the course that practises it."""

from __future__ import annotations

__all__: list[str] = []
