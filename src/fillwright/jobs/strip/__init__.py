"""Strip, clean and rebuild; how long seals live; what is on the shelf."""

from __future__ import annotations

__all__: list[str] = []
