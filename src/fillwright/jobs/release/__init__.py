"""What becomes of a lot: sampled, judged, signed, let go, shown to an inspector."""

from __future__ import annotations

__all__: list[str] = []
