"""One module a version; the newest is ``tables.SCHEMA_VERSION``."""

from __future__ import annotations

__all__: list[str] = []
