"""One module a page: what it shows, and what its buttons do."""

from __future__ import annotations

__all__: list[str] = []
