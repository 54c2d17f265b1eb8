"""Bringing the dose onto the aim, from the first shot after the flush."""

from __future__ import annotations

__all__: list[str] = []
