"""What a person does: one module a stage; each command appends entries and says the next act."""

from __future__ import annotations

__all__: list[str] = []
