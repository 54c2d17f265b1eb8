"""Machines as they are described, changed, learnt of, and kept on a card."""

from __future__ import annotations

__all__: list[str] = []
