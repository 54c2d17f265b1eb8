"""The steps from one version of the store to the next; a step once released never changes."""

from __future__ import annotations

__all__: list[str] = []
