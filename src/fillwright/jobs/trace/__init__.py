"""From a jar to what it is made of and back; a complaint about one jar."""

from __future__ import annotations

__all__: list[str] = []
