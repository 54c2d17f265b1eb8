"""Pure functions and frozen dataclasses: SI in, SI out; no files, no clock, no hidden chance."""

from __future__ import annotations

__all__: list[str] = []
